"""Paint of pieces that left their sheets: what is seen stays what was drawn, or shows what was drawn deeper."""

from pathlib import Path

import pytest
import shapely

from layercut.colour.bare import PLYWOOD
from layercut.drawing import read_drawing
from layercut.job import load_job
from layercut.model import Made, Paint, Stack
from layercut.pipeline import compile_drawing, plan_stack

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
SKY = '<g id="sky"><rect width="100" height="80" fill="#8080ff"/></g>'
HILL = '<g id="hill"><rect y="40" width="100" height="40" fill="#008000"/></g>'
KITE = '<rect id="kite" x="30" y="15" width="20" height="20" fill="#fff" opacity=".6"/>'
SHADE = '<rect id="shade" x="40" y="10" width="40" height="15" fill="#000" opacity=".25"/>'
MIST = '<g id="mist"><rect x="20" y="20" width="20" height="40" fill="#ff0" opacity=".3"/></g>'
SCENES = {
    "translucent wood": f'{SKY}{HILL}<g id="front">{KITE}</g>',
    "its own layer's glaze upon it": f'{SKY}{HILL}<g id="front">{KITE}{SHADE}</g>',
    "a glaze of a layer in front": f'{SKY}{HILL}<g id="front">{KITE}</g>{MIST}',
    "opaque wood under a glaze": f'{SKY}{HILL}<g id="front">{KITE.replace(".6", "1")}{SHADE}</g>{MIST}',
    "an opening drawn before it": (
        f'{SKY}<g id="front"><rect y="60" width="100" height="20" fill="#333"/>'
        f'<rect id="opening" x="30" y="15" width="30" height="10"/>{KITE}</g>'
    ),
    "before two sheets": f'{SKY}{HILL}<g id="front">{KITE.replace("""y="15" """, """y="30" """)}{SHADE}</g>{MIST}',
}
PLACES = [(x + 0.3, y + 0.3) for x in range(7, 93, 5) for y in range(7, 73, 5)]


def stack_of(body: str, folder: Path, policy: str) -> Stack:
    path = folder / "picture.svg"
    path.write_text(f"{HEAD}{body}</svg>", encoding="utf-8")
    job = load_job(None, ["panel.frame=5mm", "islands.policy=loose", f"islands.pieces.kite={policy}"])
    return plan_stack(read_drawing(path, job), job)


def seen_at(stack: Stack, x: float, y: float) -> Paint:
    """The paint of the sheet that shows there; bare wood where none is painted."""
    point = shapely.Point(x, y)
    for layer in reversed(stack.layers):
        if layer.visible.contains(point):
            (found,) = [part.paint for part in layer.painted if part.region.contains(point)]
            return found
    back = [part.paint for part in stack.layers[0].painted if part.region.contains(point)]
    return back[0] if back else Paint(PLYWOOD)


@pytest.mark.parametrize("scene", SCENES)
def test_what_is_painted_behind_looks_as_it_was_drawn(tmp_path: Path, scene: str) -> None:
    drawn, moved = (stack_of(SCENES[scene], tmp_path, policy) for policy in ("loose", "behind"))
    assert any(layer.guests for layer in moved.layers)
    assert not any(layer.guests for layer in drawn.layers)
    for x, y in PLACES:
        assert seen_at(moved, x, y).colour == seen_at(drawn, x, y).colour, (x, y)


@pytest.mark.parametrize("scene", SCENES)
def test_what_is_left_out_shows_what_was_drawn_deeper(tmp_path: Path, scene: str) -> None:
    """Within the piece there is nothing of its own layer, so the drawing without that layer tells what shows."""
    gone = stack_of(SCENES[scene], tmp_path, "out")
    before, _, rest = SCENES[scene].partition('<g id="front">')
    without = stack_of(f'{before}<g id="front"></g>{rest.partition("</g>")[2]}', tmp_path, "out")
    (guest,) = [guest for layer in gone.layers for guest in layer.given]
    inside = [place for place in PLACES if guest.region.contains(shapely.Point(place))]
    assert inside
    for x, y in inside:
        assert seen_at(gone, x, y).colour == seen_at(without, x, y).colour, (x, y)


@pytest.mark.parametrize("scene", SCENES)
def test_painted_regions_of_a_sheet_don_t_overlap(tmp_path: Path, scene: str) -> None:
    for layer in stack_of(SCENES[scene], tmp_path, "behind").layers:
        parts = [part.region for part in layer.painted]
        assert sum(part.area for part in parts) == pytest.approx(shapely.union_all(parts).area, abs=1e-6)
        assert shapely.difference(layer.visible, shapely.union_all(parts)).area < 1e-3


def test_a_glazed_guest_is_proven(tmp_path: Path) -> None:
    (tmp_path / "picture.svg").write_text(f"{HEAD}{SCENES['a glaze of a layer in front']}</svg>", encoding="utf-8")
    job = load_job(None, ["panel.frame=5mm", "islands.policy=behind"])
    build = compile_drawing(tmp_path / "picture.svg", job)
    assert isinstance(build, Made)
    assert build.proof.stack_mismatch_mm2 == 0
