"""Parts of a board in words."""

from itertools import chain

import pytest
from board_jobs import sheets_of
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from layercut.job import load_job
from layercut.model import BoardPart, Sheet, Strip
from layercut.views.pages.part_words import counted_parts, listed_parts, part_name, runs

(SHEET,) = sheets_of([("sky", box(0, 0, 40, 30), 1)], load_job(None, ()))


def part(name: str, piece: str = "", strip: int = 0) -> BoardPart:
    wood = box(0, 0, 9, 2)
    strips = (Strip(strip, 1, wood, wood, 0.0, (0.0, 0.0)),) if strip else ()
    cut = Sheet(**{name: getattr(SHEET, name) for name in SHEET.__dataclass_fields__} | {"strips": strips})
    return BoardPart(name, cut, piece, (0.0, 0.0), 0, inside=False)


PARTS = [
    part("sky"),
    *(part(f"strip {number}", f"strip {number}", number) for number in (9, 2, 1, 3)),
    part("spacer 2"),
    part("m-1, spare 1", "m-1"),
    part("m-1, spare 2", "m-1"),
    part("sun, spare", "sun"),
]


def test_strips_stand_together_and_spares_are_counted() -> None:
    words = listed_parts(PARTS, {"m-1": "moon"})
    assert words == ["sky", "spacer 2", "strips 1 to 3 and 9", "spare of moon (2)", "spare of sun"]
    assert listed_parts([], {}) == []
    assert listed_parts([part("strip 4", "strip 4", 4)], {}) == ["strip 4"]


def test_names_of_one_part() -> None:
    names = [part_name(one, {"m-1": "moon"}) for one in PARTS]
    assert names[:2] == ["sky", "strip 9"]
    assert names[-3:] == ["moon, spare 1", "moon, spare 2", "sun, spare"]


def test_counts() -> None:
    assert counted_parts(PARTS) == "2 sheets, 4 strips and 3 spares"
    assert counted_parts(PARTS[:1]) == "1 sheet"
    assert counted_parts(PARTS[:2]) == "1 sheet and 1 strip"


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ((), ""),
        ((4,), "4"),
        ((4, 5), "4 and 5"),
        ((4, 5, 6), "4 to 6"),
        ((1, 2, 4, 5, 6, 9), "1, 2, 4 to 6 and 9"),
    ],
)
def test_runs(numbers: tuple[int, ...], words: str) -> None:
    assert runs(numbers) == words


@given(st.sets(st.integers(1, 60)))
def test_runs_name_every_number_once(numbers: set[int]) -> None:
    words = runs(sorted(numbers)).replace(" and ", ", ").split(", ")
    ends = [list(map(int, word.split(" to "))) for word in words if word]
    assert list(chain.from_iterable(range(end[0], end[-1] + 1) for end in ends)) == sorted(numbers)
