"""The proof: an untouched stack passes, and every way of spoiling a sheet that shows is caught."""

import dataclasses
import re
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from builds import checked
from scenes import SceneRun, Scenes
from shapely import Point, Polygon, box

from layercut.model import Proof
from layercut.proof.check import check_sheets
from layercut.proof.failures import ProofFailure, Verdict
from layercut.proof.plan import plan_from_stack
from layercut.proof.reader import ReadSheet
from layercut.proof.simulate import out_of_reach, remaining_wood, slits

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
def made(scenes: Scenes) -> SceneRun:
    """Three sheets: full ground, a hill with a window, a fence with an arch."""
    hill = box(0, 40, 100, 100).difference(Point(30, 60).buffer(8, 32))
    fence = shapely.union_all([box(0, 75, 100, 100), *(box(10 + 15 * k, 60, 14 + 15 * k, 80) for k in range(6))])
    return scenes.make(scenes.drawing([scenes.ground()], [hill], [fence]))


def _verdict(made: SceneRun, number: int, change: Callable[[str], str]) -> Verdict:
    """The verdict with one sheet's text changed."""
    texts = {sheet.file: text for sheet, text in zip(made.sheets, made.files, strict=True)}
    file = made.sheets[number].file
    changed = change(texts[file])
    assert changed != texts[file], "the change must change something"
    texts[file] = changed
    return check_sheets(texts, plan_from_stack(made.stack, made.sheets, made.job))


def _proved(made: SceneRun, number: int, change: Callable[[str], str]) -> Proof:
    return _verdict(made, number, change).proof


def _codes(verdict: Verdict) -> set[str]:
    return {problem.code for problem in verdict.failures}


def test_an_untouched_stack_passes(made: SceneRun) -> None:
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


def test_a_hole_too_many_in_what_is_seen(made: SceneRun) -> None:
    proof = _proved(made, 2, lambda text: _with_opening(text, "M50 85L55 85L55 90Z"))
    # half of 5 x 5 mm and half a beam round it; each place of the picture counts once
    around = 10 + 5 * 2**0.5
    assert proof.stack_mismatch_mm2 == pytest.approx(12.5 + around * 0.075, abs=0.1)


def test_a_hole_too_many_that_sets_a_piece_free(made: SceneRun) -> None:
    ring = "M40 82L60 82L60 92L40 92Z"
    proof = _proved(made, 2, lambda text: _with_opening(_with_opening(text, ring), "M41 83L59 83L59 91L41 91Z"))
    assert proof.pieces_found == 4


def test_a_missing_opening(made: SceneRun) -> None:
    assert _proved(made, 1, _without_opening).stack_mismatch_mm2 > 100


@pytest.mark.parametrize("by", [0.3, 1.0, 5.0])
def test_openings_out_of_place(made: SceneRun, by: float) -> None:
    assert _proved(made, 1, lambda text: _moved(text, by)).stack_mismatch_mm2 > 0


def test_a_kerf_made_up_for_on_the_wrong_side(scenes: Scenes) -> None:
    """Twice the kerf too much or too little must show, with a beam of common width."""
    hill = box(0, 40, 100, 100)
    made = scenes.make(scenes.drawing([scenes.ground()], [hill]), "material.kerf=0.3mm")
    wrong = dataclasses.replace(
        made.sheets[1],
        openings=tuple(Polygon(ring.exterior).buffer(0.3, join_style="mitre") for ring in made.sheets[1].openings),
    )
    assert checked((made.sheets[0], wrong), made.stack, made.job).proof.stack_mismatch_mm2 > 0


def test_a_rim_that_is_not_the_panels(made: SceneRun) -> None:
    """A rim cut short is a sheet that doesn't line up, though the picture looks right."""
    sheet = made.sheets[2]
    short = dataclasses.replace(sheet, outline=box(-0.075, -0.075, 97, 100.075))
    proof = checked((*made.sheets[:2], short), made.stack, made.job).proof
    assert proof.stack_mismatch_mm2 > 0


def test_a_sheet_without_its_rim_is_no_sheet(made: SceneRun) -> None:
    verdict = _verdict(made, 2, lambda text: re.sub(r"(cut-outline[^>]*>)\n<path [^>]*/>", r"\1", text))
    assert {"rim-differs", "frame-differs"} <= _codes(verdict)
    assert verdict.proof.stack_mismatch_mm2 > 0


def test_a_sheet_without_any_cut_does_not_break_the_proof(made: SceneRun) -> None:
    proof = _proved(made, 2, lambda text: re.sub(r"\n<path [^>]*/>", "", text))
    assert proof.stack_mismatch_mm2 > 0


def test_sheets_in_the_wrong_order(made: SceneRun) -> None:
    swapped = (made.sheets[0], made.sheets[2], made.sheets[1])
    assert checked(swapped, made.stack, made.job).proof.stack_mismatch_mm2 > 100


@pytest.mark.parametrize("kerf", [0.0, 0.05, 0.15, 0.3])
def test_sharp_corners_are_no_mismatch(scenes: Scenes, kerf: float) -> None:
    """A round beam can't reach into a corner; that is the machine's doing, not a fault of the files."""
    star = Polygon([(50, 20), (55, 45), (80, 50), (55, 55), (50, 80), (45, 55), (20, 50), (45, 45)])
    made = scenes.make(
        scenes.drawing([scenes.ground()], [scenes.ground().difference(star)]), f"material.kerf={kerf}mm"
    )
    assert made.proof.stack_mismatch_mm2 == 0


def test_specks_that_are_left_out_are_no_mismatch(scenes: Scenes) -> None:
    """What is planned and what is proved must agree on what is too small to matter, however narrow the beam."""
    speck = Point(50, 50).buffer(0.05)
    made = scenes.make(scenes.drawing([scenes.ground()], [box(0, 0, 20, 20), speck]), "material.kerf=0mm")
    assert made.proof.stack_mismatch_mm2 == 0


# --- what the proof lets pass, and what not


@pytest.mark.parametrize("kerf", [0.0, 0.1, 0.3])
@pytest.mark.parametrize("by", [0.05, -0.05])
def test_a_cut_line_off_by_more_than_the_tolerance_is_caught(scenes: Scenes, kerf: float, by: float) -> None:
    """A twentieth of a millimetre along a whole outline, on either side, whatever the beam."""
    made = scenes.make(scenes.drawing([scenes.ground()], [box(0, 40, 100, 100)]), f"material.kerf={kerf}mm")
    moved = tuple(Polygon(ring.exterior).buffer(by, join_style="mitre") for ring in made.sheets[1].openings)
    wrong = dataclasses.replace(made.sheets[1], openings=moved)
    assert "picture-differs" in _codes(checked((made.sheets[0], wrong), made.stack, made.job))


@pytest.mark.parametrize("by", [0.01, -0.01])
def test_a_cut_line_within_the_tolerance_passes(scenes: Scenes, by: float) -> None:
    made = scenes.make(scenes.drawing([scenes.ground()], [box(0, 40, 100, 100)]))
    moved = tuple(Polygon(ring.exterior).buffer(by, join_style="mitre") for ring in made.sheets[1].openings)
    wrong = dataclasses.replace(made.sheets[1], openings=moved)
    assert checked((made.sheets[0], wrong), made.stack, made.job).proof.stack_mismatch_mm2 == 0


def test_a_beam_leaves_the_corners_and_the_crevices_of_an_opening() -> None:
    opening = shapely.union_all([box(10, 10, 20, 20), box(20, 14.9, 30, 15.0)])
    left = out_of_reach(opening, 0.2)
    corners = 4 * (1 - np.pi / 4) * 0.1**2
    assert left.area == pytest.approx(10 * 0.1 + corners, rel=0.05)
    assert out_of_reach(opening, 0).is_empty


def test_slits_lie_only_where_pieces_nearly_touch() -> None:
    near, far = [box(0, 0, 10, 10), box(10.17, 0, 20, 10)], [box(0, 0, 10, 10), box(10.4, 0, 20, 10)]
    gap = box(10, 1, 10.17, 9)
    assert slits(near, 0.15, 0.03).covers(gap)
    assert slits(near, 0.15, 0.03).area < 10 * 0.6
    assert slits(far, 0.15, 0.03).is_empty
    assert slits(near[:1], 0.15, 0.03).is_empty


@pytest.fixture(scope="module")
def parted(scenes: Scenes) -> SceneRun:
    """A tree whose crown hangs by a thin trunk, cut loose, and a sun that touches the frame's ring nowhere."""
    tree = shapely.union_all([box(0, 80, 100, 100), box(49.6, 50, 50.4, 81), Point(50, 40).buffer(14, 32)])
    return scenes.make(scenes.drawing([scenes.ground()], [tree, Point(80, 20).buffer(6, 32)]), "islands.policy=loose")


def test_slits_of_loose_pieces_are_no_mismatch(parted: SceneRun) -> None:
    assert len(parted.sheets[1].loose) == 2
    assert checked(parted.sheets, parted.stack, parted.job).failures == ()


def test_a_shifted_loose_piece_is_caught(parted: SceneRun) -> None:
    verdict = _verdict(parted, 1, lambda text: _moved(text, 0.3))
    assert "picture-differs" in _codes(verdict)


def test_a_loose_piece_that_is_missing_and_one_too_many(parted: SceneRun) -> None:
    gone = _verdict(parted, 1, lambda text: _without_opening(text, 0))
    assert {"piece-missing", "picture-differs"} <= _codes(gone)
    ring = "M20 86L30 86L30 92L20 92Z"
    more = _verdict(parted, 1, lambda text: _with_opening(_with_opening(text, "M21 87L29 87L29 91L21 91Z"), ring))
    assert "piece-loose" in _codes(more)
    assert more.proof.pieces_found == more.proof.pieces_planned + 1


def test_a_loose_piece_of_another_size(parted: SceneRun) -> None:
    planned = dataclasses.replace(parted.sheets[1])
    plan = plan_from_stack(parted.stack, parted.sheets, parted.job)
    sheet = plan.sheets[1]
    wrong = dataclasses.replace(
        sheet, pieces=tuple(dataclasses.replace(p, area_mm2=p.area_mm2 * 1.1) for p in sheet.pieces)
    )
    texts = {s.file: text for s, text in zip(parted.sheets, parted.files, strict=True)}
    verdict = check_sheets(texts, dataclasses.replace(plan, sheets=(plan.sheets[0], wrong)))
    assert _codes(verdict) == {"piece-differs"}
    assert planned.loose


# --- order, marks


def test_a_contour_before_one_inside_it(made: SceneRun) -> None:
    ring, inner = "M40 82L60 82L60 92L40 92Z", "M41 83L59 83L59 91L41 91Z"
    right = _verdict(made, 2, lambda text: _with_opening(_with_opening(text, inner), ring))
    wrong = _verdict(made, 2, lambda text: _with_opening(_with_opening(text, ring), inner))
    assert "order-inside" not in _codes(right)
    assert "order-inside" in _codes(wrong)


def test_the_rim_before_the_openings(made: SceneRun) -> None:
    def turned(text: str) -> str:
        head, openings, rim = re.split(r"(?=<g data-role=\"cut-o)", text)
        rim, end = rim.split("</svg>")
        return head + rim + openings + "</svg>" + end

    assert {"order-roles", "order-inside"} <= _codes(_verdict(made, 1, turned))


def test_a_contour_cut_twice(made: SceneRun) -> None:
    def doubled(text: str) -> str:
        paths = re.findall(r"\n<path [^>]*/>", text)
        return text.replace(paths[0], paths[0] * 2)

    assert "sheet-damaged" in _codes(_verdict(made, 1, doubled))


def _with_mark(data: str) -> Callable[[str], str]:
    return lambda text: re.sub(r"(mark-line[^>]*>)", rf'\1\n<path d="{data}"/>', text, count=1)


def test_a_mark_on_wood_that_nobody_planned(made: SceneRun) -> None:
    assert _codes(_verdict(made, 2, _with_mark("M10 90L40 90"))) == {"length-differs", "mark-added"}


def test_a_mark_in_the_air_and_one_on_a_cut(made: SceneRun) -> None:
    # the fence's sheet is open above its pickets, and its ground's edge is cut at y = 75
    in_air = _verdict(made, 2, _with_mark("M10 30L40 30"))
    on_cut = _verdict(made, 2, _with_mark("M30 74.9L38 74.9"))
    assert _codes(in_air) == {"length-differs", "mark-added", "mark-in-air"}
    assert _codes(on_cut) == {"length-differs", "mark-added", "mark-on-cut"}
    (found,) = [problem for problem in in_air.failures if problem.code == "mark-in-air"]
    assert found.at_mm == (25, 30)
    assert found.size == pytest.approx(30, abs=0.1)


def test_a_marked_area_in_the_air(made: SceneRun) -> None:
    change = lambda text: re.sub(r"(mark-area[^>]*>)", r'\1\n<path d="M10 30L20 30L20 40Z"/>', text)  # noqa: E731
    assert _codes(_verdict(made, 2, change)) == {"mark-added", "mark-in-air"}


def test_a_sheet_of_another_size(made: SceneRun) -> None:
    change = lambda text: text.replace('width="100mm"', 'width="101mm"').replace("0 0 100 100", "0 0 101 100")  # noqa: E731
    assert _codes(_verdict(made, 1, change)) == {"size-differs"}


def test_a_hole_in_the_frame_and_a_pin_hole_that_is_missing(scenes: Scenes) -> None:
    made = scenes.make(scenes.drawing([scenes.ground()], [box(0, 40, 100, 100)]), "panel.pins=true")
    assert made.proof.stack_mismatch_mm2 == 0
    hole = _verdict(made, 1, lambda text: _with_opening(text, "M1 50L5 50L5 54L1 54Z"))
    assert "frame-differs" in _codes(hole)
    assert "frame-differs" in _codes(_verdict(made, 0, _without_opening))


def test_a_problem_needs_a_known_code() -> None:
    with pytest.raises(ValueError, match="unknown problem code"):
        ProofFailure("nonsense", "x")
