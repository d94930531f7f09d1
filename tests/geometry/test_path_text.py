"""Numbers and curves as path data: few digits, the same either way, and read back to the same places."""

import numpy as np
import pytest
import svgelements
from hypothesis import given
from hypothesis import strategies as st

from layercut.geometry.curves import PathBuilder
from layercut.geometry.path_text import curve_paths, curves_path, number, number_words

thousandths = st.integers(-2_000_000, 2_000_000)


@pytest.mark.parametrize(
    ("value", "text"),
    [(0, "0"), (-0.0004, "0"), (1.5, "1.5"), (-2.0, "-2"), (0.001, "0.001"), (1234.5678, "1234.568"), (100, "100")],
)
def test_a_number_has_no_digit_too_many(value: float, text: str) -> None:
    assert number(value) == text


@given(st.lists(st.tuples(thousandths, thousandths), max_size=20))
def test_the_quick_way_gives_the_same_words(steps: list[tuple[int, int]]) -> None:
    points = np.array(steps, dtype=float).reshape(-1, 2) / 1000
    assert number_words(points) == [number(value) for value in points.ravel().tolist()]


def leaf(*, closed: bool) -> PathBuilder:
    pen = PathBuilder()
    pen.move(10, 10)
    pen.line(20.5, 10)
    pen.cubic(25, 10, 25, 20, 20.5, 20)
    pen.line(10, 20)
    if closed:
        pen.line(10, 10)
        pen.close()
    return pen


def test_a_curve_has_its_handles_a_line_its_end_and_the_last_line_is_left_to_z() -> None:
    assert curves_path([leaf(closed=False).build()]) == "M10 10L20.5 10C25 10 25 20 20.5 20L10 20"
    assert curves_path([leaf(closed=True).build()]) == "M10 10L20.5 10C25 10 25 20 20.5 20L10 20Z"


def test_another_reader_finds_the_same_length_and_area() -> None:
    read = svgelements.Path(curves_path([leaf(closed=True).build()]))
    assert [type(part).__name__ for part in read] == ["Move", "Line", "CubicBezier", "Line", "Close"]
    assert read.bbox() == pytest.approx((10, 10, 23.875, 20), abs=1e-6)


def test_many_are_one_after_another_and_none_is_nothing() -> None:
    paths = [leaf(closed=True).build(), leaf(closed=False).build()]
    assert curves_path(paths) == "".join(curve_paths(paths)) == "".join(curves_path([path]) for path in paths)
    assert (curves_path([]), curve_paths([])) == ("", [])
