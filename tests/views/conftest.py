"""Small builds made by hand, for the views."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from builds import build_made
from shapely import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from layercut.findings import Finding, in_order
from layercut.geometry.regions import EMPTY, as_region
from layercut.job import Job
from layercut.model import (
    Drawing,
    Island,
    Layer,
    Made,
    OrderedSheet,
    Paint,
    PaintedRegion,
    Panel,
    Planned,
    Sheet,
    Stack,
    StackLayer,
)
from layercut.sheets.smoothing import smooth_sheets
from layercut.workplan import BurnTimes

SKY, HILL, HOUSE, DOOR = Paint("#88aacc"), Paint("#4c7a34"), Paint("#b0483a"), Paint("#e8c060")

MakeBuild = Callable[..., Made]
PlanBuild = Callable[..., Planned]


@pytest.fixture
def make_build() -> MakeBuild:
    """A panel of 120 x 90 mm with a frame of 10 mm and one pin: a sky, a hill over its lower half, and a house."""
    return _make_build


@pytest.fixture
def plan_build() -> PlanBuild:
    """The same with a piece of the house's sheet that nothing holds, which is why nothing is cut."""
    return _plan_build


def _make_build(
    *,
    names: tuple[str, ...] = ("sky", "hill", "house"),
    sky: Paint = SKY,
    findings: tuple[Finding, ...] = (),
    file: str = "cottage.svg",
) -> Made:
    drawing, stack = _stack_of(names, sky, file, ())
    outline, (pin,) = stack.panel.outline, stack.panel.pins
    sheets = tuple(_sheet(place, layer, outline, pin) for place, layer in enumerate(stack.layers, start=1))
    return build_made(drawing, stack, sheets, Job(), findings)


def _plan_build(*, findings: tuple[Finding, ...] = ()) -> Planned:
    island = Island("house#1", box(90, 20, 96, 24), (93.0, 22.0), 24.0, "path 'bird'")
    drawing, stack = _stack_of(("sky", "hill", "house"), SKY, "cottage.svg", (island,))
    return Planned(drawing, Job(), stack, in_order(findings, drawing.layer_names))


def _stack_of(names: tuple[str, ...], sky: Paint, file: str, islands: tuple[Island, ...]) -> tuple[Drawing, Stack]:
    outline, interior, pin = box(0, 0, 120, 90), box(10, 10, 110, 80), box(4, 44, 6, 46)
    panel = Panel(
        120.0, 90.0, 10.0, outline, interior, Polygon(outline.exterior, [interior.exterior, pin.exterior]), (pin,)
    )
    hill, house, door = box(10, 50, 110, 80), box(40, 30, 80, 80), box(55, 60, 65, 80)
    # Two paints reach under the frame and beyond the panel, as drawings often do.
    below = box(40, 80, 80, 95)
    painted = (
        (PaintedRegion(sky, box(-5, -5, 125, 95)),),
        (PaintedRegion(HILL, hill),),
        (PaintedRegion(HOUSE, as_region((house | below) - door)), PaintedRegion(DOOR, door)),
    )
    woods = (as_region(outline - pin), as_region(panel.frame | hill), as_region(panel.frame | house))
    layers = tuple(
        StackLayer(name, _face(paints), EMPTY, EMPTY, EMPTY, wood, paints, islands if name == names[-1] else ())
        for name, paints, wood in zip(names, painted, woods, strict=True)
    )
    drawing = Drawing(file, "0" * 64, 120.0, 90.0, tuple(Layer(name, ()) for name in names))
    return drawing, Stack(panel, layers, EMPTY)


def _face(paints: tuple[PaintedRegion, ...]) -> BaseGeometry:
    face: BaseGeometry = EMPTY
    for paint in paints:
        face = face | paint.region
    return face


def _sheet(place: int, layer: StackLayer, outline: Polygon, pin: Polygon) -> Sheet:
    ordered = OrderedSheet(
        name=layer.name,
        kind="layer",
        file=f"sheets/0{place}.svg",
        copies=1,
        wood=layer.wood,
        mark_areas=(),
        mark_lines=(LineString([(45, 40), (75, 40)]),) if place == 3 else (),
        openings=(pin,),
        outline=outline,
    )
    (sheet,) = smooth_sheets([ordered], Job())
    times = BurnTimes(openings_s=40.4 * place, rim_s=40.4 * place, travel_s=9.2 * place)
    return replace(sheet, travel_mm=100.0, times=times)
