"""Spacers and weight: how many frames, their shape, where the weight lies, and the written spacer sheet."""

import math
from typing import Literal

import pytest
from builds import checked, spacers_made
from hypothesis import given
from hypothesis import strategies as st
from scenes import Scenes
from shapely import box
from shapely.geometry.base import BaseGeometry

from layercut.errors import JobError
from layercut.job import Job, load_job
from layercut.job_tables import MOST_SPACERS
from layercut.model import OrderedSheet, Sheet
from layercut.planning.hanging import (
    count_spacers,
    longest_screw_mm,
    plan_hanging,
    sheets_behind,
    spacer_width_mm,
    spacer_wood,
)
from layercut.sheets.smoothing import smooth_sheets
from layercut.stack.panel import make_panel


def sheet_of(wood: BaseGeometry, kind: Literal["layer", "spacer"] = "layer", copies: int = 1) -> Sheet:
    ordered = OrderedSheet("x", kind, "sheets/x.svg", copies, wood, (), (), (), box(0, 0, 100, 80))
    return smooth_sheets([ordered], Job())[0]


def spacers_of(*settings: str, layers: int = 4) -> int:
    job = load_job(None, settings)
    return count_spacers(make_panel(200, 150, job), layers, job.hanging, job.material.thickness)


@pytest.mark.parametrize(
    ("settings", "spacers"),
    [
        ((), 0),
        # a plate of 10 mm lies beyond a frame of 6.35 mm: only the back sheet is sure to be wood there
        (("hanging.screw=12mm",), 4),  # 12 + 2 = 14 = 3 + 11, and 4 frames give 12
        (("hanging.screw=10mm",), 3),  # 12 = 3 + 9 exactly
        (("hanging.screw=10.1mm",), 4),
        (("hanging.screw=1mm",), 0),
        (("hanging.screw=12mm", "hanging.guard=0mm"), 3),
        (("hanging.screw=12mm", "material.thickness=4mm"), 3),
        # as many as the job says, with a screw or without
        (("hanging.spacers=2",), 2),
        (("hanging.spacers=0",), 0),
        (("hanging.spacers=5", "hanging.screw=12mm"), 5),
        (("hanging.spacers=4", "hanging.screw=12mm"), 4),
        # on a wide frame the screw goes into all four sheets
        (("hanging.screw=12mm", "panel.frame=20mm"), 1),
        (("hanging.screw=10mm", "panel.frame=20mm"), 0),
    ],
)
def test_how_many_frames(settings: tuple[str, ...], spacers: int) -> None:
    assert spacers_of(*settings) == spacers


@given(st.floats(0.5, 40), st.floats(0, 5), st.floats(2, 6), st.integers(1, 8))
def test_no_screw_comes_through_and_no_frame_is_too_many(screw: float, guard: float, t: float, layers: int) -> None:
    settings = [f"hanging.screw={screw!r}mm", f"hanging.guard={guard!r}mm", f"material.thickness={t!r}mm"]
    job = load_job(None, settings)
    panel = make_panel(200, 150, job)
    try:
        count = count_spacers(panel, layers, job.hanging, job.material.thickness)
    except JobError:
        assert (screw + guard) / t > MOST_SPACERS
        return
    behind = sheets_behind(panel, layers, job.hanging)
    assert (count + behind) * t >= screw + guard - 1e-6
    assert count == 0 or (count - 1 + behind) * t < screw + guard


def test_a_screw_that_needs_a_stack_of_frames_is_refused() -> None:
    with pytest.raises(JobError, match="needs 34 spacer frames") as caught:
        spacers_of("hanging.screw=100mm", "hanging.guard=4mm")
    assert caught.value.code == "hanging-screw"


def test_a_screw_that_comes_through_the_spacers_given_is_refused() -> None:
    """3 frames and the back sheet are 12 mm deep: 2 of them kept, 10 mm may go in."""
    with pytest.raises(JobError) as caught:
        spacers_of("hanging.spacers=3", "hanging.screw=10.1mm")
    assert caught.value.code == "hanging-screw"
    assert "up to 10 mm" in caught.value.message
    assert "set 'hanging.spacers' to 4 or more" in caught.value.hint
    assert spacers_of("hanging.spacers=3", "hanging.screw=10mm") == 3


@given(st.integers(0, MOST_SPACERS - 1), st.floats(0, 5), st.floats(2, 6))
def test_the_longest_screw_needs_the_spacers_there_are(spacers: int, guard: float, t: float) -> None:
    settings = [f"hanging.guard={guard!r}mm", f"material.thickness={t!r}mm"]
    job = load_job(None, settings)
    longest = longest_screw_mm(make_panel(200, 150, job), 4, spacers, job.hanging, t)
    if longest > 1e-3:
        assert spacers_of(*settings, f"hanging.screw={longest - 1e-4!r}mm") == spacers
        assert spacers_of(*settings, f"hanging.screw={longest + 1e-4!r}mm") == spacers + 1


def test_a_spacer_is_hollow_and_wide_enough_for_the_plate() -> None:
    job = load_job(None, ["hanging.plate=12mm", "hanging.plate_edge=3mm", "panel.pins=true"])
    panel = make_panel(200, 150, job)
    assert spacer_width_mm(panel, job.hanging) == 18
    wood = spacer_wood(panel, job)
    assert wood.is_valid
    assert wood.contains(box(0.1, 0.1, 17.9, 40))
    assert not wood.intersects(box(18.1, 18.1, 181.9, 131.9))
    assert len(wood.interiors) == 4  # the middle and three pin holes
    for pin in panel.pins:
        assert not wood.intersects(pin.buffer(-0.01))


def test_a_wide_frame_is_the_spacers_width_and_a_tiny_panel_stays_whole() -> None:
    job = load_job(None, ["panel.frame=30mm"])
    assert spacer_width_mm(make_panel(200, 150, job), job.hanging) == 30
    small = make_panel(29, 29, load_job(None, []))
    assert len(spacer_wood(small, load_job(None, [])).interiors) == 0


def test_a_round_panel_has_a_round_spacer() -> None:
    job = load_job(None, ["panel.corner=100mm"])
    wood = spacer_wood(make_panel(200, 200, job), job)
    assert wood.area == pytest.approx(math.pi * (100**2 - 86**2), rel=1e-3)


def test_weight_centre_and_loads() -> None:
    job = load_job(None, ["material.density=500kg/m3", "hanging.extra=100g", "hanging.wire_angle=30deg"])
    panel = make_panel(100, 80, job)
    whole, right = box(0, 0, 100, 80), box(50, 0, 100, 80)
    found = plan_hanging(panel, [sheet_of(whole), sheet_of(right)], job.hanging, job.material)
    assert found.mass_g == pytest.approx(1.5 * (100 * 80 + 50 * 80) * 1e-3)
    assert found.weight_n == pytest.approx((0.018 + 0.1) * 9.80665)
    assert found.centre_mm == pytest.approx(((12 * 50 + 6 * 75) / 18, 40))
    assert found.depth_mm == pytest.approx((12 * 1.5 + 6 * 4.5) / 18)
    assert found.tension_n == pytest.approx(found.weight_n)  # 2 sin 30 = 1
    assert found.load_n == pytest.approx(4 * found.weight_n)


def test_spacers_weigh_and_lie_behind() -> None:
    job = load_job(None, ["material.density=1000kg/m3"])
    panel = make_panel(100, 80, job)
    one = box(0, 0, 100, 80)
    found = plan_hanging(panel, [sheet_of(one), sheet_of(one, "spacer", 3)], job.hanging, job.material)
    assert found.spacers == 3
    assert found.mass_g == pytest.approx(4 * 24)
    assert found.depth_of_stack_mm == 12
    alone = plan_hanging(panel, [sheet_of(one)], job.hanging, job.material)
    assert (alone.depth_mm, found.depth_mm) == (pytest.approx(1.5), pytest.approx(6))


def test_the_spacer_sheet_is_cut_in_order_and_proved(scenes: Scenes) -> None:
    drawing = scenes.drawing([scenes.ground()], [box(20, 20, 100, 80)])
    made = scenes.make(drawing, "hanging.screw=12mm", "panel.pins=true")
    (spacer,) = spacers_made(made.stack, made.job)
    assert (spacer.kind, spacer.file, spacer.copies) == ("spacer", "sheets/spacer.svg", 4)
    assert len(spacer.openings) == 4
    assert spacer.outline.area > spacer.openings[-1].area
    verdict = checked((*made.sheets, spacer), made.stack, made.job)
    assert verdict.failures == ()
    assert verdict.proof.pieces_planned == verdict.proof.pieces_found == 3


def test_without_a_screw_there_is_no_spacer(scenes: Scenes) -> None:
    made = scenes.make(scenes.drawing([scenes.ground()]))
    assert spacers_made(made.stack, made.job) == ()
