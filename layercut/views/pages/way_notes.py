"""Where blends run, for the painter: in words, and as arrows with ticks at 0, 50 and 100 %.

Enters: colours and runs of the paint plan. Leaves: words in the reader's units, and SVG elements. Holds: places are
from the panel's top left corner; an arrow never leaves the panel; its numbers are strokes, so that they need no font,
and hide no small part.
"""

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from layercut.model import Panel
from layercut.units import Units
from layercut.views.pages.map_ground import Box, Ground
from layercut.views.svg_text import number, stroke_digits
from layercut.workplan import (
    BARE_WOOD,
    BlendDirection,
    BlendStop,
    Colour,
    LaidCoat,
    PaintedPart,
    PaintPlan,
    Place,
    Run,
    SheetPaint,
)

MOST_ARROWS = 40
"""Arrows on one map, those of the largest regions."""

MOST_TOLD = 4
"""Regions of one blend on a sheet whose ways are told in words, the largest."""

LEAST_ARROW_MM = 4.0
"""An arrow shorter than this has no room for its ticks, mm."""

PEN_MM, HALO_MM, TICK_MM, LETTER_MM = 0.25, 0.7, 1.6, 2.0
"""The arrow's line, the white around it, a tick's half length, the height of its figures; mm on paper."""

LEVEL_DEG = 1.0
"""Within this of straight down or level, a way is called so."""

ROUND = 1.02
"""A blend whose axes differ by no more than this factor is round."""

_SIDES = {(0, 1): "straight down", (0, -1): "straight up", (1, 0): "to the right", (-1, 0): "to the left"}


def made_of(colour: Colour, plan: PaintPlan) -> str:
    """What a paint is laid from and on, as `blend 7 over blend 3` or `over no. 5`; empty for one by itself."""
    layers = " over ".join(_coat_words(coat, plan) for coat in reversed(colour.laid))
    if colour.over is None or (colour.laid and colour.laid[0] == LaidCoat(colour.over)):
        return layers
    ground = "bare wood" if colour.over == BARE_WOOD else f"no. {colour.over}"
    return f"{layers}, a glaze over {ground}" if layers else f"a glaze over {ground}"


def _coat_words(coat: LaidCoat, plan: PaintPlan) -> str:
    kind = "blend" if plan.colour(coat.number).blend else "no."
    thin = f" at {100 * coat.opacity:.0f} %" if coat.opacity < 1 else ""
    return f"{kind} {coat.number}{thin}{' (faded by a mask)' if coat.masked else ''}"


def stop_words(stop: BlendStop) -> str:
    """A stop's colour and how much it covers."""
    if stop.opacity >= 1:
        return stop.colour
    return "clear" if stop.opacity <= 0 else f"{stop.colour} covering {100 * stop.opacity:.0f} %"


def needed_numbers(plan: PaintPlan, numbers: Iterable[int]) -> set[int]:
    """The numbers of some paints, and of all that they are laid from and lie on."""
    needed: set[int] = set()
    new = set(numbers)
    while new:
        needed |= new
        colours = [plan.colour(paint) for paint in new]
        new = {coat.number for colour in colours for coat in colour.laid}
        new |= {colour.over for colour in colours if colour.over}
        new -= needed
    return needed


def part_words(part: PaintedPart, plan: PaintPlan, panel: Panel, units: Units) -> list[str]:
    """Where the blends of a part run: of its largest regions, and how many more there are."""
    told = [words for run in part.runs[:MOST_TOLD] for words in run_words(run, plan, panel, units)]
    more = len(part.runs) - MOST_TOLD
    if more > 0:
        told.append(f"{more} more {'region' if more == 1 else 'regions'}, each as its own way runs")
    return told


def run_words(run: Run, plan: PaintPlan, panel: Panel, units: Units) -> tuple[str, ...]:
    """Where a run's blends run, a sentence each, the top one first. Empty where nobody followed it."""
    several = len(run.ways) > 1
    return tuple(
        (f"blend {way.number}: " if several else "") + way_words(way, plan.colour(way.number), panel, units)
        for way in run.ways
    )


def way_words(way: BlendDirection, colour: Colour, panel: Panel, units: Units) -> str:
    """Where one gradient runs: `top (12 mm) #1f3892 to bottom (180 mm) #000000, straight down`."""
    words = _straight_words(way, colour, panel, units) if way.kind == "linear" else _round_words(way, colour, units)
    again = {"pad": "", "repeat": ", over and over", "reflect": ", there and back again"}
    return words + again[way.spread]


def _straight_words(way: BlendDirection, colour: Colour, panel: Panel, units: Units) -> str:
    low, high = way.within(panel.width_mm, panel.height_mm) or (0.0, 1.0)
    side = _side(way)
    start = _end_words(way, low, side, colour, units)
    end = _end_words(way, high, (-side[0], -side[1]), colour, units)
    return f"{start} to {end}, {_heading(way)}"


def _end_words(way: BlendDirection, share: float, towards: tuple[int, int], colour: Colour, units: Units) -> str:
    """One end: its side of the blend, its place, its colour; how far along it is where the panel ends before."""
    x, y = way.at(share)
    across, down = towards
    name = " ".join(filter(None, (("", "top", "bottom")[down], ("", "left", "right")[across])))
    place = _length(y, units) if not across else _length(x, units) if not down else _place((x, y), units)
    part = "" if share in (0.0, 1.0) else f", {100 * share:.0f} %"
    return f"{name} ({place}{part}) {stop_words(stop_at(colour.blend, share))}"


def _round_words(way: BlendDirection, colour: Colour, units: Units) -> str:
    start, end = (stop_words(stop_at(colour.blend, share)) for share in (0.0, 1.0))
    (x, y), (long, short) = way.middle_mm, way.axes_mm
    size = _length(short, units)
    if long > ROUND * short:
        size = f"{_length(long, units).removesuffix(f' {units.name}')} by {size}"
    fx, fy = way.from_mm
    middle, focus = _place((x, y), units), _place((fx, fy), units)
    if math.hypot(fx - x, fy - y) <= 0.02 * short:
        return f"round: middle ({middle}) {start} to a radius of {size} {end}"
    return f"round: from ({focus}) {start} to a radius of {size} around ({middle}) {end}"


def stop_at(stops: tuple[BlendStop, ...], share: float) -> BlendStop:
    """The colour of a blend at a share of its way, between its stops as drawn: in sRGB."""
    if share <= stops[0].offset:
        return stops[0]
    for left, right in itertools.pairwise(stops):
        if share < right.offset:
            part = (share - left.offset) / (right.offset - left.offset)
            pairs = zip(bytes.fromhex(left.colour[1:]), bytes.fromhex(right.colour[1:]), strict=True)
            mixed = bytes(round(one + part * (other - one)) for one, other in pairs)
            opacity = left.opacity + part * (right.opacity - left.opacity)
            return BlendStop(share, f"#{mixed.hex()}", None, opacity)
    return stops[-1]


def _angle(way: BlendDirection) -> float:
    """Where it heads: degrees from level, down positive, -180 to 180."""
    (x0, y0), (x1, y1) = way.from_mm, way.to_mm
    return math.degrees(math.atan2(y1 - y0, x1 - x0))


def _side(way: BlendDirection) -> tuple[int, int]:
    """The side of the blend where it begins: -1 for left or top, 1 for right or bottom, 0 for neither."""
    angle = math.radians(_angle(way))
    least = math.sin(math.radians(LEVEL_DEG))

    def sign(value: float) -> int:
        return 0 if abs(value) < least else int(math.copysign(1, value))

    # Indices into ("", first, last): the middle is 0, the first 1, the last -1.
    return sign(math.cos(angle)), sign(math.sin(angle))


def _heading(way: BlendDirection) -> str:
    across, down = _side(way)
    if (across, down) in _SIDES:
        return _SIDES[across, down]
    off = abs(_angle(way))
    level = off if off <= 90 else 180 - off
    return f"{'down' if down > 0 else 'up'} to the {'right' if across > 0 else 'left'}, {level:.0f}° off level"


def _length(value_mm: float, units: Units) -> str:
    """A distance as a painter needs it: whole mm from 10 mm on."""
    return units.length(value_mm) if units.imperial else f"{_mm(value_mm)} mm"


def _place(at: Place, units: Units) -> str:
    return units.place(*at) if units.imperial else f"{_mm(at[0])}, {_mm(at[1])} mm"


def _mm(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 10 else number(round(value, 1))


@dataclass(frozen=True, slots=True)
class Arrow:
    """An arrow as SVG elements, and the boxes of its figures, mm."""

    elements: tuple[str, ...]
    figures: tuple[Box, ...]


def arrow_runs(sheet: SheetPaint) -> list[BlendDirection]:
    """The gradients of a sheet that have an arrow: those of its largest runs, each once."""
    runs = sorted((run for part in sheet.parts for run in part.runs), key=lambda run: -run.region.area)
    ways = {(way.from_mm, way.to_mm): way for run in runs for way in run.ways}
    return list(ways.values())[:MOST_ARROWS]


def arrows(sheet: SheetPaint, panel: Panel, ink: str, ground: Ground, scale: float = 1.0) -> list[Arrow]:
    """An arrow for each gradient of a sheet's largest runs, from 0 % to 100 %, as far as it lies on the panel.

    Pens and figures are `scale` times as large as on paper at full size. A figure that has no room is left out.
    """
    drawn: list[Arrow] = []
    taken: list[Box] = []
    for way in arrow_runs(sheet):
        arrow = _arrow(way, ink, _Pen(panel, ground, scale, tuple(taken)))
        if arrow:
            drawn.append(arrow)
            taken += arrow.figures
    return drawn


@dataclass(frozen=True, slots=True)
class _Pen:
    """What an arrow is drawn upon, how large its pens are, and the figures that stand there already."""

    panel: Panel
    ground: Ground
    scale: float
    taken: tuple[Box, ...]


def _arrow(way: BlendDirection, ink: str, pen: _Pen) -> Arrow | None:
    shares = way.within(pen.panel.width_mm, pen.panel.height_mm)
    if shares is None:
        return None
    low, high = shares
    (x0, y0), (x1, y1) = way.at(low), way.at(high)
    length = math.hypot(x1 - x0, y1 - y0)
    if length < LEAST_ARROW_MM * pen.scale:
        return None
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    along, aside, tick = 1.6 * pen.scale, 0.8 * pen.scale, TICK_MM * pen.scale
    head = (
        f"M{number(x1 - along * ux - aside * uy)} {number(y1 - along * uy + aside * ux)}L{number(x1)} {number(y1)}"
        f"L{number(x1 - along * ux + aside * uy)} {number(y1 - along * uy - aside * ux)}"
    )
    ticks = [(percent, way.at(percent / 100)) for percent in (0, 50, 100) if low <= percent / 100 <= high]
    strokes = "".join(_tick(x, y, tick * uy, tick * ux) for _, (x, y) in ticks)
    path = f"M{number(x0)} {number(y0)}L{number(x1)} {number(y1)}{head}{strokes}"
    lines = tuple(
        f'<path fill="none" stroke="{colour}" stroke-width="{number(width * pen.scale)}" stroke-linecap="round" '
        f'd="{path}"/>'
        for colour, width in (("#ffffff", HALO_MM), (ink, PEN_MM))
    )
    figures: list[tuple[str, Box]] = []
    for percent, place in ticks:
        figures += _figure(percent, place, (ux, uy), pen, [box for _, box in figures])
    shown = f'<g stroke="{ink}">{"".join(text for text, _ in figures)}</g>'
    return Arrow((*lines, shown), tuple(box for _, box in figures))


def _tick(x: float, y: float, across: float, down: float) -> str:
    return f"M{number(x - across)} {number(y + down)}L{number(x + across)} {number(y - down)}"


def _figure(percent: int, place: Place, along: Place, pen: _Pen, others: list[Box]) -> list[tuple[str, Box]]:
    """The figure of a tick beside it, on white, and on the panel, with its box; none where it would hide a part."""
    letter, tick = LETTER_MM * pen.scale, TICK_MM * pen.scale
    wide, high = letter * (0.93 * len(str(percent)) + 0.5), 1.5 * letter
    for right, down in ((1, -1), (-1, -1), (1, 1), (-1, 1)):
        x = place[0] + right * (tick + wide / 2 + 0.2) * abs(along[1])
        y = place[1] + down * (tick + high / 2) * abs(along[0])
        x = min(max(x, wide / 2), pen.panel.width_mm - wide / 2)
        y = min(max(y, high / 2), pen.panel.height_mm - high / 2)
        box = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
        if not pen.ground.hides(np.array([box]))[0] and not any(_meet(box, one) for one in (*pen.taken, *others)):
            return [(figure_svg(percent, (x, y), (wide, high), letter), box)]
    return []


def figure_svg(value: int, at: Place, size_mm: tuple[float, float], height_mm: float) -> str:
    """A number at a place on a white box of a size, its figures of a height, all mm."""
    wide, high = size_mm
    return (
        f'<g transform="translate({number(at[0])} {number(at[1])})"><rect fill="#ffffff" stroke="none" '
        f'fill-opacity=".85" x="{number(-wide / 2)}" y="{number(-high / 2)}" width="{number(wide)}" '
        f'height="{number(high)}" rx="{number(high / 4)}"/>{stroke_digits(value, height_mm)}</g>'
    )


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
