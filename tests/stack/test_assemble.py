"""The stack as one value, and its findings."""

from collections.abc import Sequence

import pytest
import shapely
from scenes import Scenes
from shapely import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from layercut.findings import Finding
from layercut.model import Shape


def _findings(
    scenes: Scenes, *layers: Sequence[Shape | BaseGeometry], settings: tuple[str, ...] = ()
) -> list[Finding]:
    return list(scenes.stack(scenes.drawing(*layers), *settings).findings)


def test_bare_ground_is_what_no_face_covers(scenes: Scenes) -> None:
    stack = scenes.stack(scenes.drawing([box(0, 0, 100, 50)], [box(0, 40, 100, 60)]))
    assert stack.bare.equals(box(6.35, 60, 93.65, 93.65))
    assert scenes.stack(scenes.drawing([scenes.ground()])).bare.is_empty
    assert scenes.stack(scenes.drawing([])).bare.equals(stack.panel.interior)


def test_layers_keep_their_order_and_names(scenes: Scenes) -> None:
    stack = scenes.stack(scenes.drawing([scenes.ground()], [box(0, 0, 20, 20)], [box(0, 0, 30, 10)]))
    assert [layer.name for layer in stack.layers] == ["l0", "l1", "l2"]


def test_a_clean_drawing_has_nothing_to_say(scenes: Scenes) -> None:
    assert _findings(scenes, [scenes.ground()], [box(0, 60, 100, 100)]) == []


def test_a_shape_beyond_the_panel_is_lost(scenes: Scenes) -> None:
    (found,) = _findings(scenes, [scenes.ground(), box(200, 20, 210, 40)])
    assert (found.code, found.severity, found.layer, found.element) == ("off-panel", "warning", "l0", "path 's1'")
    assert found.at_mm == (205, 30)
    assert found.size_mm == (10, 20)
    assert found.message == "path 's1' lies outside the panel and will be missing. Move it onto the panel."


def test_several_lost_shapes_are_one_finding(scenes: Scenes) -> None:
    lost = [box(200 + 20 * k, 0, 210 + 20 * k, 9) for k in range(3)]
    (found,) = _findings(scenes, [scenes.ground(), *lost])
    assert found.message.startswith("path 's1' and 2 more lie ")


def test_what_is_cut_off_at_the_rim_is_told_with_its_area(scenes: Scenes) -> None:
    (found,) = _findings(scenes, [scenes.ground(), box(90, 20, 110, 40)])
    assert (found.code, found.severity) == ("off-panel", "info")
    assert "200.0 mm²" in found.message


def test_a_shape_under_the_frame_is_never_seen(scenes: Scenes) -> None:
    found = _findings(scenes, [scenes.ground()], [box(0, 60, 100, 100), box(1, 1, 5, 5)])
    assert [finding.code for finding in found] == ["under-frame"]
    assert found[0].element == "path 's1'"


def test_a_layer_that_others_cover_is_told(scenes: Scenes) -> None:
    (found,) = _findings(scenes, [scenes.ground()], [box(0, 0, 30, 30)], [box(0, 0, 40, 40)])
    assert (found.code, found.layer) == ("layer-unseen", "l1")


def test_an_island_is_an_error_with_its_place_and_size(scenes: Scenes) -> None:
    (found,) = _findings(scenes, [scenes.ground()], [box(40, 40, 60, 50)])
    assert (found.code, found.severity, found.layer, found.element) == ("island", "error", "l1", "path 's0'")
    assert found.size_mm == (20, 10)
    assert "l1-1, 20.0 x 10.0 mm" in found.message


def test_a_neck_is_an_error_with_its_width(scenes: Scenes) -> None:
    (found,) = _findings(scenes, [scenes.ground()], [Point(50, 50).buffer(10), box(0, 49.5, 45, 50.5)])
    assert (found.code, found.severity) == ("neck", "error")
    assert found.size_mm == pytest.approx((1.0,), abs=0.01)
    assert "1.00 mm wide; the limit is 1.5 mm" in found.message


def test_an_empty_layer_and_an_empty_shape_are_no_fault_of_ours(scenes: Scenes) -> None:
    assert _findings(scenes, [scenes.ground()], []) == []
    assert _findings(scenes, [scenes.ground()], [Polygon()]) == []


def test_faces_and_visible_regions_lie_in_the_interior(scenes: Scenes) -> None:
    stack = scenes.stack(scenes.drawing([box(-50, -50, 150, 50)], [box(50, 0, 200, 200)]))
    for layer in stack.layers:
        for region in (layer.face, layer.visible, layer.opening, layer.hidden):
            assert shapely.difference(region, stack.panel.interior).area < 1e-9
        assert shapely.difference(layer.wood, stack.panel.outline).area < 1e-9


def test_all_ties_of_a_piece_have_one_paint_of_its_own(scenes: Scenes) -> None:
    """A beam of blue with a red end and a green one: its ties touch one end each, and have one of its colours, both
    the same."""
    beam = scenes.shape(box(15, 40, 85, 46), colour="#224488")
    ends = [scenes.shape(box(15, 40, 19, 46), colour="#cc2222"), scenes.shape(box(81, 40, 85, 46), colour="#22cc22")]
    layer = scenes.stack(scenes.drawing([scenes.ground()], [beam, *ends]), "islands.policy=tie").layers[1]
    assert len(layer.ties) == 2
    around = [part for tie in layer.ties for part in layer.painted if part.region.distance(tie.region) < 0.01]
    assert {"#cc2222", "#22cc22"} <= {part.paint.colour for part in around}  # what they touch
    paints = {
        part.paint.colour for tie in layer.ties for part in layer.painted if part.region.covers(Point(tie.at_mm))
    }
    assert len(paints) == 1
    assert paints <= {"#224488", "#cc2222", "#22cc22"}
