"""Spares as proposals, where no board is known: in the waste, apart from wood and each other."""

from itertools import combinations

import pytest
from board_jobs import sheets_of
from shapely import Point, box

from layercut.geometry.regions import Region, as_region
from layercut.job import load_job
from layercut.planning.boards.spares import propose_spares

WINDOW = box(0, 0, 100, 80).difference(box(10, 10, 90, 70))
HOUSE: Region = as_region(WINDOW.union(Point(30, 40).buffer(8)).union(box(50, 30, 70, 36)))
TIGHT: Region = as_region(box(0, 0, 40, 40).difference(box(5, 5, 35, 35)).union(box(6, 6, 34, 34)))


@pytest.mark.parametrize("spares", [1, 4])
def test_each_lies_in_the_waste(spares: int) -> None:
    job = load_job(None, [f"material.spares={spares}"])
    (sheet,) = sheets_of([("house", HOUSE, 1)], job)
    found, left = propose_spares([sheet], job.material)
    assert (len(found), left) == (2 * spares, ())
    for one in found:
        assert one.sheet == "house"
        assert one.outline.distance(sheet.wood) >= job.material.gap - 1e-6
        assert sheet.outline.contains(one.outline)
    for one, other in combinations(found, 2):
        assert one.outline.distance(other.outline) >= job.material.gap - 1e-6
    assert {one.part for one in found} >= ({"house-1"} if spares == 1 else {"house-1, spare 4"})


def test_what_finds_no_place_is_named() -> None:
    job = load_job(None, ())
    sheets = sheets_of([("tight", TIGHT, 1)], job)
    assert propose_spares(sheets, job.material) == ((), ("tight-1",))


def test_no_spares_no_proposals() -> None:
    job = load_job(None, ["material.spares=0"])
    assert propose_spares(sheets_of([("house", HOUSE, 1)], job), job.material) == ((), ())
