"""Arithmetic of affine maps. Lists of transforms against published numbers: tests/outside/test_svg_units.py."""

import math

import pytest

from layercut.drawing.transforms import (
    IDENTITY,
    compose,
    determinant,
    inverse,
    is_similarity,
    mean_scale,
    parse_transform,
)


def test_quarter_turns_are_exact() -> None:
    assert parse_transform("rotate(90)") == (0, 1, -1, 0, 0, 0)
    assert parse_transform("rotate(-90)") == (0, -1, 1, 0, 0, 0)
    assert parse_transform("rotate(720)") == IDENTITY
    assert parse_transform("rotate(90 3 4)") == (0, 1, -1, 0, 7, 1)


def test_the_way_back() -> None:
    there = (2.0, 1.0, -3.0, 4.0, 5.0, 6.0)
    back = inverse(there)
    assert back is not None
    assert compose(there, back) == pytest.approx(IDENTITY)
    assert compose(back, there) == pytest.approx(IDENTITY)
    assert determinant(there) * determinant(back) == pytest.approx(1)


@pytest.mark.parametrize("flat", [(1.0, 2.0, 2.0, 4.0, 0.0, 0.0), (1e-200, 0.0, 0.0, 1e-200, 0.0, 0.0)])
def test_from_a_flat_map_there_is_none(flat: tuple[float, float, float, float, float, float]) -> None:
    assert inverse(flat) is None


@pytest.mark.parametrize(
    ("text", "similar", "scale"),
    [
        ("rotate(33) scale(7)", True, 7),
        ("scale(-2 2) rotate(10)", True, 2),
        ("scale(2 8)", False, 4),
        ("skewX(1)", False, 1),
        ("scale(1 1.0000001)", False, 1),
    ],
)
def test_circles_and_lengths(text: str, similar: bool, scale: float) -> None:
    matrix = parse_transform(text)
    assert matrix is not None
    assert is_similarity(matrix) == similar
    assert mean_scale(matrix) == pytest.approx(scale, rel=1e-6)


def test_units_of_angles() -> None:
    eighth = parse_transform("rotate(45)")
    for text in ("rotate(45deg)", "rotate(50grad)", f"rotate({math.pi / 4!r}rad)", "rotate(.125turn)"):
        assert parse_transform(text) == pytest.approx(eighth)
    assert parse_transform("rotate(45px)") is None
    assert parse_transform("translate(45deg)") is None
