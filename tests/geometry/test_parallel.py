"""Threads give what one call after another gives."""

import pytest

from layercut.geometry.parallel import both, each


def test_results_come_in_the_order_of_the_items() -> None:
    assert each(lambda number: number * number, range(50)) == [number * number for number in range(50)]


@pytest.mark.parametrize("count", [0, 1])
def test_few_items_need_no_thread(count: int) -> None:
    assert each(str, range(count)) == [str(number) for number in range(count)]


def test_the_first_error_is_raised() -> None:
    def fails_from_three(number: int) -> int:
        if number >= 3:
            raise ValueError(str(number))
        return number

    with pytest.raises(ValueError, match="3"):
        each(fails_from_three, range(8))


def test_both_are_called_and_what_they_raise_is_raised() -> None:
    assert both(lambda: 1, lambda: "two") == (1, "two")
    with pytest.raises(ValueError, match="first"):
        both(lambda: _raise("first"), lambda: None)
    with pytest.raises(ValueError, match="second"):
        both(lambda: None, lambda: _raise("second"))


def _raise(words: str) -> None:
    raise ValueError(words)
