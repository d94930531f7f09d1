"""Laws that hold for every drawing: regions tile, nothing falls out unsaid, the same input gives the same bytes.

Scenes are drawn by hypothesis: boxes, discs, stars, rings and combs, on a coarse lattice so that edges coincide and
corners touch, some moved by a hair so that edges nearly coincide, some slivers, some beyond the panel.
"""

import itertools
import math
from collections.abc import Callable

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scenes import Scenes
from shapely import Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from layercut.geometry.precision import AREA_MM2, CUT_APART_MM, GRID_MM
from layercut.geometry.regions import union
from layercut.model import Drawing, Role, Shape, Stack
from layercut.sheets.kerf import find_cut_lines
from layercut.stack.hairlines import THREAD_MM

WIDTH, HEIGHT = 80.0, 60.0
SIZE = (WIDTH, HEIGHT)
HAIRS_MM = [0.0, 0.0, 0.0, 1e-6, 1e-5, 1e-4, 4e-4, 6e-4, 1e-3]
COLOURS = ["#aa0000", "#00aa00"]

law = settings(max_examples=30)
law_of_bench = settings(max_examples=15)
"""For laws that tests/bench/policies.py looks at too, on thousands of scenes."""

steps_x, steps_y = st.integers(-2, 16), st.integers(-2, 12)
hair = st.sampled_from(HAIRS_MM)


@st.composite
def boxes(draw: st.DrawFn) -> Polygon:
    x, y = 5 * draw(steps_x), 5 * draw(steps_y)
    return box(x, y, x + 5 * draw(st.integers(1, 12)), y + 5 * draw(st.integers(1, 10)))


@st.composite
def discs(draw: st.DrawFn) -> Polygon:
    centre = Point(5 * draw(steps_x), 5 * draw(steps_y))
    return centre.buffer(draw(st.sampled_from([0.05, 1.0, 5.0, 20.0])), draw(st.sampled_from([2, 8, 32])))


@st.composite
def stars(draw: st.DrawFn) -> Polygon:
    x, y, points = 5 * draw(steps_x), 5 * draw(steps_y), draw(st.integers(3, 8))
    radius, dent = draw(st.sampled_from([4.0, 12.0, 40.0])), draw(st.sampled_from([0.2, 0.5, 0.9]))
    turn = math.radians(draw(st.integers(0, 359)))
    reach = [radius * (dent if k % 2 else 1) for k in range(2 * points)]
    angles = [turn + math.pi * k / points for k in range(2 * points)]
    return Polygon([(x + r * math.cos(a), y + r * math.sin(a)) for r, a in zip(reach, angles, strict=True)])


@st.composite
def rings(draw: st.DrawFn) -> Polygon:
    centre, radius = Point(5 * draw(steps_x), 5 * draw(steps_y)), draw(st.sampled_from([3.0, 9.0, 25.0]))
    return centre.buffer(radius).difference(centre.buffer(radius - draw(st.sampled_from([0.01, 0.3, 1.4, 1.6, 2.9]))))


@st.composite
def combs(draw: st.DrawFn) -> BaseGeometry:
    x, y, tooth = 5 * draw(steps_x), 5 * draw(steps_y), draw(st.sampled_from([0.2, 1.0, 2.0]))
    teeth = [box(x + 3 * k, y, x + 3 * k + tooth, y + 25) for k in range(6)]
    return shapely.union_all([box(x, y, x + 20, y + 3), *teeth])


@st.composite
def slivers(draw: st.DrawFn) -> Polygon:
    x, y = 5 * draw(steps_x), 5 * draw(steps_y)
    thin = box(x, y, x + draw(st.sampled_from([1e-6, 1e-4, 5e-4, 1e-3, 0.01, 0.1])), y + 40)
    return affinity.rotate(thin, draw(st.sampled_from([0, 30, 45, 90])))


outlines = st.one_of(boxes(), boxes(), discs(), stars(), rings(), combs(), slivers())


@st.composite
def drawings(draw: st.DrawFn, scenes: Scenes) -> Drawing:
    """Two to four layers of one to four shapes; a shape may be a copy of an earlier one, a hair off."""
    pool: list[BaseGeometry] = []
    layers = []
    for number in range(draw(st.integers(2, 4))):
        shapes: list[Shape | BaseGeometry] = [box(0, 0, *SIZE)] if number == 0 and draw(st.booleans()) else []
        for _ in range(draw(st.integers(1, 4))):
            if pool and draw(st.integers(0, 3)) == 0:
                outline = affinity.translate(draw(st.sampled_from(pool)), draw(hair), draw(hair))
            else:
                outline = draw(outlines)
            pool.append(outline)
            role: Role = draw(st.sampled_from(["wood", "wood", "wood", "opening", "mark-area", "mark-line"]))
            geometry = outline.boundary if role == "mark-line" else outline
            shapes.append(scenes.shape(geometry, role, draw(st.sampled_from(COLOURS)), f"path 's{len(shapes)}'"))
        layers.append(shapes)
    return scenes.drawing(*layers, size=SIZE)


jobs = st.tuples(
    st.sampled_from([0, 0.05, 0.15]).map("material.kerf={}mm".format),
    st.sampled_from([0, 0.5, 1.5, 3]).map("limits.neck={}mm".format),
    st.sampled_from([0, 0.2, 1, 3]).map("limits.setback={}mm".format),
    st.sampled_from([0, 3, 30]).map("panel.corner={}mm".format),
)


def _shown(stack: Stack) -> list[BaseGeometry]:
    return [layer.visible for layer in stack.layers] + [stack.bare]


def _slack(stack: Stack) -> float:
    """What the grid may move: half a step along every boundary."""
    return GRID_MM / 2 * (stack.panel.interior.length + sum(region.length for region in _shown(stack))) + 1e-6


@law
@given(data=st.data())
def test_what_is_seen_tiles_the_interior(scenes: Scenes, data: st.DataObject) -> None:
    stack = scenes.stack(data.draw(drawings(scenes)), *data.draw(jobs))
    shown = _shown(stack)
    assert sum(region.area for region in shown) == pytest.approx(stack.panel.interior.area, abs=_slack(stack))
    assert union(shown).area == pytest.approx(sum(region.area for region in shown), abs=1e-5)
    for layer in stack.layers:
        for region in (layer.face, layer.visible, layer.opening, layer.hidden, layer.wood):
            assert region.is_valid
        assert layer.visible.intersection(layer.opening).area < 1e-6
        assert layer.wood.intersection(layer.opening).area < 1e-6
        assert shapely.difference(stack.panel.frame, layer.wood).area < _slack(stack)


@law
@given(data=st.data())
def test_what_is_seen_is_wood_and_hangs_on_the_frame_or_is_an_island(scenes: Scenes, data: st.DataObject) -> None:
    stack = scenes.stack(data.draw(drawings(scenes)), *data.draw(jobs))
    for layer in stack.layers:
        lost = shapely.difference(layer.visible, layer.wood)
        if lost.area >= AREA_MM2 + 1e-6 * layer.visible.length:  # threads and specks only, and never unsaid
            assert any(finding.code == "detail-lost" and finding.layer == layer.name for finding in stack.findings)
            assert all(part.area < AREA_MM2 or part.buffer(-THREAD_MM).is_empty for part in shapely.get_parts(lost))
        for piece in shapely.get_parts(layer.wood):
            framed = piece.intersects(stack.panel.outline.exterior)
            said = any(island.region.intersection(piece).area > 0 for island in layer.islands)
            assert framed or said or piece.area < AREA_MM2, (layer.name, piece.area, piece.bounds)
    told = [finding for finding in stack.findings if finding.code in ("island", "neck")]
    assert len(told) == sum(len(layer.islands) for layer in stack.layers)


@law
@given(data=st.data())
def test_no_stage_stumbles_over_a_drawing_that_can_be_read(scenes: Scenes, data: st.DataObject) -> None:
    drawing = data.draw(drawings(scenes))
    made = scenes.make(drawing, *data.draw(jobs))
    assert len(made.files) == len(drawing.layers)
    for sheet in made.sheets:
        assert all(ring.is_valid for ring in (*sheet.openings, sheet.outline))


@law_of_bench
@given(data=st.data())
def test_the_proof_holds(scenes: Scenes, data: st.DataObject) -> None:
    """What the files make is what was planned, but for openings that the kerf closed, which are told."""
    made = scenes.make(data.draw(drawings(scenes)), *data.draw(jobs))
    if {"opening-closes", "opening-pinches", "detail-lost"} & set(made.codes):
        return
    assert made.proof.stack_mismatch_mm2 <= AREA_MM2
    if not any(layer.islands for layer in made.stack.layers):
        assert made.proof.pieces_found == made.proof.pieces_planned == len(made.sheets)


@law_of_bench
@given(data=st.data())
def test_run_twice_the_bytes_are_the_same(scenes: Scenes, data: st.DataObject) -> None:
    drawing, job = data.draw(drawings(scenes)), data.draw(jobs)
    assert scenes.make(drawing, *job).files == scenes.make(drawing, *job).files


def _contested(wood: BaseGeometry, kerf_mm: float) -> BaseGeometry:
    """Where cut lines on the wood's side of two pieces would lie on each other, or over one another."""
    pieces = shapely.get_parts(wood)
    grown = shapely.buffer(pieces, kerf_mm / 2 + CUT_APART_MM, join_style="mitre")
    return shapely.union_all([a.intersection(b) for a, b in itertools.combinations(grown, 2)])


@law
@given(data=st.data())
def test_more_kerf_never_means_less_wood(scenes: Scenes, data: st.DataObject) -> None:
    """The region inside the beam's centre lines grows with the kerf, on every sheet.

    But between two pieces that are nearer than the beam is wide: there both can't grow, and the smaller gives way.
    """
    stack = scenes.stack(data.draw(drawings(scenes)))
    for layer in stack.layers:
        kept: BaseGeometry = Polygon()
        for kerf in (0, 0.1, 0.3, 1.0):
            lines = find_cut_lines(layer.wood, kerf, scenes.job("curves.tolerance=0.003mm").curves)
            wood = lines.outline
            for ring in sorted(lines.openings, key=lambda ring: -ring.area):
                wood = wood.symmetric_difference(ring)
            lost = shapely.difference(shapely.difference(kept, wood), _contested(layer.wood, kerf))
            assert lost.buffer(-0.002).area < AREA_MM2, (layer.name, kerf, lost.area)
            kept = wood


def _redrawn(drawing: Drawing, scenes: Scenes, move: Callable[[BaseGeometry], BaseGeometry]) -> Drawing:
    """The drawing with every shape moved."""
    layers = [
        [scenes.shape(move(shape.geometry), shape.role, shape.paint.colour, shape.element) for shape in layer.shapes]
        for layer in drawing.layers
    ]
    return scenes.drawing(*layers, size=SIZE)


def _mirrored(region: BaseGeometry) -> BaseGeometry:
    return affinity.scale(region, -1, 1, origin=(WIDTH / 2, HEIGHT / 2))


def _turned(region: BaseGeometry) -> BaseGeometry:
    return affinity.rotate(region, 180, origin=(WIDTH / 2, HEIGHT / 2))


@law
@given(data=st.data(), move=st.sampled_from([_mirrored, _turned]))
def test_a_mirrored_or_turned_drawing_makes_the_mirrored_or_turned_stack(
    scenes: Scenes, data: st.DataObject, move: Callable[[BaseGeometry], BaseGeometry]
) -> None:
    drawing, job = data.draw(drawings(scenes)), data.draw(jobs)
    stack, moved = scenes.stack(drawing, *job), scenes.stack(_redrawn(drawing, scenes, move), *job)
    for here, there in zip(_shown(stack), _shown(moved), strict=True):
        assert shapely.symmetric_difference(move(here), there).area <= _slack(stack) + AREA_MM2


@law
@given(data=st.data(), dx=st.integers(-3000, 3000), dy=st.integers(-3000, 3000))
def test_a_drawing_moved_by_grid_steps_moves_the_visible_regions(
    scenes: Scenes, data: st.DataObject, dx: int, dy: int
) -> None:
    """Shapes on the grid, with the panel's middle as a window that both drawings fill alike."""
    shapes = data.draw(st.lists(st.lists(boxes(), min_size=1, max_size=3), min_size=2, max_size=3))
    drawing = scenes.drawing(*shapes, size=SIZE)
    by = (dx * GRID_MM, dy * GRID_MM)
    moved = _redrawn(drawing, scenes, lambda region: affinity.translate(region, *by))
    window = box(10, 10, WIDTH - 10, HEIGHT - 10)
    for here, there in zip(scenes.stack(drawing).layers, scenes.stack(moved).layers, strict=True):
        expected = affinity.translate(here.visible, *by).intersection(
            affinity.translate(window, *by).intersection(window)
        )
        found = there.visible.intersection(affinity.translate(window, *by).intersection(window))
        assert shapely.symmetric_difference(expected, found).area < 1e-6
