"""A drawing that is read again after a save: what is kept from the last reading must not show."""

from pathlib import Path

import numpy as np
import pytest

from layercut.drawing import CurveCache, read_drawing
from layercut.drawing.pathdata import parse_path
from layercut.geometry.curves import chord_counts, flatten, place
from layercut.job import Job
from layercut.model import Shape

LEAF = '<path d="M{x} 20c8 -12 16 12 24 0" fill="{fill}"/>'
DRAWING = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"><g>{}</g></svg>'


def _shapes(file: Path, cache: CurveCache, *leaves: tuple[float, str]) -> tuple[Shape, ...]:
    file.write_text(DRAWING.format("".join(LEAF.format(x=x, fill=fill) for x, fill in leaves)))
    (layer,) = read_drawing(file, Job(), cache).layers
    return layer.shapes


def test_what_was_not_changed_is_the_same_and_what_was_is_new(tmp_path: Path) -> None:
    file, cache = tmp_path / "leaves.svg", CurveCache()
    first = _shapes(file, cache, (10, "#336633"), (40, "#336633"))
    moved = _shapes(file, cache, (10, "#336633"), (41, "#336633"))
    painted = _shapes(file, cache, (10, "#336633"), (40, "#993333"))

    assert [shape.geometry.equals_exact(first[0].geometry) for shape in (moved[0], painted[0])] == [True, True]
    assert moved[1].geometry.bounds[0] == pytest.approx(first[1].geometry.bounds[0] + 1)
    assert painted[1].geometry.equals_exact(first[1].geometry)
    assert [shape.paint.colour for shape in painted] == ["#336633", "#993333"]


def test_a_drawing_reads_as_it_does_without_one(tmp_path: Path) -> None:
    file, cache = tmp_path / "leaves.svg", CurveCache()
    kept = [_shapes(file, cache, (10, "#336633"), (40, "#336633")) for _ in range(2)]
    (plain,) = read_drawing(file, Job()).layers
    assert kept == [plain.shapes, plain.shapes]


def test_what_is_kept_is_made_once_and_nobody_can_change_it() -> None:
    cache = CurveCache()
    path, good = cache.parse("M0 0C9 0 9 9 0 9Z")
    assert good
    assert cache.parse("M0 0C9 0 9 9 0 9Z")[0] is path
    placed = place([path], [(1, 0, 0, 1, 0, 0)])
    counts = chord_counts([path], placed)
    lines = cache.flatten([path], placed, counts)
    assert cache.flatten([path], placed.copy(), counts) is lines
    assert cache.flatten([path], placed + 1, counts) is not lines
    for array in (path.segments, path.straight, lines[0][0].points, lines[0][0].nodes):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 0
    assert np.array_equal(lines[0][0].points, flatten([path], placed, counts)[0][0].points)


def test_paths_of_the_same_places_but_another_course_are_told_apart() -> None:
    """Two lines and one line of two pieces have the same segments."""
    cache = CurveCache()
    one, two = parse_path("M0 0H5H9")[0], parse_path("M0 0H5M5 0H9")[0]
    lines = []
    for path in (one, two):
        placed = place([path], [(1, 0, 0, 1, 0, 0)])
        lines.append(cache.flatten([path], placed, chord_counts([path], placed)))
    assert [len(group) for (group,) in lines] == [1, 2]


def test_what_is_kept_belongs_to_its_owner() -> None:
    text = "M0 0H5V5"
    assert CurveCache().parse(text)[0] is not CurveCache().parse(text)[0]
