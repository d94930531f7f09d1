"""What is cut from boards: copies, spares, and where something may lie in an opening."""

import pytest
import shapely
from board_jobs import sheets_of
from shapely import Point, Polygon, box

from layercut.geometry.regions import Region, as_region
from layercut.job import load_job
from layercut.planning.boards.parts import cut_out, find_parts, waste_of

RING: Region = as_region(box(0, 0, 100, 80).difference(box(10, 10, 90, 70)))
EYE = Point(50, 40).buffer(12).difference(Point(50, 40).buffer(6))
FACE: Region = as_region(RING.union(EYE).union(Point(50, 40).buffer(3)))


def test_each_copy_and_each_spare_is_a_part() -> None:
    job = load_job(None, ["material.spares=2"])
    parts = find_parts(sheets_of([("face", FACE, 1), ("ring", RING, 2)], job), job.material)
    assert [(part.name, part.piece) for part in parts] == [
        ("face", ""),
        ("ring 1", ""),
        ("ring 2", ""),
        ("face-1, spare 1", "face-1"),
        ("face-1, spare 2", "face-1"),
        ("face-2, spare 1", "face-2"),
        ("face-2, spare 2", "face-2"),
    ]
    one = load_job(None, ["material.spares=1"])
    assert find_parts(sheets_of([("face", FACE, 1)], one), one.material)[1].name == "face-1, spare"


def test_a_spare_has_its_pieces_contours_and_marks_and_no_others() -> None:
    """A ring with a disc in its hole: the hole is the ring's, the disc is a piece of its own."""
    job = load_job(None, ())
    (sheet,) = sheets_of([("face", FACE, 1)], job)
    spares = [cut_out(sheet, piece.id, piece.region) for piece in sheet.loose]
    assert all(spare is not None for spare in spares)
    ring, disc = (spare for spare in spares if spare is not None)
    assert (len(ring.openings), len(disc.openings)) == (1, 0)
    assert [len(spare.mark_lines) for spare in (ring, disc)] == [1, 1]
    for spare in (ring, disc):
        cut = spare.outline.difference(shapely.union_all([*spare.openings]))
        assert cut.buffer(-job.material.kerf / 2).symmetric_difference(spare.wood).area < 0.01 * spare.wood.length
        assert len(spare.curves.openings) == len(spare.openings)
        assert cut.covers(spare.mark_lines[0])


def test_waste_is_the_opening_without_the_wood_in_it() -> None:
    job = load_job(None, ())
    (sheet,) = sheets_of([("face", FACE, 1)], job)
    waste = sorted(piece.area for piece in waste_of(sheet))
    assert sum(waste) == pytest.approx(100 * 80 - FACE.area, abs=0.5)


def test_rooms_keep_the_gap_from_every_cut_line() -> None:
    job = load_job(None, ["material.gap=3mm"])
    sheets = sheets_of([("face", FACE, 1)], job)
    part = find_parts(sheets, job.material)[0]
    lines = shapely.union_all([ring.exterior for ring in (sheets[0].outline, *sheets[0].openings)])
    assert part.rooms
    for room in part.rooms:
        assert room.region.distance(lines) >= 3 - 1e-6
        assert not room.region.intersects(sheets[0].wood)
    rooms = sum(room.region.area for room in part.rooms)
    ideal = Polygon(box(13.2, 13.2, 86.8, 66.8)).difference(Point(50, 40).buffer(15.2)).area
    assert rooms == pytest.approx(ideal, rel=0.02)


def test_crumbs_are_no_rooms() -> None:
    job = load_job(None, ())
    wood = as_region(box(0, 0, 50, 50).difference(box(10, 10, 14, 14)))
    assert find_parts(sheets_of([("plate", wood, 1)], job), job.material)[0].rooms == ()


def test_spares_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    """Those of the largest pieces stay, as the job file's page says."""
    monkeypatch.setattr("layercut.planning.boards.parts.MOST_SPARES", 2)
    job = load_job(None, ["material.spares=2"])
    parts = find_parts(sheets_of([("face", FACE, 1)], job), job.material)
    assert [part.piece for part in parts] == ["", "face-1", "face-1"]
    assert "200 in all" in str(type(job.material).model_fields["spares"].description)
