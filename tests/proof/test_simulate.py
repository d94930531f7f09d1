"""The proof: an untouched stack passes, and every way of spoiling a sheet that shows is caught."""

import dataclasses
import re

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from layercut.geometry.regions import union
from layercut.model import Proof
from layercut.pipeline import prove_sheets
from layercut.proof.reader import ReadSheet, read_sheet
from layercut.proof.simulate import prove, remaining_wood

RIM = np.array([[-0.1, -0.1], [100.1, -0.1], [100.1, 80.1], [-0.1, 80.1], [-0.1, -0.1]])
SQUARE = np.array([[20.1, 20.1], [39.9, 20.1], [39.9, 39.9], [20.1, 39.9], [20.1, 20.1]])


def _read(*openings: np.ndarray) -> ReadSheet:
    paths = {"cut-opening": tuple((ring,) for ring in openings), "cut-outline": ((RIM,),)}
    return ReadSheet(100, 80, paths, tuple(paths))


def test_the_beam_takes_half_its_width_from_the_wood() -> None:
    wood = remaining_wood(_read(SQUARE), 0.2)
    expected = box(0, 0, 100, 80).difference(box(20, 20, 40, 40))
    assert shapely.symmetric_difference(wood, expected).area < 0.05  # the round beam in the opening's corners
    assert wood.bounds == pytest.approx((0, 0, 100, 80))


def test_without_a_kerf_the_wood_is_what_is_drawn() -> None:
    assert remaining_wood(_read(), 0).equals(Polygon(RIM))


def test_a_ring_in_an_opening_is_a_piece_of_its_own() -> None:
    inner = 30 + (SQUARE - 30) / 2
    wood = remaining_wood(_read(inner, SQUARE), 0.2)
    assert len(shapely.get_parts(wood)) == 2


def test_order_and_sense_of_the_contours_do_not_matter() -> None:
    inner = 30 + (SQUARE - 30) / 2
    first = remaining_wood(_read(inner, SQUARE), 0.2)
    second = remaining_wood(_read(SQUARE[::-1], inner[::-1]), 0.2)
    assert first.equals(second)


def test_contours_that_cross_are_cut_as_they_lie() -> None:
    wood = remaining_wood(_read(SQUARE, SQUARE + 10), 0)
    assert len(shapely.get_parts(wood)) >= 2


@pytest.fixture(scope="module")
def made(scenes):
    """Three sheets: full ground, a hill with a window, a fence with an arch."""
    hill = box(0, 40, 100, 100).difference(Point(30, 60).buffer(8, 32))
    fence = shapely.union_all([box(0, 75, 100, 100), *(box(10 + 15 * k, 60, 14 + 15 * k, 80) for k in range(6))])
    return scenes.make(scenes.drawing([scenes.ground()], [hill], [fence]))


def _proved(made, number: int, change) -> Proof:
    """The proof with one sheet's text changed."""
    texts = list(made.files)
    changed = change(texts[number])
    assert changed != texts[number], "the change must change something"
    texts[number] = changed
    read = [read_sheet(text, "x") for text in texts]
    back, *front = made.stack.layers
    shown = [union((back.visible, made.stack.bare)), *(layer.visible for layer in front)]
    return prove(read, shown, 3, made.job.material.kerf, PROOF_TOLERANCES * made.job.curves.tolerance)


def test_an_untouched_stack_passes(made) -> None:
    assert made.proof == Proof(0.0, 3, 3)
    assert made.codes == []


def _with_opening(text: str, data: str) -> str:
    return text.replace('data-role="cut-opening"', 'data-role="cut-opening"', 1).replace(
        '\n</g>\n<g data-role="cut-outline"', f'\n<path d="{data}"/>\n</g>\n<g data-role="cut-outline"', 1
    )


def _without_opening(text: str, which: int = 0) -> str:
    start = text.index('data-role="cut-opening"')
    paths = [m for m in re.finditer(r"\n<path [^>]*/>", text) if m.start() > start]
    return text[: paths[which].start()] + text[paths[which].end() :]


def _moved(text: str, by: float) -> str:
    """Every cut contour but the rim moved to the right."""
    head, cuts, rim = re.split(r'(?=<g data-role="cut-o)', text)
    return head + re.sub(r"([ML])([-\d.]+) ", lambda m: f"{m[1]}{float(m[2]) + by:.3f} ", cuts) + rim


def test_a_hole_too_many_in_what_is_seen(made) -> None:
    proof = _proved(made, 2, lambda text: _with_opening(text, "M50 85L55 85L55 90Z"))
    # half of 5 x 5 mm and half a beam round it, wrong on the fence and on the hill behind
    around = 10 + 5 * 2**0.5
    assert proof.stack_mismatch_mm2 == pytest.approx(2 * (12.5 + around * 0.075), abs=0.1)


def test_a_hole_too_many_that_sets_a_piece_free(made) -> None:
    ring = "M40 82L60 82L60 92L40 92Z"
    proof = _proved(made, 2, lambda text: _with_opening(_with_opening(text, ring), "M41 83L59 83L59 91L41 91Z"))
    assert proof.pieces_found == 4


def test_a_missing_opening(made) -> None:
    assert _proved(made, 1, _without_opening).stack_mismatch_mm2 > 100


@pytest.mark.parametrize("by", [0.3, 1.0, 5.0])
def test_openings_out_of_place(made, by: float) -> None:
    assert _proved(made, 1, lambda text: _moved(text, by)).stack_mismatch_mm2 > 0


def test_a_kerf_made_up_for_on_the_wrong_side(scenes) -> None:
    """Twice the kerf too much or too little must show, with a beam of common width."""
    hill = box(0, 40, 100, 100)
    made = scenes.make(scenes.drawing([scenes.ground()], [hill]), "material.kerf=0.3mm")
    wrong = dataclasses.replace(
        made.sheets[1],
        openings=tuple(Polygon(ring.exterior).buffer(0.3, join_style="mitre") for ring in made.sheets[1].openings),
    )
    assert prove_sheets((made.sheets[0], wrong), made.stack, made.job).stack_mismatch_mm2 > 0


def test_a_rim_that_is_not_the_panels(made) -> None:
    """A rim cut short is a sheet that doesn't line up, though the picture looks right."""
    sheet = made.sheets[2]
    short = dataclasses.replace(sheet, outline=box(-0.075, -0.075, 97, 100.075))
    proof = prove_sheets((*made.sheets[:2], short), made.stack, made.job)
    assert proof.stack_mismatch_mm2 > 0


def test_a_sheet_without_its_rim_is_no_sheet(made) -> None:
    proof = _proved(made, 2, lambda text: re.sub(r"(cut-outline[^>]*>)\n<path [^>]*/>", r"\1", text))
    assert proof.stack_mismatch_mm2 > 0 or proof.pieces_found != 3


def test_a_sheet_without_any_cut_does_not_break_the_proof(made) -> None:
    proof = _proved(made, 2, lambda text: re.sub(r"\n<path [^>]*/>", "", text))
    assert proof.stack_mismatch_mm2 > 0


def test_sheets_in_the_wrong_order(made) -> None:
    swapped = (made.sheets[0], made.sheets[2], made.sheets[1])
    assert prove_sheets(swapped, made.stack, made.job).stack_mismatch_mm2 > 100


@pytest.mark.parametrize("kerf", [0.0, 0.05, 0.15, 0.3])
def test_sharp_corners_are_no_mismatch(scenes, kerf: float) -> None:
    """A round beam can't reach into a corner; that is the machine's doing, not a fault of the files."""
    star = Polygon([(50, 20), (55, 45), (80, 50), (55, 55), (50, 80), (45, 55), (20, 50), (45, 45)])
    made = scenes.make(
        scenes.drawing([scenes.ground()], [scenes.ground().difference(star)]), f"material.kerf={kerf}mm"
    )
    assert made.proof.stack_mismatch_mm2 == 0


def test_specks_that_are_left_out_are_no_mismatch(scenes) -> None:
    """What is planned and what is proved must agree on what is too small to matter, however narrow the beam."""
    speck = Point(50, 50).buffer(0.05)
    made = scenes.make(scenes.drawing([scenes.ground()], [box(0, 0, 20, 20), speck]), "material.kerf=0mm")
    assert made.proof.stack_mismatch_mm2 == 0
