"""What a picture of the stack shows, and where: the same for its SVG and for its pixels.

Enters: a `Build`. Leaves: the sheets as pieces, the picture's box, the light, the colours. Holds: mm; a drawing that
can't be made shows its planned wood instead of its sheets.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from shapely import LineString, Polygon

from layercut.findings import Finding
from layercut.geometry.regions import Region
from layercut.model import PaintedRegion, Planned, sheets_of, spacer_count

GRAIN = "#b98f5a"
"""The lines of the grain on bare wood."""

WALL = ("#f3f0ea", "#e2ddd3")
"""What the piece hangs on, top left to bottom right."""

BURNT = "#2a1708"
"""Engraved lines and areas, and the edge that the beam leaves."""

SHADOW = "#1a120b"
"""Shadows; dark and a little warm, as in a room."""

RING = "#d55e00"
"""Rings at findings, vermillion of the set by Okabe and Ito (2008)."""

HATCH = "#0072b2"
"""Hatch of islands, blue of the set by Okabe and Ito (2008)."""

SHADOW_STRENGTH = 0.5
"""How much of the light a sheet takes from what lies deeper."""

SHADOW_SHIFT = 0.42
"""Sideways reach of a shadow, to the right and down, as a part of the depth: the light stands high, top left."""

SHADOW_BLUR = 0.36
"""Standard deviation of a shadow's soft edge, as a part of the depth."""

LIT = "#fff4dc"
"""Edges that face the lamp."""

SVG_STEPS = 14_000
"""The SVG picture leaves out detail finer than this part of the panel: a fifth of a pixel at 3,000 pixels."""

SVG_POINTS, SVG_STEPS_LEAST = 300_000, 2000
"""Drawings with more points than that leave out more, but no more than this part of the panel."""

RIM_MM = 0.3
"""Width of the light and dark edges that make the thickness read, mm."""

MARK_MM = 0.25
"""Width of engraved lines in the picture, mm."""

RIM_LIGHT, RIM_DARK = 0.5, 0.55
"""How strongly the edges are lightened and darkened."""

LINE_OPACITY, AREA_OPACITY = 0.6, 0.38
"""How strongly engraved lines and areas darken what they are burnt into."""

SEAM_MM, SEAM_BY_BARE_MM = 0.8, 0.24
"""Stroke beneath the paints along their edges, mm, so that no light hairline shows where two meet: wider than
a pixel's diagonal where a millimetre has two. Where bare wood shows beside a sheet's paint it is narrower, as it
reaches onto the wood.
"""

PNG_DPI, MM_PER_INCH = 96, 25.4
"""Pixels in an inch: what CSS says; without it the renderer takes millimetres for nothing."""

APART_IN_ROW = 6
"""Sheets in a row of the exploded picture."""

APART_WIDTH, APART_SKEW = 0.78, -0.16
"""A sheet of the exploded picture: this part of its width is left, and its right edge stands higher by that part."""

APART_STEP = (0.5, 0.11)
"""From one sheet to the next in front of it, as parts of the panel's width and height, right and down."""

APART_EDGE, APART_COPIES = (0.8, 0.4), 6
"""The cut edge of a sheet in the exploded picture: how far left and up its back lies (thicknesses), its copies."""

FALL_STRENGTH = 0.4
"""How much of the light a sheet takes from what it stands before, in the exploded picture."""

GRAIN_PITCH_MM = 3.1
"""Mean distance of the lines of the grain, mm."""

EDGE = "#8a6238"
"""The cut edge of a sheet, browned by the beam."""

MANY_RINGS = 12
"""With more rings than this, each is drawn smaller."""

CAPTION = "#4a3a28"
"""Names of sheets in the exploded picture."""

CAPTION_LETTERS = 22
"""Letters of a name that fit below a sheet."""

Box = tuple[float, float, float, float]
"""Left, top, width, height, mm."""


def rgb(colour: str) -> tuple[int, int, int]:
    """The three numbers of a colour such as `#88aacc`."""
    red, green, blue = bytes.fromhex(colour.removeprefix("#"))
    return red, green, blue


@dataclass(frozen=True, slots=True)
class ShownSheet:
    """One sheet as the picture shows it; `shows_bare` where bare wood is seen beside its paint."""

    name: str
    wood: Region
    painted: tuple[PaintedRegion, ...]
    mark_lines: tuple[LineString, ...] = ()
    mark_areas: tuple[Polygon, ...] = ()
    shows_bare: bool = False


def stack_pieces(build: Planned) -> tuple[ShownSheet, ...]:
    """The sheets, or the planned wood of a drawing that can't be made. Spacers lie behind and aren't seen."""
    sheets = [sheet for sheet in sheets_of(build) if sheet.kind == "layer"]
    if not sheets:
        pieces = [ShownSheet(layer.name, layer.wood, layer.painted) for layer in build.stack.layers]
    else:
        pieces = [
            ShownSheet(sheet.name, sheet.wood, layer.painted, sheet.mark_lines, sheet.mark_areas)
            for sheet, layer in zip(sheets, build.stack.layers, strict=True)
        ]
    back, *others = pieces
    return (replace(back, shows_bare=not build.stack.bare.is_empty), *others)


def numbered_errors(build: Planned) -> tuple[tuple[int, Finding], ...]:
    """The errors that have a place, with the number that their ring in the picture bears, from 1."""
    errors = (f for f in build.findings if f.severity == "error" and f.at_mm is not None)
    return tuple(enumerate(errors, start=1))


def depth_of(build: Planned, pieces: Sequence[ShownSheet]) -> float:
    """How far the front stands off the wall, mm, spacers included."""
    return build.job.material.thickness * (len(pieces) + spacer_count(sheets_of(build)))


def stack_box(build: Planned, pieces: Sequence[ShownSheet]) -> Box:
    """The box of the assembled picture: the panel, and as much wall around it as its shadow needs."""
    panel = build.stack.panel
    size = max(panel.width_mm, panel.height_mm)
    reach = (SHADOW_SHIFT + 2.5 * SHADOW_BLUR) * depth_of(build, pieces)
    margin = max(0.055 * size, reach)
    return _in_pixels((-margin, -margin, panel.width_mm + 2 * margin, panel.height_mm + 2 * margin))


def _in_pixels(box: Box) -> Box:
    """A box made a little larger all round, to a whole number of CSS pixels (96 to an inch) each way.

    Renderers round a picture's size to whole pixels before they scale it, and would else stretch what is in it.
    """
    x, y, *sides = box
    width, height = (math.ceil(side * PNG_DPI / MM_PER_INCH) * MM_PER_INCH / PNG_DPI for side in sides)
    return (x - (width - sides[0]) / 2, y - (height - sides[1]) / 2, width, height)


@dataclass(frozen=True, slots=True)
class Rack:
    """The exploded picture: sheets stand apart like cards in a rack seen aslant, the back one at the top left.

    `at` is where each sheet's top left corner stands, `fall_mm` how far aside its shadow falls.
    """

    box: Box
    at: tuple[tuple[float, float], ...]
    fall_mm: float
    letters_mm: float


def rack_of(build: Planned, pieces: Sequence[ShownSheet]) -> Rack:
    """Where the sheets of the exploded picture stand."""
    panel = build.stack.panel
    size = max(panel.width_mm, panel.height_mm)
    rows = max(math.ceil(len(pieces) / APART_IN_ROW), 1)
    columns = max(math.ceil(len(pieces) / rows), 1)
    rise = -APART_SKEW * panel.width_mm  # how much higher a sheet's right edge stands than its left one
    step_x, step_y = APART_STEP[0] * panel.width_mm, APART_STEP[1] * panel.height_mm
    row_mm = panel.height_mm + rise + step_y * (columns - 1) + 0.1 * size
    margin = 0.07 * size
    width = 2 * margin + APART_WIDTH * panel.width_mm + step_x * (columns - 1)
    places = (divmod(index, columns) for index in range(len(pieces)))
    at = tuple((column * step_x, row * row_mm + column * step_y) for row, column in places)
    box = _in_pixels((-margin, -margin - rise, width, 2 * margin + rows * row_mm))
    return Rack(box, at, 0.015 * size, 0.034 * size)


def shadow_copies(steps: int) -> tuple[tuple[float, float], ...]:
    """How a sheet that lies some steps in front throws its shadow: how many steps aside, and how strong, each copy.

    Further than one step in front it is three faint copies, for softness: a blur for each would take renderers long.
    """
    if steps == 1:
        return ((1.0, 1.0),)
    return ((steps + 0.35, 0.3), (float(steps), 0.45), (steps - 0.35, 1.0))


def grain_lines(width_mm: float, height_mm: float) -> Iterator[tuple[tuple[tuple[float, float], ...], float, float]]:
    """The grain across a panel: each line as the four points of a cubic, its width in mm, its opacity."""
    for line in range(math.ceil(height_mm / GRAIN_PITCH_MM) + 1):
        y = (line + 0.45 * math.sin(2.4 * line)) * GRAIN_PITCH_MM
        sway = [GRAIN_PITCH_MM * math.sin(1.7 * line * part + part) for part in (1, 2, 3)]
        bends = ((x * width_mm, y + dy) for x, dy in zip((0.3, 0.7, 1), sway, strict=True))
        yield ((0.0, y), *bends), 0.3 + 0.22 * math.sin(2.1 * line), 0.14 + 0.1 * math.sin(1.3 * line)
