"""Where blends run, for the painter: in words, and as arrows with ticks at 0, 50 and 100 %.

Enters: colours and runs of the paint plan. Leaves: words, and SVG elements. Holds: places are mm from the panel's top
left corner; an arrow never leaves the panel; its numbers are strokes, so that they need no font.
"""

import itertools
import math
from collections.abc import Iterable, Iterator

from layercut.model import Panel
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

PEN_MM, HALO_MM, TICK_MM, LETTER_MM = 0.25, 0.7, 1.6, 1.3
"""The arrow's line, the white around it, a tick's half length, the height of its figures; mm."""

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


def part_words(part: PaintedPart, plan: PaintPlan, panel: Panel) -> list[str]:
    """Where the blends of a part run: of its largest regions, and how many more there are."""
    told = [words for run in part.runs[:MOST_TOLD] for words in run_words(run, plan, panel)]
    more = len(part.runs) - MOST_TOLD
    if more > 0:
        told.append(f"{more} more {'region' if more == 1 else 'regions'}, each as its own way runs")
    return told


def run_words(run: Run, plan: PaintPlan, panel: Panel) -> tuple[str, ...]:
    """Where a run's blends run, a sentence each, the top one first. Empty where nobody followed it."""
    several = len(run.ways) > 1
    return tuple(
        (f"blend {way.number}: " if several else "") + way_words(way, plan.colour(way.number), panel)
        for way in run.ways
    )


def way_words(way: BlendDirection, colour: Colour, panel: Panel) -> str:
    """Where one gradient runs: `top (12 mm) #1f3892 to bottom (180 mm) #000000, straight down`."""
    words = _straight_words(way, colour, panel) if way.kind == "linear" else _round_words(way, colour)
    again = {"pad": "", "repeat": ", over and over", "reflect": ", there and back again"}
    return words + again[way.spread]


def _straight_words(way: BlendDirection, colour: Colour, panel: Panel) -> str:
    low, high = way.within(panel.width_mm, panel.height_mm) or (0.0, 1.0)
    side = _side(way)
    start, end = _end_words(way, low, side, colour), _end_words(way, high, (-side[0], -side[1]), colour)
    return f"{start} to {end}, {_heading(way)}"


def _end_words(way: BlendDirection, share: float, towards: tuple[int, int], colour: Colour) -> str:
    """One end: its side of the blend, its place, its colour; how far along it is where the panel ends before."""
    x, y = way.at(share)
    across, down = towards
    name = " ".join(filter(None, (("", "top", "bottom")[down], ("", "left", "right")[across])))
    place = _mm(y) if not across else _mm(x) if not down else f"{_mm(x)}, {_mm(y)}"
    part = "" if share in (0.0, 1.0) else f", {100 * share:.0f} %"
    return f"{name} ({place} mm{part}) {stop_words(stop_at(colour.blend, share))}"


def _round_words(way: BlendDirection, colour: Colour) -> str:
    start, end = (stop_words(stop_at(colour.blend, share)) for share in (0.0, 1.0))
    (x, y), (long, short) = way.middle_mm, way.axes_mm
    size = f"{_mm(long)} mm" if long <= ROUND * short else f"{_mm(long)} by {_mm(short)} mm"
    fx, fy = way.from_mm
    aside = math.hypot(fx - x, fy - y) > 0.02 * short
    if not aside:
        return f"round: middle ({_mm(x)}, {_mm(y)} mm) {start} to a radius of {size} {end}"
    return f"round: from ({_mm(fx)}, {_mm(fy)} mm) {start} to a radius of {size} around ({_mm(x)}, {_mm(y)} mm) {end}"


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


def _mm(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 10 else number(round(value, 1))


def arrows(sheet: SheetPaint, panel: Panel, ink: str) -> list[str]:
    """An arrow for each gradient of a sheet's largest runs, from 0 % to 100 %, as far as it lies on the panel."""
    runs = sorted((run for part in sheet.parts for run in part.runs), key=lambda run: -run.region.area)
    ways = {(way.from_mm, way.to_mm): way for run in runs for way in run.ways}
    return [arrow for way in list(ways.values())[:MOST_ARROWS] for arrow in _arrow(way, panel, ink)]


def _arrow(way: BlendDirection, panel: Panel, ink: str) -> Iterator[str]:
    shares = way.within(panel.width_mm, panel.height_mm)
    if shares is None:
        return
    low, high = shares
    (x0, y0), (x1, y1) = way.at(low), way.at(high)
    length = math.hypot(x1 - x0, y1 - y0)
    if length < LEAST_ARROW_MM:
        return
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    head = (
        f"M{number(x1 - 1.6 * ux - 0.8 * uy)} {number(y1 - 1.6 * uy + 0.8 * ux)}L{number(x1)} {number(y1)}"
        f"L{number(x1 - 1.6 * ux + 0.8 * uy)} {number(y1 - 1.6 * uy - 0.8 * ux)}"
    )
    ticks = [(percent, way.at(percent / 100)) for percent in (0, 50, 100) if low <= percent / 100 <= high]
    strokes = "".join(_tick(x, y, TICK_MM * uy, TICK_MM * ux) for _, (x, y) in ticks)
    path = f"M{number(x0)} {number(y0)}L{number(x1)} {number(y1)}{head}{strokes}"
    for colour, width in (("#ffffff", HALO_MM), (ink, PEN_MM)):
        look = f'fill="none" stroke="{colour}" stroke-width="{number(width)}" stroke-linecap="round"'
        yield f'<path {look} d="{path}"/>'
    figures = "".join(_figure(percent, place, (ux, uy), panel) for percent, place in ticks)
    yield f'<g stroke="{ink}">{figures}</g>'


def _tick(x: float, y: float, across: float, down: float) -> str:
    return f"M{number(x - across)} {number(y + down)}L{number(x + across)} {number(y - down)}"


def _figure(percent: int, place: Place, along: Place, panel: Panel) -> str:
    """The figure of a tick beside it, on white, and on the panel."""
    wide, high = LETTER_MM * (0.93 * len(str(percent)) + 0.5), 1.6 * LETTER_MM
    x, y = place[0] + (TICK_MM + wide / 2 + 0.2) * abs(along[1]), place[1] - (TICK_MM + high / 2) * abs(along[0])
    x = min(max(x, wide / 2), panel.width_mm - wide / 2)
    y = min(max(y, high / 2), panel.height_mm - high / 2)
    return (
        f'<g transform="translate({number(x)} {number(y)})"><rect fill="#ffffff" stroke="none" '
        f'fill-opacity=".85" x="{number(-wide / 2)}" y="{number(-high / 2)}" width="{number(wide)}" '
        f'height="{number(high)}" rx="{number(high / 4)}"/>{stroke_digits(percent, LETTER_MM)}</g>'
    )
