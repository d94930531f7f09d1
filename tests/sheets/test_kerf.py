"""Kerf: the beam's centre lines leave the planned wood; what closes up is told."""

import pytest
import shapely
from shapely import Point, Polygon, box

from layercut.geometry.regions import Region
from layercut.job import load_job
from layercut.sheets.kerf import CutLines, find_cut_lines, kerf_findings

PANEL = box(0, 0, 100, 80)
KERFS = [0.05, 0.15, 0.3, 1.0]


def _lines(wood: Region, kerf: float = 0.15, tolerance: float = 0.02) -> CutLines:
    return find_cut_lines(wood, kerf, load_job(None, [f"curves.tolerance={tolerance}mm"]).curves)


def _codes(wood: Region, kerf: float = 0.15) -> list[str]:
    job = load_job(None, [f"material.kerf={kerf}mm"])
    return [
        finding.code
        for finding in kerf_findings("leaf", find_cut_lines(wood, job.material.kerf, job.curves), job.material.kerf)
    ]


@pytest.mark.parametrize("kerf", KERFS)
def test_rim_and_opening_move_by_half_the_kerf(kerf: float) -> None:
    half = kerf / 2
    lines = _lines(PANEL.difference(box(20, 30, 50, 60)), kerf)
    assert shapely.equals_exact(lines.outline, box(-half, -half, 100 + half, 80 + half), 1e-9, normalize=True)
    (opening,) = lines.openings
    assert shapely.equals_exact(opening, box(20 + half, 30 + half, 50 - half, 60 - half), 1e-9, normalize=True)
    assert lines.closings == ()


def test_without_a_kerf_the_lines_are_the_edges() -> None:
    lines = _lines(PANEL.difference(box(20, 30, 50, 60)), 0)
    assert lines.outline.equals(PANEL)
    assert lines.openings[0].equals(box(20, 30, 50, 60))


@pytest.mark.parametrize("kerf", KERFS)
def test_a_free_piece_grows_outwards(kerf: float) -> None:
    island = box(30, 30, 40, 40)
    lines = _lines(PANEL.difference(box(20, 20, 60, 60)).union(island), kerf)
    assert sorted(round(ring.area, 6) for ring in lines.openings) == pytest.approx(
        sorted([(40 - kerf) ** 2, (10 + kerf) ** 2])
    )


def test_an_island_in_an_opening_is_no_closed_opening() -> None:
    """The opening round an island is cut by two contours; nothing of it closes."""
    wood = PANEL.difference(Point(50, 40).buffer(30)).union(Point(50, 40).buffer(10))
    assert _codes(wood) == []


@pytest.mark.parametrize("width", [0.05, 0.1, 0.149])
def test_an_opening_narrower_than_the_kerf_closes(width: float) -> None:
    slit = box(20, 20, 20 + width, 60)
    lines = _lines(PANEL.difference(slit))
    assert lines.openings == ()
    assert [(closing.whole, closing.region.equals(slit)) for closing in lines.closings] == [(True, True)]
    (finding,) = kerf_findings("leaf", lines, load_job(None).material.kerf)
    assert (finding.code, finding.layer) == ("opening-closes", "leaf")
    assert finding.size_mm == (round(width, 2), 40)


@pytest.mark.parametrize("width", [0.16, 0.2, 1.0])
def test_an_opening_wider_than_the_kerf_stays(width: float) -> None:
    lines = _lines(PANEL.difference(box(20, 20, 20 + width, 60)))
    assert len(lines.openings) == 1
    assert lines.closings == ()


def test_an_opening_with_a_thin_waist_is_pinched() -> None:
    waist = shapely.union_all([box(20, 20, 30, 30), box(40, 20, 50, 30), box(29, 25, 41, 25.1)])
    lines = _lines(PANEL.difference(waist))
    assert len(lines.openings) == 2
    assert [closing.whole for closing in lines.closings] == [False]
    assert _codes(PANEL.difference(waist)) == ["opening-pinches"]


@pytest.mark.parametrize("tail", [2.0, 15.0])
def test_an_opening_with_a_thin_tail_is_told(tail: float) -> None:
    """The tail is narrower than the beam: it stays wood, and the maker must know."""
    slot = box(20, 20, 30, 30).union(box(29, 25, 30 + tail, 25.1))
    assert _codes(PANEL.difference(slot)) == ["opening-pinches"]


def test_a_sharp_corner_of_an_opening_is_not_a_pinch() -> None:
    assert _codes(PANEL.difference(Polygon([(20, 20), (60, 20), (40, 60)]))) == []


def test_openings_too_small_to_see_are_one_finding() -> None:
    dots = [box(20 + k, 20, 20.08 + k, 20.08) for k in range(5)]
    job = load_job(None)
    findings = kerf_findings(
        "leaf",
        find_cut_lines(PANEL.difference(shapely.union_all(dots)), job.material.kerf, job.curves),
        job.material.kerf,
    )
    assert [finding.code for finding in findings] == ["detail-lost"]
    assert findings[0].message.startswith("5 openings")


@pytest.mark.parametrize("tolerance", [0.005, 0.02, 0.1, 0.5])
@pytest.mark.parametrize("kerf", [0, 0.15])
def test_lines_keep_within_the_curve_tolerance(kerf: float, tolerance: float) -> None:
    disc = Point(50, 40).buffer(30, quad_segs=256)
    (opening,) = _lines(PANEL.difference(disc), kerf, tolerance).openings
    edge = shapely.points(shapely.get_coordinates(opening.exterior.segmentize(0.05)))
    away = abs(shapely.distance(Point(50, 40), edge) - (30 - kerf / 2))
    assert away.max() <= tolerance
    coarse = _lines(PANEL.difference(disc), kerf, 0.5).openings[0]
    assert len(opening.exterior.coords) >= len(coarse.exterior.coords)


@pytest.mark.parametrize("kerf", [0.0, 0.15, 0.6])
def test_close_openings_are_cut_apart_or_as_one_but_never_cross(kerf: float) -> None:
    wood = PANEL
    for k in range(8):
        wood = wood.difference(Point(10 + 10.2 * k, 40).buffer(5, 64))
    lines = _lines(wood, kerf)
    for i, ring in enumerate(lines.openings):
        assert ring.is_valid
        for other in lines.openings[i + 1 :]:
            assert not ring.overlaps(other)


def test_openings_that_touch_at_a_corner_are_two_contours() -> None:
    lines = _lines(PANEL.difference(box(20, 20, 40, 40)).difference(box(40, 40, 60, 60)))
    assert len(lines.openings) == 2
    assert all(ring.area == pytest.approx(19.85**2) for ring in lines.openings)


@pytest.mark.parametrize("kerf", KERFS)
def test_the_beam_leaves_the_planned_wood(kerf: float) -> None:
    """Cut in thought with a round beam: only corners that the beam can't reach differ."""
    wood = PANEL.difference(Point(30, 40).buffer(15, 64)).difference(box(60, 20, 80, 60))
    lines = _lines(wood, kerf)
    cut = shapely.union_all([ring.exterior.buffer(kerf / 2, 32) for ring in (*lines.openings, lines.outline)])
    left = lines.outline.difference(cut)
    left = shapely.get_parts(left)[int(shapely.area(shapely.get_parts(left)).argmax())]
    assert shapely.difference(wood, left.buffer(0.021)).area < 1e-6
    assert shapely.difference(left, wood.buffer(0.021)).area < 4 * kerf**2
