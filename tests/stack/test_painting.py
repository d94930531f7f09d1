"""What shows on each sheet where paint lets something through: colours by hand, and laws of the regions."""

import random
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import shapely

from layercut.colour.bare import PLYWOOD
from layercut.colour.folding import fold, hex_of, rgb_of
from layercut.colour.washes import FlatWash, GradedWash
from layercut.drawing import read_drawing
from layercut.geometry.precision import GRID_MM
from layercut.job import load_job
from layercut.model import Drawing, Paint, PaintedRegion, Stack
from layercut.pipeline import plan_stack
from layercut.stack import painting

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
JOB = load_job(None, ["panel.frame=5mm", "islands.policy=loose"])
SKY = '<g id="sky"><rect width="100" height="80" fill="#8080ff"/></g>'
HILL = '<g id="hill"><rect y="40" width="100" height="40" fill="#008000"/></g>'


def read(body: str, folder: Path) -> Drawing:
    path = folder / "picture.svg"
    path.write_text(f"{HEAD}{body}</svg>", encoding="utf-8")
    return read_drawing(path, JOB)


def stack_of(body: str, folder: Path) -> Stack:
    return plan_stack(read(body, folder), JOB)


def paint_at(painted: Sequence[PaintedRegion], x: float, y: float) -> Paint:
    (found,) = [part.paint for part in painted if part.region.contains(shapely.Point(x, y))]
    return found


def over(*coats: tuple[str, float]) -> str:
    (wash,) = fold([FlatWash(rgb_of(colour), opacity) for colour, opacity in coats], rgb_of(PLYWOOD))
    assert isinstance(wash, FlatWash)
    return hex_of(wash.colour)


def test_a_glaze_colours_wood_on_every_sheet_that_is_seen_through_it(tmp_path: Path) -> None:
    shadow = '<g id="front"><rect x="20" y="70" width="9" height="10" fill="#f00"/>'
    shadow += '<rect id="shadow" x="40" y="20" width="20" height="40" fill-opacity=".25"/></g>'
    stack = stack_of(SKY + HILL + shadow, tmp_path)
    sky, hill, front = (layer.painted for layer in stack.layers)
    assert paint_at(sky, 50, 30) == Paint(over(("#8080ff", 1), ("#000000", 0.25)), under=Paint("#8080ff"))
    assert paint_at(hill, 50, 50) == Paint(over(("#008000", 1), ("#000000", 0.25)), under=Paint("#008000"))
    assert paint_at(sky, 30, 30) == Paint("#8080ff")
    assert paint_at(hill, 30, 50) == Paint("#008000")
    assert [part.paint.colour for part in front] == ["#ff0000"]


def test_bare_wood_under_a_glaze_is_painted_on_the_back_sheet(tmp_path: Path) -> None:
    glaze = '<g id="front"><rect x="40" y="40" width="20" height="40" fill="#f00"/>'
    glaze += '<rect x="20" y="20" width="30" height="50" fill="#00f" fill-opacity=".4"/></g>'
    stack = stack_of('<g id="back"><rect width="30" height="80" fill="#0f0"/></g>' + glaze, tmp_path)
    back = stack.layers[0].painted
    assert paint_at(back, 35, 30) == Paint(over(("#0000ff", 0.4)), under=Paint(PLYWOOD))
    assert paint_at(back, 25, 30).under == Paint("#00ff00")
    assert not any(part.region.contains(shapely.Point(70, 30)) for part in back)


def test_translucent_wood_shows_what_lies_behind_it(tmp_path: Path) -> None:
    pane = '<g id="pane"><rect x="30" y="10" width="40" height="60" fill="#fff" opacity=".6"/></g>'
    layer = stack_of(SKY + HILL + pane, tmp_path).layers[2]
    assert paint_at(layer.painted, 50, 20) == Paint(over(("#8080ff", 1), ("#ffffff", 0.6)))
    assert paint_at(layer.painted, 50, 60) == Paint(over(("#008000", 1), ("#ffffff", 0.6)))
    assert layer.visible.area == pytest.approx(40 * 60, abs=0.1)


def test_a_group_lets_through_as_one(tmp_path: Path) -> None:
    group = '<g id="pair"><g opacity=".5"><rect x="20" y="20" width="30" height="30" fill="#f00"/>'
    group += '<rect x="40" y="20" width="30" height="30" fill="#0f0"/></g></g>'
    layer = stack_of(SKY + group, tmp_path).layers[1]
    assert paint_at(layer.painted, 30, 30).colour == over(("#8080ff", 1), ("#ff0000", 0.5))
    assert paint_at(layer.painted, 45, 30).colour == over(("#8080ff", 1), ("#00ff00", 0.5))
    assert len(layer.painted) == 2  # where they overlap it is the same green


def test_flat_over_a_gradient_is_one_blend_and_a_blend_over_it_a_stack(tmp_path: Path) -> None:
    stops = '<stop stop-color="#f80"/><stop offset="1" stop-color="#008"/>'
    fading = '<stop stop-color="#fff" stop-opacity=".4"/><stop offset="1" stop-color="#0ff" stop-opacity="0"/>'
    gradients = f'<linearGradient id="a" x2="0" y2="1">{stops}</linearGradient>'
    gradients += f'<radialGradient id="b">{fading}</radialGradient>'
    body = gradients + SKY.replace("#8080ff", "url(#a)")
    body += '<g id="front"><rect x="10" y="60" width="80" height="20" fill="#333"/>'
    body += '<rect x="20" y="10" width="20" height="20" opacity=".3"/>'
    body += '<circle cx="70" cy="30" r="15" fill="url(#b)"/></g>'
    sky = stack_of(body, tmp_path).layers[0].painted
    (shade,) = paint_at(sky, 30, 20).washes
    assert isinstance(shade, GradedWash)
    assert [hex_of(stop.colour) for stop in shade.gradient.stops] == ["#b25f00", "#00005f"]
    plain = paint_at(sky, 10, 20)
    assert paint_at(sky, 30, 20).under == plain
    assert paint_at(sky, 70, 30).washes == (*plain.washes, *paint_at(sky, 70, 30).washes[1:])
    assert len(paint_at(sky, 70, 30).washes) == 2


def test_an_opening_takes_a_layers_own_paint_away(tmp_path: Path) -> None:
    wall = '<g id="wall"><rect x="10" y="10" width="80" height="60" fill="#999" opacity=".8"/>'
    wall += '<rect id="opening" x="40" y="30" width="20" height="20"/>'
    wall += '<rect x="35" y="40" width="30" height="20" fill="#00f" opacity=".3"/></g>'
    stack = stack_of(SKY + wall, tmp_path)
    assert paint_at(stack.layers[0].painted, 50, 35) == Paint("#8080ff")
    assert paint_at(stack.layers[0].painted, 50, 45).colour == over(("#8080ff", 1), ("#0000ff", 0.3))
    wall_coats = (("#8080ff", 1.0), ("#999999", 0.8))
    assert paint_at(stack.layers[1].painted, 20, 20).colour == over(*wall_coats)
    assert paint_at(stack.layers[1].painted, 50, 55).colour == over(*wall_coats, ("#0000ff", 0.3))


def test_marks_are_those_of_the_drawing_without_its_glazes(tmp_path: Path) -> None:
    glaze = '<rect x="20" y="20" width="40" height="40" opacity=".3"/>'
    two = '<g id="front"><rect y="50" width="50" height="30" fill="#f00"/>'
    two += '<rect x="50" y="50" width="50" height="30" fill="#ccc"/>'
    plain, glazed = stack_of(f"{SKY}{two}</g>", tmp_path), stack_of(f"{SKY}{two}{glaze}</g>", tmp_path)
    for one, other in zip(plain.layers, glazed.layers, strict=True):
        assert one.coloured == other.coloured
        assert one.wood.equals(other.wood)
    assert len(glazed.layers[1].painted) == 4


def test_without_translucent_paint_faces_are_left_alone(tmp_path: Path) -> None:
    layers = stack_of(SKY + HILL, tmp_path).layers
    assert all(layer.painted is layer.coloured for layer in layers)


def random_body(seed: int) -> str:
    rng = random.Random(seed)
    layers = []
    for number in range(3):
        shapes = []
        for _ in range(6):
            x, y, a, b = rng.uniform(-10, 80), rng.uniform(-10, 60), rng.uniform(5, 60), rng.uniform(5, 50)
            look = f'fill="#{rng.choice(["f00", "0a0", "00c", "fc0"])}" opacity="{rng.choice([0.2, 0.5, 0.8, 1])}"'
            turn = f'transform="rotate({rng.uniform(0, 90):.1f} {x:.1f} {y:.1f})"'
            shapes.append(f'<rect x="{x:.2f}" y="{y:.2f}" width="{a:.2f}" height="{b:.2f}" {look} {turn}/>')
        layers.append(f'<g id="l{number}" opacity="{rng.choice([1, 0.9])}">{"".join(shapes)}</g>')
    return "".join(layers)


@pytest.mark.parametrize("seed", range(6))
def test_painted_regions_tile_what_is_seen(seed: int, tmp_path: Path) -> None:
    for layer in stack_of(random_body(seed), tmp_path).layers:
        regions = [part.region for part in layer.painted]
        together = shapely.union_all(regions)
        assert all(region.is_valid and not region.is_empty for region in regions)
        assert sum(region.area for region in regions) == pytest.approx(together.area, abs=1e-6)
        # Both are on the grid, but not of one noding: a step apart at most.
        assert layer.visible.difference(together).area < GRID_MM * layer.visible.length
        looks = [part.paint.washes or part.paint.colour for part in layer.painted]
        assert len(looks) == len(set(looks))  # neighbours of one colour are one region


@pytest.mark.parametrize("seed", range(3))
def test_crowded_paint_is_spread_evenly(seed: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With room for few regions the picture is the same on the whole, and each sheet is told about."""
    rng = random.Random(seed)
    dots = "".join(
        f'<circle cx="{rng.uniform(10, 90):.2f}" cy="{rng.uniform(10, 55):.2f}" r="{rng.uniform(2, 9):.2f}" '
        f'fill="#{rng.randrange(1 << 24):06x}" opacity=".4"/>'
        for _ in range(80)
    )
    body = f'{SKY}<g id="front"><rect y="60" width="100" height="20" fill="#333"/>{dots}</g>'
    exact = stack_of(body, tmp_path)
    monkeypatch.setattr(painting, "MOST_REGIONS", 60)
    rough = stack_of(body, tmp_path)
    sky = rough.layers[0].painted
    assert sum(len(shapely.get_parts(part.region)) for part in sky) <= 60
    assert "paints-many" in [finding.code for finding in rough.findings]
    assert "paints-many" not in [finding.code for finding in exact.findings]
    # What is spread over a region counts as if its parts lay there by chance, so means are near, not equal.
    assert mean_of(sky) == pytest.approx(mean_of(exact.layers[0].painted), abs=0.04)
    assert shapely.union_all([part.region for part in sky]).area == pytest.approx(100 * 80)


def mean_of(painted: Sequence[PaintedRegion]) -> np.ndarray:
    areas = [part.region.area for part in painted]
    return np.average([rgb_of(part.paint.colour) for part in painted], axis=0, weights=areas)


def test_too_many_blends_over_each_other_become_their_mean(tmp_path: Path) -> None:
    glow = '<radialGradient id="g"><stop stop-color="#fff" stop-opacity=".4"/><stop offset="1" stop-color="#ff0" '
    glow += 'stop-opacity="0"/></radialGradient>'
    glows = "".join(f'<circle cx="{40 + n}" cy="40" r="30" fill="url(#g)"/>' for n in range(9))
    stack = stack_of(f'{glow}{SKY}<g id="f"><rect y="75" width="100" height="5"/>{glows}</g>', tmp_path)
    paint = paint_at(stack.layers[0].painted, 45, 40)
    assert paint.washes == ()
    deep = [finding for finding in stack.findings if finding.code == "paints-many"]
    assert [finding.layer for finding in deep] == ["sky"]
    # From white at 0.4 to clear yellow: 0.2 opaque in the mean, with two thirds of blue; laid nine times on the sky.
    expected = np.array(rgb_of("#8080ff"))
    for _ in range(9):
        expected += 0.2 * (np.array([1.0, 1.0, 2 / 3]) - expected)
    assert rgb_of(paint.colour) == pytest.approx(expected, abs=1 / 255)
    assert paint.under == Paint("#8080ff")
