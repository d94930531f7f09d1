"""Coats of paint in pictures: the SVG through a renderer and the pixels of our own show the same, and the right
thing."""

import io
from collections.abc import Callable, Iterator

import numpy as np
import pytest
from lxml import etree
from painted import WRONG, edges_of, oklab, painted, painted_only
from PIL import Image

from layercut.colour.washes import Affine, FlatWash, GradedWash, Gradient, GroupWash, Spread, Stop, Wash
from layercut.geometry.coverage import Window
from layercut.model import Build, Paint
from layercut.views.paint_svg import Definitions, laid, laid_washes
from layercut.views.picture.compositing import Light, stack_bands, wood_masks
from layercut.views.picture.scene import stack_pieces
from layercut.views.picture.stack_svg import compose_svg, render_png

MakeBuild = Callable[..., Build]

PLAIN: Affine = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
TURNED: Affine = (60.0, 25.0, -14.0, 40.0, 30.0, 12.0)
RED, BLUE, SUN = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.9, 0.4)


def linear(*stops: Stop, points=(0.0, 80.0, 0.0, 10.0), to_mm: Affine = PLAIN, spread: Spread = "pad") -> Gradient:
    return Gradient("linear", points, to_mm, spread, stops or (Stop(0, RED), Stop(1, BLUE)))


def radial(*stops: Stop, points=(60, 40, 0, 60, 45, 30), to_mm: Affine = PLAIN, spread: Spread = "pad") -> Gradient:
    return Gradient("radial", tuple(map(float, points)), to_mm, spread, stops or (Stop(0, SUN), Stop(1, BLUE)))


GLOW = GradedWash(radial(Stop(0, SUN, 0.9), Stop(0.4, SUN, 0.5), Stop(1, SUN, 0.0)))
SKY = GradedWash(linear())
VEIL = (GradedWash(linear(Stop(0.2, (1.0, 1.0, 1.0)), Stop(0.8, (0.0, 0.0, 0.0)), points=(20.0, 0.0, 100.0, 0.0))),)

STACKS: dict[str, tuple[Wash, ...]] = {
    "upwards": (SKY,),
    "across, on a skewed system": (GradedWash(linear(points=(0.1, 0.2, 0.8, 0.6), to_mm=TURNED)),),
    "repeated": (GradedWash(linear(points=(30.0, 20.0, 55.0, 35.0), spread="repeat")),),
    "there and back": (GradedWash(radial(points=(60, 40, 0, 60, 40, 13), spread="reflect")),),
    "a focus aside": (GradedWash(radial(points=(50, 30, 0, 60, 45, 30))),),
    "a round one, skewed": (GradedWash(radial(points=(0.3, 0.4, 0, 0.5, 0.5, 0.5), to_mm=TURNED)),),
    "from a first circle": (GradedWash(radial(points=(60, 45, 8, 60, 45, 30))),),
    "many stops, one hard": (
        GradedWash(
            linear(
                Stop(0, RED),
                Stop(0.3, SUN),
                Stop(0.5, BLUE),
                Stop(0.5, RED),
                Stop(1, BLUE),
            )
        ),
    ),
    "a glow over a sky": (SKY, GLOW),
    "a glow over a colour": (FlatWash((0.1, 0.2, 0.3)), GLOW),
    "half a coat": (SKY, GradedWash(GLOW.gradient, 0.5), FlatWash((0.0, 0.3, 0.0), 0.25)),
    "a group": (SKY, GroupWash((FlatWash((0.9, 0.9, 0.9)), GLOW), 0.4)),
    "a luminance mask": (SKY, GroupWash((FlatWash(SUN),), 1.0, VEIL)),
    "an alpha mask in a group": (
        SKY,
        GroupWash((GroupWash((FlatWash(SUN), GLOW), 0.8, (GLOW,), "alpha"), FlatWash(RED, 0.1)), 0.9),
    ),
}


def _even(window: Window) -> Iterator[Light]:
    """No light that falls differently anywhere."""
    for rows in window.bands:
        none = np.zeros((rows.stop - rows.start, window.width), dtype=np.float32)
        yield Light(none, none)


@pytest.mark.parametrize("name", STACKS)
def test_pixels_and_renderer_show_the_same_colours(make_build: MakeBuild, name: str) -> None:
    build = make_build(sky=Paint("#804080", washes=STACKS[name]))
    panel, size = build.stack.panel, (480, 360)
    wanted = painted(compose_svg(build), panel, size)
    pieces, window = stack_pieces(build), Window(*size, 4.0)
    lights = [_even(window) for _ in pieces]
    bands = [band.colour for band in stack_bands(panel, pieces, wood_masks(pieces, window), window, lights)]
    shown = np.moveaxis(np.clip(np.concatenate(bands, axis=1) + 0.5, 0, 255).astype(np.uint8), 0, -1)
    # The open sky, away from the hill, the house, the frame and the hard edges of the gradient itself.
    rows, columns = slice(11 * 4, 48 * 4), np.r_[11 * 4 : 38 * 4, 82 * 4 : 109 * 4]
    away = ~edges_of(wanted)[rows, columns]
    off = np.linalg.norm(oklab(wanted) - oklab(shown), axis=-1)[rows, columns]
    levels = np.abs(wanted.astype(int) - shown).max(axis=-1)[rows, columns]
    assert away.mean() > 0.5
    assert levels[away].max() <= 3
    assert (off[away] > WRONG).mean() < 0.001  # near black one level of 255 is more
    assert np.ptp(wanted[rows, columns].reshape(-1, 3).astype(int), axis=0).max() > 40  # it is no flat colour


def test_a_sky_from_the_bottom_upwards_stands_on_its_feet(make_build: MakeBuild) -> None:
    build = make_build(sky=Paint("#804080", washes=(SKY,)))
    picture = painted(compose_svg(build), build.stack.panel, (480, 360))
    # 0 % at 80 mm, red; 100 % at 10 mm, blue: SVG 2, 13.2.
    for y_mm in (12, 30, 45):
        share = (80 - y_mm) / 70
        assert picture[4 * y_mm, 80] == pytest.approx((255 * (1 - share), 0, 255 * share), abs=3)


def test_without_its_parts_the_picture_is_paint_and_bare_wood_only(make_build: MakeBuild) -> None:
    build = make_build()
    root = etree.fromstring(compose_svg(build).encode())
    parts = {element.get("data-part") for element in root.xpath("//*[@data-part]")}
    assert parts == {"wall", "shadow", "edge", "grain", "mark", "frame"}
    bare = painted_only(compose_svg(build))
    assert bare.xpath("//*[@id='grain']")
    assert len(bare.xpath("//*[starts-with(@id, 'wood-')]")) == 3
    picture = painted(compose_svg(build), build.stack.panel, (480, 360))
    colours, counts = np.unique(picture.reshape(-1, 3), axis=0, return_counts=True)
    most = {tuple(colour) for colour, count in zip(colours.tolist(), counts, strict=True) if count > 500}
    assert most == {
        (0x88, 0xAA, 0xCC),
        (0x4C, 0x7A, 0x34),
        (0xB0, 0x48, 0x3A),
        (0xE8, 0xC0, 0x60),
        (0xDC, 0xBC, 0x8C),
    }
    # The engraved line is gone; where it was there is its house.
    assert picture[160, 240].tolist() == [0xB0, 0x48, 0x3A]


def test_no_edge_between_paints_is_moved(make_build: MakeBuild) -> None:
    """The seam beneath two paints is theirs; each ends where it ends, to the fiftieth of a millimetre."""
    root = painted_only(compose_svg(make_build()))
    root.attrib.update({"viewBox": "54 69 2 2", "width": "100", "height": "100"})
    png = render_png(etree.tostring(root, encoding="unicode"), 100)
    row = np.asarray(Image.open(io.BytesIO(png)).convert("RGB"))[50]  # the house to 55 mm, its door from there
    assert (row[:49] == (0xB0, 0x48, 0x3A)).all()
    assert (row[51:] == (0xE8, 0xC0, 0x60)).all()


def test_equal_gradients_are_defined_once_and_masks_after_what_they_need() -> None:
    shared, definitions = Paint("#000000", washes=STACKS["a luminance mask"]), Definitions()
    first = laid(shared, lambda look: f"<path {look}/>", definitions)
    assert laid(shared, lambda look: f"<path {look}/>", definitions) == first
    texts = definitions.texts
    assert [text[1:6] for text in texts] == ["linea", "linea", "mask "]
    for place, text in enumerate(texts):
        for other in texts[place:]:
            name = etree.fromstring(other.replace("<mask", '<mask xmlns="m"')).get("id")
            assert f"#{name})" not in text


def test_units_other_than_mm() -> None:
    definitions = Definitions((100.0, 0.0, 0.0, 100.0, 0.0, 0.0))
    laid_washes((GradedWash(radial(to_mm=(2.0, 0.0, 0.0, 1.0, 5.0, 7.0))),), lambda look: look, definitions)
    assert 'gradientTransform="matrix(200 0 0 100 500 700)"' in definitions.texts[0]


def test_no_wood_shows_where_paint_and_sheet_end_together(make_build: MakeBuild) -> None:
    """The hill's upper edge before the sky: every colour there lies between the two."""
    build = make_build()
    rows = painted(compose_svg(build), build.stack.panel, (478, 359))[195:203, 60:140].reshape(-1, 3).astype(int)
    hill, sky = np.array([0x4C, 0x7A, 0x34]), np.array([0x88, 0xAA, 0xCC])
    share = (rows - hill) @ (sky - hill) / ((sky - hill) @ (sky - hill))
    assert share.min() < 0.01
    assert share.max() > 0.99
    assert np.abs(rows - (hill + share[:, None] * (sky - hill))).max() < 8
