"""The space in which the clip path and the mask of an element count, and those of the whole drawing."""

from pathlib import Path

import pytest
from shapely import box

from layercut.drawing import read_drawing
from layercut.job import Job
from layercut.model import Drawing, Shape

SERVERS = (
    '<clipPath id="c"><rect x="10" y="10" width="40" height="30"/></clipPath>'
    '<mask id="c-mask" maskUnits="userSpaceOnUse" x="0" y="0" width="99" height="99">'
    '<rect x="10" y="10" width="40" height="30" fill="#fff"/></mask>'
    '<clipPath id="b" clipPathUnits="objectBoundingBox"><path d="M.5 0H1V1H.5z"/></clipPath>'
)
SQUARE = '<rect width="100" height="100" fill="#a43"/>'
BOTH = ['clip-path="url(#c)"', 'mask="url(#c-mask)"']


def read(body: str, folder: Path, root: str = 'viewBox="0 0 200 200"') -> Drawing:
    path = folder / "harbour.svg"
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm"'
    path.write_text(f"{head} {root}>{SERVERS}{body}</svg>", encoding="utf-8")
    return read_drawing(path, Job())


def only(drawing: Drawing) -> Shape:
    (shape,) = drawing.layers[0].shapes
    return shape


@pytest.mark.parametrize("effect", BOTH)
@pytest.mark.parametrize(
    ("body", "left"),
    [
        ('<g><use href="#s" x="20" y="30" {}/></g>', (30, 40, 70, 70)),
        ('<g><use href="#s" x="20" y="30" transform="scale(2)" {}/></g>', (60, 80, 140, 140)),
        (
            f'<symbol id="y" viewBox="0 0 100 100">{SQUARE}</symbol>'
            '<g><use href="#y" x="20" y="30" width="160" height="160" {}/></g>',
            (30, 40, 70, 70),
        ),
        (f'<g><svg x="20" y="30" width="100" height="100" {{}}>{SQUARE}</svg></g>', (30, 40, 70, 70)),
        (
            f'<g><svg x="20" y="30" width="160" height="160" viewBox="0 0 100 100" {{}}>{SQUARE}</svg></g>',
            (36, 46, 100, 94),
        ),
        (
            f'<symbol id="y" viewBox="0 0 100 100" {{}}>{SQUARE}</symbol>'
            '<g><use href="#y" x="20" y="30" width="160" height="160"/></g>',
            (36, 46, 100, 94),
        ),
    ],
)
def test_effects_count_within_the_element(body: str, left: tuple[float, ...], effect: str, tmp_path: Path) -> None:
    """A use's x and y are part of its transform (SVG 2, 5.6); a viewport's viewBox counts for its own effects too, as
    browsers and renderers have it."""
    shape = only(read(f'<defs><g id="s">{SQUARE}</g></defs>{body.format(effect)}', tmp_path))
    assert shape.geometry.symmetric_difference(box(*left)).area < 0.01


@pytest.mark.parametrize("effect", BOTH)
def test_effects_of_the_whole_drawing(effect: str, tmp_path: Path) -> None:
    """They count in the space of its viewBox, for all layers."""
    two = f'<g>{SQUARE}</g><g><rect x="30" width="70" height="100"/></g>'
    back, front = read(two, tmp_path, f'viewBox="0 0 100 100" {effect}').layers
    assert back.shapes[0].geometry.symmetric_difference(box(20, 20, 100, 80)).area < 0.01
    assert front.shapes[0].geometry.symmetric_difference(box(60, 20, 100, 80)).area < 0.01


def test_a_clip_of_the_whole_drawing_by_its_box(tmp_path: Path) -> None:
    """The box is that of all layers together: here 10 to 70."""
    two = '<g><path d="M10 10h20v20h-20z"/></g><g><path d="M30 30h40v40h-40z"/></g>'
    back, front = read(two, tmp_path, 'viewBox="0 0 100 100" clip-path="url(#b)"').layers
    assert back.shapes == ()
    assert front.shapes[0].geometry.bounds == pytest.approx((80, 60, 140, 140))


def test_opacity_of_the_whole_drawing_is_that_of_one_group(tmp_path: Path) -> None:
    two = f'<g>{SQUARE}</g><g><rect x="30" width="70" height="100"/></g>'
    back, front = (layer.shapes[0] for layer in read(two, tmp_path, 'viewBox="0 0 200 200" opacity=".8"').layers)
    assert back.coat is not None
    assert front.coat is not None
    assert (back.role, front.role) == ("wood", "wood")
    assert back.coat.veils == front.coat.veils
    assert [veil.opacity for veil in back.coat.veils] == [0.8]
    (pale,) = read(f"<g>{SQUARE}</g>", tmp_path, 'viewBox="0 0 200 200" style="opacity:.3"').layers[0].shapes
    assert pale.role == "glaze"


@pytest.mark.parametrize("said", ['transform="scale(.5)"', 'filter="url(#f)"', 'clip-path="url(#gone)"'])
def test_what_of_the_whole_drawing_does_not_count_is_told(said: str, tmp_path: Path) -> None:
    drawing = read(f"<g>{SQUARE}</g>", tmp_path, f'viewBox="0 0 200 200" {said}')
    (finding,) = drawing.findings
    assert (finding.code, finding.element) == ("unsupported", "the 1st svg")
    assert "ignored" in finding.message
    assert only(drawing).geometry.bounds == (0, 0, 100, 100)
