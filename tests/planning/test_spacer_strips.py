"""Strips: they make their ring, their joints lie over whole wood, and they lie apart on their boards."""

import itertools

import pytest
import shapely
from shapely import LineString, Polygon, box
from shapely.affinity import rotate, translate

from layercut.errors import JobError
from layercut.job import Job, load_job
from layercut.model import Strip
from layercut.planning.hanging import spacer_ring, spacer_width_mm
from layercut.planning.spacer_strips import SpacerRing, cut_ring, lay_strips, strip_boards
from layercut.stack.panel import make_panel

PANELS = [
    ((280.0, 216.0), ("panel.corner=6mm", "panel.pins=true")),
    ((280.0, 216.0), ("panel.corner=6mm", "hanging.joints=mitre")),
    ((120.0, 300.0), ()),
    ((400.0, 90.0), ("hanging.joints=mitre",)),
    ((240.0, 240.0), ("panel.corner=120mm", "panel.pins=true")),
    ((200.0, 150.0), ("panel.corner=50mm",)),
]


def ring_of(size: tuple[float, float], *settings: str) -> tuple[SpacerRing, Job]:
    job = load_job(None, ("hanging.spacer_from=strips", *settings))
    panel = make_panel(*size, job)
    return SpacerRing(panel, spacer_ring(panel, job), spacer_width_mm(panel, job.hanging)), job


def by_spacer(boards: tuple[tuple[Strip, ...], ...]) -> dict[int, list[Strip]]:
    strips = sorted((strip for board in boards for strip in board), key=lambda strip: (strip.spacer, strip.number))
    return {spacer: list(some) for spacer, some in itertools.groupby(strips, key=lambda strip: strip.spacer)}


def joints_of(strips: list[Strip]) -> list[LineString]:
    """Where two strips of a ring touch."""
    shared = [one.placed.intersection(other.placed) for one, other in itertools.combinations(strips, 2)]
    return [shapely.line_merge(line) for line in shared if line.length > 1]


@pytest.mark.parametrize(("size", "settings"), PANELS)
def test_the_strips_of_each_spacer_make_its_ring(size: tuple[float, float], settings: tuple[str, ...]) -> None:
    ring, job = ring_of(size, *settings)
    rings = by_spacer(strip_boards(ring, 3, job))
    assert list(rings) == [1, 2, 3]
    for strips in rings.values():
        filled = [Polygon(strip.placed.exterior) for strip in strips]
        assert shapely.union_all(filled).symmetric_difference(ring.wood).area < 0.01
        assert sum(part.area for part in filled) == pytest.approx(ring.wood.area, abs=0.01)
        assert all(strip.placed.is_valid for strip in strips)


@pytest.mark.parametrize(("size", "settings"), PANELS)
def test_joints_lie_over_whole_wood_of_the_next_ring(size: tuple[float, float], settings: tuple[str, ...]) -> None:
    """But for the ring's inner corners, where joints of straight strips meet in a point."""
    ring, job = ring_of(size, *settings)
    rings = by_spacer(strip_boards(ring, 4, job))
    for spacer in (1, 2, 3):
        below, above = joints_of(rings[spacer]), joints_of(rings[spacer + 1])
        assert len(below) == len(rings[spacer]) >= 4
        for joint in below:
            near = joint.intersection(shapely.union_all([line.buffer(0.5) for line in above]))
            assert near.length < 0.1 * joint.length


@pytest.mark.parametrize(("size", "settings"), PANELS)
def test_on_its_board_each_strip_is_itself_and_apart(size: tuple[float, float], settings: tuple[str, ...]) -> None:
    ring, job = ring_of(size, *settings)
    page = box(0, 0, *size).buffer(0.01)
    for board in strip_boards(ring, 5, job):
        for strip in board:
            moved = translate(rotate(strip.placed, strip.turned_deg, origin=(0, 0)), *strip.moved_mm)
            assert moved.symmetric_difference(strip.laid).area < 0.01
            assert page.covers(strip.laid)
        for one, other in itertools.combinations(board, 2):
            assert one.laid.distance(other.laid) >= job.material.gap + job.material.kerf


def test_strips_take_fewer_boards_than_rings() -> None:
    """Three rings of the mill's size on one board, as 13 strips of 14 mm and their gaps are 208 mm high."""
    ring, job = ring_of((280.0, 216.0))
    assert len(strip_boards(ring, 3, job)) == 1
    assert len(strip_boards(ring, 4, job)) == 2
    disc, job = ring_of((240.0, 240.0), "panel.corner=120mm")
    assert len(strip_boards(disc, 2, job)) == 1


def test_pin_holes_are_where_the_ring_has_them_but_not_at_a_joint() -> None:
    ring, job = ring_of((280.0, 216.0), "panel.pins=true", "limits.neck=2mm")
    for which in (1, 2):
        parts = cut_ring(ring, which, 0, job)
        holes = [Polygon(hole) for part in parts for hole in part.interiors]
        assert all(any(hole.equals(pin) for pin in ring.panel.pins) for hole in holes)
        for pin in ring.panel.pins:
            whole = any(Polygon(part.exterior).buffer(1e-6).contains(pin) for part in parts)
            joint = min(line.distance(pin) for line in joints(parts))
            assert any(hole.equals(pin) for hole in holes) == (whole and joint >= job.limits.neck)


def joints(parts: tuple[Polygon, ...]) -> list[LineString]:
    shared = [one.intersection(other) for one, other in itertools.combinations(parts, 2)]
    return [line for line in shared if line.length > 1]


def test_mitred_ends_run_from_corner_to_corner() -> None:
    ring, job = ring_of((300.0, 200.0), "hanging.joints=mitre")
    for joint in joints(cut_ring(ring, 1, 0, job)):
        (x0, y0), (x1, y1) = joint.coords[0], joint.coords[-1]
        assert abs(x1 - x0) == pytest.approx(14) == abs(y1 - y0)


def test_a_panel_without_an_opening_is_refused() -> None:
    ring, job = ring_of((29.0, 29.0))
    with pytest.raises(JobError) as caught:
        strip_boards(ring, 2, job)
    assert caught.value.code == "hanging-strips"


def test_what_fits_no_board_is_laid_on_none() -> None:
    ring, _ = ring_of((100.0, 80.0))
    long = box(0, 0, 101, 5)
    assert lay_strips([Strip(1, 1, long, long, 0.0, (0.0, 0.0))], ring.panel, 2.0) == ()
