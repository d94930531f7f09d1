"""A drawing that is read again after a save: what is kept from the last reading must not show."""

from pathlib import Path

import pytest

from layercut.drawing import read_drawing
from layercut.job import Job

LEAF = '<path d="M{x} 20c8 -12 16 12 24 0" fill="{fill}"/>'
DRAWING = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"><g>{}</g></svg>'


def _shapes(file: Path, *leaves: tuple[float, str]):
    file.write_text(DRAWING.format("".join(LEAF.format(x=x, fill=fill) for x, fill in leaves)))
    (layer,) = read_drawing(file, Job()).layers
    return layer.shapes


def test_what_was_not_changed_is_the_same_and_what_was_is_new(tmp_path: Path) -> None:
    file = tmp_path / "leaves.svg"
    first = _shapes(file, (10, "#336633"), (40, "#336633"))
    moved = _shapes(file, (10, "#336633"), (41, "#336633"))
    painted = _shapes(file, (10, "#336633"), (40, "#993333"))

    assert [shape.geometry.equals_exact(first[0].geometry) for shape in (moved[0], painted[0])] == [True, True]
    assert moved[1].geometry.bounds[0] == pytest.approx(first[1].geometry.bounds[0] + 1)
    assert painted[1].geometry.equals_exact(first[1].geometry)
    assert [shape.paint.colour for shape in painted] == ["#336633", "#993333"]
