"""The paint plan on small scenes: areas, reach, glue zones, stain, numbers, blends and own paints."""

import pytest
import shapely
from blends import RED_TO_BLUE, downwards
from scenes import Scenes
from shapely import Point, box

from layercut.job import load_job
from layercut.model import Called, Drawing
from layercut.planning.own_paints import OwnPaints
from layercut.planning.paint import own_findings, plan_paint
from layercut.workplan import PaintPlan

SKY, HILL, LAWN, HOUSE = "#88aacc", "#4c7a34", "#7a9a40", "#b0483a"
BLEND = downwards(0.0, 100.0)


@pytest.fixture(scope="module")
def scene(scenes: Scenes) -> Drawing:
    """A sky, a hill in two greens, and a house that stands before both; panel 100 x 100 mm, frame 6.35 mm."""
    return scenes.drawing(
        [scenes.shape(scenes.ground(), colour=SKY)],
        [scenes.shape(box(0, 60, 50, 100), colour=HILL), scenes.shape(box(50, 60, 100, 100), colour=LAWN)],
        [scenes.shape(box(30, 40, 70, 100), colour=HOUSE)],
    )


def plan_of(scenes: Scenes, scene: Drawing, *settings: str, own: OwnPaints | None = None) -> PaintPlan:
    made = scenes.make(scene, *settings)
    return plan_paint(scene, made.stack, 0.0, made.job.paint, own)


def test_seen_and_painted_areas(scenes: Scenes, scene: Drawing) -> None:
    plan = plan_of(scenes, scene, "paint.overlap=2mm")
    frame = 6.35
    sky, hill, lawn, house = plan.colours
    assert [colour.colour for colour in plan.colours] == [SKY, HILL, LAWN, HOUSE]
    inner = 100 - 2 * frame
    assert sky.visible_mm2 == pytest.approx(inner * (60 - frame) - 40 * 20, abs=0.1)
    assert hill.visible_mm2 == pytest.approx((30 - frame) * (40 - frame), abs=0.1)
    assert lawn.visible_mm2 == pytest.approx(hill.visible_mm2)
    # The hill goes on 2 mm under the house, under the frame in front at two sides, and round three corners.
    reach = 2 * (40 - frame) + 2 * (30 - frame) + 2 * (40 - frame)
    assert hill.painted_mm2 - hill.visible_mm2 == pytest.approx(reach + 3 * 3.14, abs=1)
    # Nothing lies in front of the house.
    assert house.painted_mm2 == house.visible_mm2 == pytest.approx(40 * (60 - frame), abs=0.1)


def test_laws_of_the_parts(scenes: Scenes, scene: Drawing) -> None:
    made = scenes.make(scene)
    plan = plan_paint(scene, made.stack, 0.0, made.job.paint, None)
    slack = 0.06  # a brush is exact to a twentieth of a millimetre
    for layer, sheet in zip(made.stack.layers, plan.sheets, strict=True):
        seen = [part.visible for part in sheet.parts]
        assert sum(region.area for region in seen) == pytest.approx(shapely.union_all(seen).area)
        assert shapely.union_all(seen).symmetric_difference(layer.visible).area < 0.1
        for part in sheet.parts:
            assert part.reach.difference(layer.wood.buffer(slack)).is_empty
            assert part.reach.intersection(layer.visible.buffer(-slack)).is_empty
            assert part.reach.difference(part.visible.buffer(plan.overlap_mm + slack)).area < 0.01


def test_where_no_face_is_drawn_the_nearest_paint_goes_on(scenes: Scenes) -> None:
    """Two greens end exactly where the house begins: the wood under it is hidden ground without a colour."""
    greens = [scenes.shape(box(0, 60, 30, 80), colour=HILL), scenes.shape(box(0, 80, 30, 100), colour=LAWN)]
    house = [scenes.shape(box(30, 20, 100, 100), colour=HOUSE)]
    drawing = scenes.drawing([scenes.shape(scenes.ground(), colour=SKY)], greens, house)
    made = scenes.make(drawing)
    plan = plan_paint(drawing, made.stack, 0.0, made.job.paint, None)
    upper, lower = plan.sheets[1].parts
    assert (plan.colour(upper.number).colour, plan.colour(lower.number).colour) == (HILL, LAWN)
    # hidden ground keeps the setback from the opening above; the strip beside each green is its own, but for the
    # quarter of a disc where both reach
    beside = [part.reach.intersection(box(30, 62, 33, 92)) for part in (upper, lower)]
    assert beside[0].bounds[3] == pytest.approx(81, abs=0.3)
    assert beside[1].bounds[1] > 79.9
    assert beside[0].area + beside[1].area == pytest.approx(30, abs=0.3)


def test_no_overlap_no_reach(scenes: Scenes, scene: Drawing) -> None:
    plan = plan_of(scenes, scene, "paint.overlap=0mm")
    assert all(part.reach.is_empty for sheet in plan.sheets for part in sheet.parts)
    assert plan.sheets[0].glue_mm2 == pytest.approx(plan.sheets[0].contact_mm2)


def test_glue_zones_lie_in_the_contact_drawn_in(scenes: Scenes, scene: Drawing) -> None:
    made = scenes.make(scene, "paint.overlap=1.5mm")
    plan = plan_paint(scene, made.stack, 0.0, made.job.paint, None)
    for place in (0, 1):
        sheet = plan.sheets[place]
        contact = made.stack.layers[place].wood & made.stack.layers[place + 1].wood
        assert sheet.contact_mm2 == pytest.approx(contact.area)
        assert 0 < sheet.glue_mm2 < sheet.contact_mm2
        assert sheet.glue.difference(contact.buffer(-1.5 + 0.06)).area < 0.01
        # and no paint goes where glue goes
        for part in sheet.parts:
            assert sheet.glue.intersection(part.visible).area < 0.01
            assert sheet.glue.intersection(part.reach).area < 0.06 * sheet.glue.length
    assert plan.sheets[2].glue.is_empty


def test_a_small_loose_piece_keeps_a_zone(scenes: Scenes) -> None:
    dot = Point(50, 30).buffer(0.9)
    drawing = scenes.drawing([scenes.ground()], [box(0, 70, 100, 100), dot])
    made = scenes.make(drawing, "islands.policy=loose", "limits.glue_contact=1mm2")
    assert len(made.sheets[1].loose) == 1
    plan = plan_paint(drawing, made.stack, 0.0, made.job.paint, None)
    zone = plan.sheets[0].glue.intersection(dot)
    assert 0 < zone.area < dot.area


def test_only_the_front_frame_is_stained_and_every_edge(scenes: Scenes, scene: Drawing) -> None:
    made = scenes.make(scene)
    plan = plan_paint(scene, made.stack, 0.0, made.job.paint, None)
    assert [sheet.frame_mm2 for sheet in plan.sheets] == [0, 0, pytest.approx(made.stack.panel.frame.area)]


def test_one_paint_has_one_number_on_all_sheets(scenes: Scenes) -> None:
    drawing = scenes.drawing(
        [scenes.shape(scenes.ground(), colour=SKY)],
        [scenes.shape(box(0, 60, 100, 100), colour=HILL), scenes.shape(box(0, 80, 50, 100), colour=SKY)],
    )
    plan = plan_of(scenes, drawing)
    assert [colour.number for colour in plan.colours] == [1, 2]
    assert [[part.number for part in sheet.parts] for sheet in plan.sheets] == [[1], [1, 2]]
    assert plan.colours[0].visible_mm2 == pytest.approx(sum(sheet.parts[0].visible.area for sheet in plan.sheets))


def _signed(scenes: Scenes, *, called: Called) -> Drawing:
    board = scenes.shape(box(20, 70, 80, 80), colour=HOUSE, element="rect 'top'", called=called)
    post = scenes.shape(box(0, 70, 100, 100), colour=HOUSE)
    return scenes.drawing([scenes.shape(scenes.ground(), colour=SKY)], [post, board])


@pytest.mark.parametrize(
    "called",
    [
        Called("rect", label="Name-Board 2"),
        Called("rect", ident="name_board"),
        Called("rect", ident="top", around=("inn", "nameboard", "top")),
    ],
)
@pytest.mark.parametrize("stain", ["name board", "NAME-board"])
def test_a_name_board_is_stained(scenes: Scenes, called: Called, stain: str) -> None:
    """Whether the element, or a group around it, is called so."""
    sky, paint, stained = plan_of(scenes, _signed(scenes, called=called), f'paint.stain=["{stain}"]').colours
    assert (paint.finish, stained.finish) == ("paint", "stain")
    assert stained.visible_mm2 == pytest.approx(600, abs=0.1)
    assert (sky.coats, paint.coats, stained.coats) == (2, 2, 1)
    assert stained.shades.base == stained.shades.light == HOUSE


def test_nothing_is_stained_unless_the_job_says_so(scenes: Scenes) -> None:
    drawing = _signed(scenes, called=Called("rect", ident="name-board"))
    assert {colour.finish for colour in plan_of(scenes, drawing).colours} == {"paint"}
    for other in ("name", "name boards", "board", ""):
        assert {colour.finish for colour in plan_of(scenes, drawing, f'paint.stain=["{other}"]').colours} in (
            [{"paint"}] if other != "name" else [{"paint", "stain"}]
        )


def test_a_layer_is_stained_by_its_name(scenes: Scenes) -> None:
    drawing = _signed(scenes, called=Called())
    assert [c.finish for c in plan_of(scenes, drawing, 'paint.stain=["l1"]').colours] == ["paint", "stain"]


def test_what_is_drawn_over_a_stained_board_is_painted(scenes: Scenes) -> None:
    board = scenes.shape(box(20, 20, 80, 80), colour=HOUSE, called=Called("rect", ident="board"))
    star = scenes.shape(box(40, 40, 60, 60), colour=LAWN)
    drawing = scenes.drawing([scenes.shape(scenes.ground(), colour=SKY)], [board, star])
    finishes = {colour.colour: colour.finish for colour in plan_of(scenes, drawing, 'paint.stain=["board"]').colours}
    assert finishes == {SKY: "paint", HOUSE: "stain", LAWN: "paint"}


def test_a_blend_keeps_its_stops(scenes: Scenes) -> None:
    shape = scenes.shape(scenes.ground())
    drawing = scenes.drawing([type(shape)("wood", shape.geometry, BLEND, "path 'x'")])
    (colour,) = plan_of(scenes, drawing).colours
    assert [(stop.offset, stop.colour) for stop in colour.blend] == list(RED_TO_BLUE)
    assert colour.shades.base != colour.shades.middle


def test_nothing_drawn_nothing_painted(scenes: Scenes) -> None:
    plan = plan_of(scenes, scenes.drawing([]))
    assert plan.colours == ()
    assert plan.sheets[0].parts == ()


def test_own_paints_are_given_to_each_shade_and_what_is_far_is_said(scenes: Scenes, scene: Drawing) -> None:
    own = OwnPaints("own.csv", (("sky", SKY), ("moss", "#4e7a36"), ("brick", "#b0483a")))
    made = scenes.make(scene)
    plan = plan_paint(scene, made.stack, 0.0, made.job.paint, own)
    assert [colour.matches[1].name for colour in plan.colours] == ["sky", "moss", "moss", "brick"]
    assert plan.colours[0].matches[1].difference == pytest.approx(0, abs=1e-6)
    assert 0 < plan.colours[1].matches[1].difference < 2
    (far,) = own_findings(plan, made.stack)
    assert (far.code, far.severity, far.layer) == ("paint-far", "warning", "l1")
    assert far.message.startswith(f"no paint of own.csv comes near 1 of the 4 colours: {LAWN} is furthest off")
    assert "moss" in far.message
    assert (
        own_findings(
            plan_paint(scene, made.stack, 0.0, load_job(None, ["paint.own_limit=100"]).paint, own), made.stack
        )
        == []
    )


def test_all_far_colours_are_said_in_one_line(scenes: Scenes, scene: Drawing) -> None:
    made = scenes.make(scene)
    plan = plan_paint(scene, made.stack, 0.0, made.job.paint, OwnPaints("own.csv", (("black", "#000000"),)))
    assert all(colour.matches[1].difference > 5 for colour in plan.colours)
    (far,) = own_findings(plan, made.stack)
    assert "comes near any of the 4 colours" in far.message
    furthest = max(plan.colours, key=lambda colour: colour.matches[1].difference)
    assert f"{furthest.colour} is furthest off" in far.message


def test_a_far_stop_of_a_blend_is_told(scenes: Scenes) -> None:
    shape = scenes.shape(scenes.ground())
    drawing = scenes.drawing([type(shape)("wood", shape.geometry, BLEND, "path 'x'")])
    made = scenes.make(drawing)
    plan = plan_paint(drawing, made.stack, 0.0, made.job.paint, OwnPaints("r.csv", (("red", "#ff0000"),)))
    assert plan.colours[0].blend[0].match is not None
    (far,) = own_findings(plan, made.stack)
    assert "#0000ff" in far.message
