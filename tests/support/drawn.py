"""Small drawings that a test writes in place, and what the reader makes of them."""

from pathlib import Path

from layercut.drawing import read_drawing
from layercut.job import Job
from layercut.model import Drawing, Shape

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
"""A unit is a millimetre."""


def read(body: str, folder: Path, job: Job | None = None) -> Drawing:
    """A drawing of 100 by 100 mm with these layers."""
    path = folder / "picture.svg"
    path.write_text(f"{HEAD}{body}</svg>", encoding="utf-8")
    return read_drawing(path, job or Job())


def layer(body: str) -> str:
    """A layer called `a` with this in it."""
    # With an empty path beside them, groups aren't taken for the layers themselves.
    return f'<g id="a"><path d=""/>{body}</g>'


def shapes(body: str, folder: Path, job: Job | None = None) -> tuple[Shape, ...]:
    """The shapes of what stands in the only layer, called `a`."""
    return read(layer(body), folder, job).layers[0].shapes


def roles(body: str, folder: Path, job: Job | None = None) -> list[str]:
    """The role of each of these shapes."""
    return [shape.role for shape in shapes(body, folder, job)]


def only(body: str, folder: Path, job: Job | None = None) -> Shape:
    """The one shape of what stands in the only layer."""
    (shape,) = shapes(body, folder, job)
    return shape


def codes(drawing: Drawing) -> list[str]:
    """The code of each finding."""
    return [finding.code for finding in drawing.findings]
