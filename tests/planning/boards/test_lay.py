"""Laying: large parts first, as boxes or by their shape, then small ones into openings."""

from board_jobs import sheets_of
from shapely import Point, box

from layercut.geometry.regions import Region, as_region
from layercut.job import load_job
from layercut.planning.boards.lay import Rules, count_boards, lay_large, lay_small, split_by_size
from layercut.planning.boards.parts import Part, find_parts
from layercut.planning.boards.size import BoardSize

RING: Region = as_region(box(0, 0, 100, 80).difference(box(10, 10, 90, 70)))
DISC: Region = Point(50, 50).buffer(50)


def parts_of(*woods: tuple[str, Region, int]) -> list[Part]:
    job = load_job(None, ["material.gap=1mm"])
    return find_parts(sheets_of(woods, job), job.material)


def rules(width: float, height: float) -> Rules:
    return Rules(BoardSize(width, height, (0.0, 0.0), "bed"), 1.0, (0, 180))


def test_what_fits_into_no_opening_is_large() -> None:
    parts = parts_of(
        ("ring", RING, 2), ("strip", as_region(box(0, 0, 70, 8)), 2), ("plate", as_region(box(0, 0, 90, 65)), 1)
    )
    large, small = split_by_size(parts)
    assert [parts[k].name for k in large] == ["ring 1", "ring 2", "plate"]
    assert [parts[k].name for k in small] == ["strip 1", "strip 2"]


def test_strips_lie_in_a_ring_or_beside_it() -> None:
    parts = parts_of(("ring", RING, 1), ("strip", as_region(box(0, 0, 70, 8)), 3))
    tight = rules(101, 81)
    large = lay_large(parts, tight)
    assert large is not None
    nested = lay_small(parts, large, tight, nest=True)
    assert nested is not None
    assert [lie.inside for lie in nested] == [False, True, True, True]
    flat = lay_small(parts, large, tight, nest=False)
    assert flat is not None
    assert not any(lie.inside for lie in flat)
    assert count_boards(dict(enumerate(flat))) == 2


def test_discs_lie_closer_than_their_boxes() -> None:
    """Two rows of discs, one half a disc further: 101 high each, 187.6 high together."""
    parts = parts_of(("disc", DISC, 5))
    laid = lay_large(parts, rules(310, 190))
    assert laid is not None
    assert count_boards(laid) == 1


def test_no_board_for_a_part_that_is_larger() -> None:
    assert lay_large(parts_of(("ring", RING, 1)), rules(99, 81)) is None
