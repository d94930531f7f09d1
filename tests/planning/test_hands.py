"""Which hand lays a paint on: by names, by the job, part by part."""

import pytest
from scenes import Scenes
from shapely import box

from layercut.job_values import PaintHand
from layercut.model import Called, Drawing
from layercut.planning.hands import hand_findings, lay_hands
from layercut.planning.paint import plan_paint
from layercut.workplan import Handed

GREEN, BLUE = "#4c7a34", "#88aacc"


def laid(scenes: Scenes, drawing: Drawing, *settings: str) -> tuple[tuple[Handed, ...], ...]:
    made = scenes.make(drawing, *settings)
    plan = plan_paint(drawing, made.stack, 0.0, made.job.paint, None)
    return lay_hands(drawing, plan, made.job.paint.hands)


def hand_of(
    scenes: Scenes, *around: str, layer: str = "back", settings: tuple[str, ...] = ()
) -> tuple[PaintHand, bool]:
    shape = scenes.shape(scenes.ground(), colour=GREEN, called=Called("path", ident=around[-1], around=around))
    drawing = Drawing("a.svg", "0" * 64, 100.0, 100.0, (scenes.layer([shape], layer),))
    ((one,),) = laid(scenes, drawing, *settings)
    return one.hand, one.upwards


@pytest.mark.parametrize("name", ["leaf", "leaf-3", "Leaves", "floatingLeaves", "box hedges", "GRASS_2", "foliage"])
def test_leaves_are_stippled(scenes: Scenes, name: str) -> None:
    assert hand_of(scenes, name) == ("stipple", False)


@pytest.mark.parametrize(
    ("name", "upwards"), [("sky", False), ("dusk-sky", False), ("far-river", True), ("Sea", True)]
)
def test_sky_and_water_are_blended_towards_the_horizon(scenes: Scenes, name: str, upwards: bool) -> None:
    assert hand_of(scenes, name) == ("blend", upwards)


@pytest.mark.parametrize("name", ["door", "shutter-leaf", "water-wheel", "skylark", "seat", "leaflet", "path12", ""])
def test_the_rest_is_flat(scenes: Scenes, name: str) -> None:
    assert hand_of(scenes, name)[0] == "flat"


def test_a_group_counts_and_the_innermost_telling_name_decides(scenes: Scenes) -> None:
    assert hand_of(scenes, "hedge", "left half")[0] == "stipple"
    assert hand_of(scenes, "sky", "ivy")[0] == "stipple"
    assert hand_of(scenes, "ivy", "window")[0] == "flat"


def test_a_layers_name_counts_for_what_has_none_of_its_own(scenes: Scenes) -> None:
    assert hand_of(scenes, "path12", layer="sky") == ("blend", False)
    assert hand_of(scenes, "", layer="sky") == ("blend", False)
    assert hand_of(scenes, "moon", layer="sky")[0] == "flat"


def test_the_job_decides_before_any_word(scenes: Scenes) -> None:
    assert hand_of(scenes, "ivy", settings=("paint.hands.ivy=flat",))[0] == "flat"
    assert hand_of(scenes, "Ivy 2", settings=("paint.hands.ivy=blend",))[0] == "blend"
    assert hand_of(scenes, "river", settings=("paint.hands.river=blend",)) == ("blend", True)
    # The innermost name for which the job has a word.
    both = ("paint.hands.wall=blend", "paint.hands.ivy=flat")
    assert hand_of(scenes, "wall", "ivy", settings=both)[0] == "flat"


def test_one_paint_is_parted_by_what_it_is(scenes: Scenes) -> None:
    """A green leaf and a green door of one layer; each region is laid on by its own hand, and none is lost."""
    leaf = scenes.shape(box(10, 10, 30, 30), colour=GREEN, called=Called("path", ident="leaf", around=("leaf",)))
    door = scenes.shape(box(60, 10, 80, 30), colour=GREEN, called=Called("path", ident="door", around=("door",)))
    drawing = scenes.drawing([scenes.shape(scenes.ground(), colour=BLUE), leaf, door])
    ((*regions,),) = laid(scenes, drawing)
    green = {one.hand: one for one in regions if one.number == 2}
    assert set(green) == {"stipple", "flat"}
    assert green["stipple"].region.symmetric_difference(box(10, 10, 30, 30)).area < 1e-6
    assert green["flat"].region.symmetric_difference(box(60, 10, 80, 30)).area < 1e-6


def test_what_is_drawn_on_top_decides(scenes: Scenes) -> None:
    """Ivy all over a wall: the wall beneath it is not seen."""
    wall = scenes.shape(scenes.ground(), colour=GREEN, called=Called("path", ident="wall", around=("wall",)))
    ivy = scenes.shape(scenes.ground(), colour=GREEN, called=Called("path", ident="ivy", around=("ivy",)))
    assert [one.hand for one in laid(scenes, scenes.drawing([wall, ivy]))[0]] == ["stipple"]
    assert [one.hand for one in laid(scenes, scenes.drawing([ivy, wall]))[0]] == ["flat"]


def test_stain_is_flat(scenes: Scenes) -> None:
    leaf = scenes.shape(scenes.ground(), colour=GREEN, called=Called("path", ident="leaf", around=("leaf",)))
    ((one,),) = laid(scenes, scenes.drawing([leaf]), 'paint.stain=["leaf"]')
    assert one.hand == "flat"


def test_a_name_that_nothing_bears_is_told_with_the_nearest(scenes: Scenes) -> None:
    ivy = scenes.shape(scenes.ground(), called=Called("path", ident="ivy", around=("ivy",)))
    drawing = scenes.drawing([ivy])
    assert list(hand_findings(drawing, {"Ivy": "flat"})) == []
    (finding,) = hand_findings(drawing, {"ivvy": "flat"})
    assert (finding.code, finding.severity, finding.element) == ("name-unmatched", "warning", "ivvy")
    assert '"ivy"' in finding.message
