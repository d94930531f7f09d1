"""Times as the pages tell them: whole seconds that add up, whatever was rounded."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layercut.views.durations import clock, in_words, parts_of, sheet_seconds, total_parts
from layercut.workplan import BurnTimes

seconds = st.floats(0, 1e5)
times = st.builds(BurnTimes, seconds, seconds, seconds, seconds, seconds)


@given(st.lists(st.tuples(times, st.integers(1, 5)), max_size=4))
def test_the_total_is_the_sum_of_what_is_told_of_each_sheet(sheets: list[tuple[BurnTimes, int]]) -> None:
    assert sum(total_parts(sheets)) == sum(copies * sheet_seconds(one) for one, copies in sheets)
    assert len(total_parts(sheets)) == len(parts_of(BurnTimes()))


@pytest.mark.parametrize(
    ("told", "table", "sentence"),
    [
        (0, "0:00", "0 s"),
        (59, "0:59", "59 s"),
        (60, "1:00", "1 min 00 s"),
        (425, "7:05", "7 min 05 s"),
        (3599, "59:59", "59 min 59 s"),
        (4025, "67:05", "1 h 07 min 05 s"),
    ],
)
def test_in_a_table_and_in_a_sentence(told: int, table: str, sentence: str) -> None:
    assert (clock(told), in_words(told)) == (table, sentence)
