"""The picture of the finished stack, from the front or with its sheets apart.

Enters: a `Build`. Leaves: SVG text, and PNG bytes of it. Holds: coordinates are panel mm; each region is written once
and used from there; the same build gives the same text. A drawing that can't be made shows its planned wood instead,
with its islands hatched and a numbered ring at every error that has a place.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import PurePath

import resvg_py
from shapely import LineString, Polygon

from layercut.findings import Finding
from layercut.geometry.regions import Region
from layercut.model import Build, PaintedRegion
from layercut.views.manifest import ordered_findings
from layercut.views.svg_text import lines_path, number, plain, region_path, stroke_digits

PLYWOOD = "#dcbc8c"
"""Bare plywood, about birch."""

GRAIN = "#b98f5a"
"""The lines of the grain on bare wood."""

WALL = ("#f3f0ea", "#e2ddd3")
"""What the piece hangs on, top left to bottom right."""

BURNT = "#2a1708"
"""Engraved lines and areas, and the edge that the beam leaves."""

SHADOW = "#1a120b"
"""Shadows; dark and a little warm, as in a room."""

RING = "#d55e00"
"""Rings at findings, vermillion of the Okabe-Ito set."""

HATCH = "#0072b2"
"""Hatch of islands, blue of the Okabe-Ito set."""

SHADOW_STRENGTH = 0.5
"""How much of the light a sheet takes from what lies deeper."""

SHADOW_SHIFT = 0.42
"""Sideways reach of a shadow, to the right and down, as a part of the depth: the light stands high, top left."""

SHADOW_BLUR = 0.36
"""Standard deviation of a shadow's soft edge, as a part of the depth."""

LIT = "#fff4dc"
"""Edges that face the lamp."""

RIM_MM = 0.3
"""Width of the light and dark edges that make the thickness read, mm."""

MARK_MM = 0.25
"""Width of engraved lines in the picture, mm."""

SEAM_MM = 0.24
"""Stroke around each paint in its own colour, mm, so that no light hairline shows where two paints meet."""

PNG_DPI = 96
"""Pixels in an inch: what CSS says; without it the renderer takes millimetres for nothing."""

APART_IN_ROW = 6
"""Sheets in a row of the exploded picture."""

APART_WIDTH, APART_SKEW = 0.78, -0.16
"""A sheet of the exploded picture: this part of its width is left, and its right edge stands higher by that part."""

APART_STEP = (0.5, 0.11)
"""From one sheet to the next in front of it, as parts of the panel's width and height, right and down."""

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


@dataclass(frozen=True, slots=True)
class _Piece:
    """One sheet as the picture shows it."""

    name: str
    wood: Region
    painted: tuple[PaintedRegion, ...]
    mark_lines: tuple[LineString, ...] = ()
    mark_areas: tuple[Polygon, ...] = ()


def compose_svg(build: Build, *, exploded: bool = False) -> str:
    """The stack as it will hang on the wall, as SVG text; `exploded` shows the sheets apart, back to front, by name.

    The panel lies at (0, 0) to its width and height, a margin of wall around it.
    """
    pieces = _pieces(build)
    return _exploded(build, pieces) if exploded else _assembled(build, pieces)


def render_png(svg: str, width_px: int = 1400) -> bytes:
    """The PNG of an SVG picture, `width_px` wide, its height in proportion."""
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, width=width_px, dpi=PNG_DPI))


def numbered_errors(build: Build) -> tuple[tuple[int, Finding], ...]:
    """The errors that have a place, with the number that their ring in the picture bears, from 1."""
    errors = (f for f in ordered_findings(build) if f.severity == "error" and f.at_mm is not None)
    return tuple(enumerate(errors, start=1))


def _pieces(build: Build) -> tuple[_Piece, ...]:
    """The sheets, or the planned wood of a drawing that can't be made. Spacers lie behind and aren't seen."""
    sheets = [sheet for sheet in build.sheets if sheet.kind == "layer"]
    if not sheets:
        return tuple(_Piece(layer.name, layer.wood, layer.painted) for layer in build.stack.layers)
    return tuple(
        _Piece(sheet.name, sheet.wood, layer.painted, sheet.mark_lines, sheet.mark_areas)
        for sheet, layer in zip(sheets, build.stack.layers, strict=True)
    )


def _assembled(build: Build, pieces: Sequence[_Piece]) -> str:
    panel, thickness = build.stack.panel, build.job.material.thickness
    spacers = sum(sheet.copies for sheet in build.sheets if sheet.kind == "spacer")
    depth_mm = thickness * (len(pieces) + spacers)
    margin = math.ceil(0.06 * max(panel.width_mm, panel.height_mm) + depth_mm)
    box = (-margin, -margin, panel.width_mm + 2 * margin, panel.height_mm + 2 * margin)
    body = [_wall(box), _shadow_on_wall(depth_mm)]
    for index, piece in enumerate(pieces):
        over = (*_rims(index), *_shadows_on(index, len(pieces), thickness))
        sheet = _sheet(index, piece, over, frame_seen=index == len(pieces) - 1)
        body.append(f"<g><title>{plain(piece.name)}</title>{sheet}</g>")
    if not build.makeable:
        body += _faults(build)
    return _document(build, box, [*_definitions(build, pieces), _soft_filter(build)], body)


def _exploded(build: Build, pieces: Sequence[_Piece]) -> str:
    """Sheets stand apart like cards in a rack seen aslant; the back one is at the top left."""
    panel, thickness = build.stack.panel, build.job.material.thickness
    size = max(panel.width_mm, panel.height_mm)
    rows = max(math.ceil(len(pieces) / APART_IN_ROW), 1)
    columns = max(math.ceil(len(pieces) / rows), 1)
    rise = -APART_SKEW * panel.width_mm  # how much higher a sheet's right edge stands than its left one
    step_x, step_y = APART_STEP[0] * panel.width_mm, APART_STEP[1] * panel.height_mm
    row_mm = panel.height_mm + rise + step_y * (columns - 1) + 0.1 * size
    margin = 0.07 * size
    width = 2 * margin + APART_WIDTH * panel.width_mm + step_x * (columns - 1)
    box = (-margin, -margin - rise, width, 2 * margin + rows * row_mm)
    body = [_wall(box)]
    for index, piece in enumerate(pieces):
        row, column = divmod(index, columns)
        at = (column * step_x, row * row_mm + column * step_y)
        body += _card(index, piece, at, thickness)
        body.append(_caption(index, piece, (at[0], at[1] + panel.height_mm), 0.034 * size))
    fall = f'<filter id="fall"><feGaussianBlur stdDeviation="{number(0.011 * size)}"/></filter>'
    return _document(build, box, [*_definitions(build, pieces), fall], body)


def _document(build: Build, box: Box, definitions: Sequence[str], body: Sequence[str]) -> str:
    x, y, width, height = map(number, box)
    stem = plain(PurePath(build.drawing.file).stem)
    title = f"{stem}, the finished stack" if build.makeable else f"{stem}, which can't be made as drawn"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="{x} {y} {width} {height}" role="img" aria-labelledby="picture-title">\n'
        f'<title id="picture-title">{title}</title>\n<defs>\n' + "\n".join(definitions) + "\n</defs>\n"
        "" + "\n".join(body) + "\n</svg>\n"
    )


def _definitions(build: Build, pieces: Sequence[_Piece]) -> Iterator[str]:
    """The panel, every sheet's wood, the gradients and the grain, each written once."""
    panel = build.stack.panel
    yield f'<path id="panel" d="{region_path(panel.outline)}"/>'
    rings = region_path(panel.outline) + region_path(panel.interior)
    yield f'<path id="frame" fill-rule="evenodd" d="{rings}"/>'
    yield (
        f'<linearGradient id="wall" x2=".6" y2="1"><stop stop-color="{WALL[0]}"/>'
        f'<stop offset="1" stop-color="{WALL[1]}"/></linearGradient>'
    )
    yield from _grain(panel.width_mm, panel.height_mm)
    for index, piece in enumerate(pieces, start=1):
        yield from _blends(index, piece)
        yield f'<path id="wood-{index}" fill-rule="evenodd" clip-rule="evenodd" d="{region_path(piece.wood)}"/>'
        yield f'<clipPath id="on-{index}"><use href="#wood-{index}"/></clipPath>'


def _blends(index: int, piece: _Piece) -> Iterator[str]:
    """The gradients of a sheet's blends, from the top to the bottom of each region: how they ran isn't known."""
    for place, painted in enumerate(piece.painted):
        if painted.paint.blend:
            stops = "".join(
                f'<stop offset="{number(offset)}" stop-color="{plain(colour)}"/>'
                for offset, colour in painted.paint.blend
            )
            yield f'<linearGradient id="blend-{index}-{place}" x2="0" y2="1">{stops}</linearGradient>'


def _grain(width_mm: float, height_mm: float) -> Iterator[str]:
    """Lines that run across the panel and wander a little, and bare wood as a pattern of the panel's size."""
    lines = []
    for line in range(math.ceil(height_mm / GRAIN_PITCH_MM) + 1):
        y = (line + 0.45 * math.sin(2.4 * line)) * GRAIN_PITCH_MM
        sway = [GRAIN_PITCH_MM * math.sin(1.7 * line * part + part) for part in (1, 2, 3)]
        points = " ".join(
            f"{number(x * width_mm)} {number(y + dy)}" for x, dy in zip((0.3, 0.7, 1), sway, strict=True)
        )
        opacity, stroke = 0.14 + 0.1 * math.sin(1.3 * line), 0.3 + 0.22 * math.sin(2.1 * line)
        lines.append(
            f'<path d="M0 {number(y)}C{points}" stroke-width="{number(stroke)}" stroke-opacity="{number(opacity)}"/>'
        )
    width, height = number(width_mm), number(height_mm)
    yield f'<g id="grain" fill="none" stroke="{GRAIN}">{"".join(lines)}</g>'
    yield (
        f'<pattern id="plywood" width="{width}" height="{height}" patternUnits="userSpaceOnUse">'
        f'<rect width="{width}" height="{height}" fill="{PLYWOOD}"/><use href="#grain"/></pattern>'
    )


def _wall(box: Box) -> str:
    x, y, width, height = box
    # A little more than the picture, so that its last row of pixels isn't half empty.
    edges = (x - 1, y - 1, width + 2, height + 2)
    return '<rect x="{}" y="{}" width="{}" height="{}" fill="url(#wall)"/>'.format(*map(number, edges))


def _sheet(index: int, piece: _Piece, over: Iterable[str] = (), *, frame_seen: bool = True) -> str:
    """A sheet by itself: wood, paints, the bare frame, engraving, then `over`; all clipped to its wood at once."""
    areas, lines = "".join(map(region_path, piece.mark_areas)), lines_path(piece.mark_lines)
    pen = f'stroke-opacity=".6" stroke-width="{number(MARK_MM)}" stroke-linecap="round"'
    parts = [
        f'<use href="#panel" fill="{PLYWOOD}"/><use href="#grain"/>',
        f'<g fill-rule="evenodd" stroke-width="{number(SEAM_MM)}">{_paints(index, piece)}</g>',
        # A pattern is slow, so frames that a frame in front hides are plain.
        f'<use href="#frame" fill="{"url(#plywood)" if frame_seen else PLYWOOD}"/>',
        f'<path fill="{BURNT}" fill-opacity=".38" fill-rule="evenodd" d="{areas}"/>' if areas else "",
        f'<path fill="none" stroke="{BURNT}" {pen} d="{lines}"/>' if lines else "",
        *over,
    ]
    return f'<g clip-path="url(#on-{index + 1})">{"".join(parts)}</g>'


def _paints(index: int, piece: _Piece) -> str:
    """The paints as paths. A face may reach under the frame and beyond the panel; `_sheet` hides that."""
    return "".join(
        _paint(f"blend-{index + 1}-{place}", painted)
        for place, painted in enumerate(piece.painted)
        if not painted.region.is_empty
    )


def _paint(blend: str, painted: PaintedRegion) -> str:
    colour = f"url(#{blend})" if painted.paint.blend else plain(painted.paint.colour)
    return f'<path fill="{colour}" stroke="{colour}" d="{region_path(painted.region)}"/>'


def _shadow_on_wall(depth_mm: float) -> str:
    """The piece's own shadow on the wall."""
    shift, blur = number(SHADOW_SHIFT * depth_mm), number(SHADOW_BLUR * depth_mm)
    return (
        f'<filter id="fall"><feGaussianBlur stdDeviation="{blur}"/></filter>'
        f'<use href="#panel" fill="{SHADOW}" opacity="{number(SHADOW_STRENGTH)}" filter="url(#fall)" '
        f'transform="translate({shift} {shift})"/>'
    )


def _shadows_on(index: int, count: int, thickness_mm: float) -> Iterator[str]:
    """What the sheets in front throw on this one: the further in front, the further aside.

    One blur for them all: renderers take long over filters.
    """
    casters = "".join(_caster(front, front - index, thickness_mm) for front in range(index + 1, count))
    if casters:
        yield f'<g fill="{SHADOW}" opacity="{number(SHADOW_STRENGTH)}" filter="url(#soft)">{casters}</g>'


def _caster(front: int, steps: int, thickness_mm: float) -> str:
    """A sheet moved to where its shadow falls; further than one step in front as three faint copies, for softness."""
    copies = ((0.35, ".3"), (0.0, ".45"), (-0.35, "1")) if steps > 1 else ((0.0, "1"),)
    uses = []
    for further, opacity in copies:
        shift = number(SHADOW_SHIFT * thickness_mm * (steps + further))
        moved = f'fill-opacity="{opacity}" transform="translate({shift} {shift})"'
        uses.append(f'<use href="#wood-{front + 1}" {moved}/>')
    return "".join(uses)


def _rims(index: int) -> Iterator[str]:
    """The edges of a sheet, light where they face the lamp and dark on the other side, so that its thickness reads.

    Clipped to the sheet, a stroke that is moved inwards on one side shows on that side only.
    """
    for colour, opacity, move in ((LIT, ".5", 0.5 * RIM_MM), (BURNT, ".55", -0.5 * RIM_MM)):
        look = f'fill="none" stroke="{colour}" stroke-opacity="{opacity}" stroke-width="{number(RIM_MM)}"'
        yield f'<use href="#wood-{index + 1}" {look} transform="translate({number(move)} {number(move)})"/>'


def _soft_filter(build: Build) -> str:
    """The soft edge of shadows within the panel."""
    panel, blur = build.stack.panel, SHADOW_BLUR * build.job.material.thickness
    width, height = number(panel.width_mm), number(panel.height_mm)
    return (
        f'<filter id="soft" filterUnits="userSpaceOnUse" x="0" y="0" width="{width}" height="{height}" '
        f'color-interpolation-filters="sRGB"><feGaussianBlur stdDeviation="{number(blur)}"/></filter>'
    )


def _card(index: int, piece: _Piece, at: tuple[float, float], thickness_mm: float) -> Iterator[str]:
    """One sheet of the exploded picture: its shadow, its edge as a few copies one behind the other, its face."""
    wood = f"#wood-{index + 1}"
    face = _matrix(at)
    fall = 0.015 * max(piece.wood.bounds[2:])
    yield f'<g><title>{plain(piece.name)}</title><g filter="url(#fall)" opacity=".4" fill="{SHADOW}">'
    yield f'<use href="{wood}" transform="{_matrix((at[0] + fall, at[1] + fall))}"/></g>'
    copies = 6
    for copy in range(copies, 0, -1):
        back = thickness_mm * copy / copies
        shade = EDGE if copy < copies else BURNT
        yield f'<use href="{wood}" fill="{shade}" transform="{_matrix((at[0] - 0.8 * back, at[1] - 0.4 * back))}"/>'
    yield f'<g transform="{face}">'
    rim = f'fill="none" stroke="{BURNT}" stroke-opacity=".5" stroke-width="{number(RIM_MM)}"'
    yield f'{_sheet(index, piece)}<use href="{wood}" {rim}/></g></g>'


def _matrix(at: tuple[float, float]) -> str:
    return f"matrix({number(APART_WIDTH)} {number(APART_SKEW)} 0 1 {number(at[0])} {number(at[1])})"


def _caption(index: int, piece: _Piece, at: tuple[float, float], size_mm: float) -> str:
    name = piece.name if len(piece.name) <= CAPTION_LETTERS else piece.name[: CAPTION_LETTERS - 1] + "\u2026"
    return (
        f'<text x="{number(at[0])}" y="{number(at[1] + 1.5 * size_mm)}" font-size="{number(size_mm)}" '
        f'font-family="Georgia, serif" fill="{CAPTION}">{index + 1}  {plain(name)}</text>'
    )


def _faults(build: Build) -> Iterator[str]:
    """The islands hatched, and a numbered ring at every error that has a place."""
    unit = max(build.stack.panel.width_mm, build.stack.panel.height_mm) / 200
    islands = "".join(region_path(island.region) for layer in build.stack.layers for island in layer.islands)
    if islands:
        yield (
            f'<pattern id="hatch" width="{number(1.6 * unit)}" height="{number(1.6 * unit)}" '
            'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
            f'<rect width="{number(0.6 * unit)}" height="{number(1.6 * unit)}" fill="{HATCH}"/></pattern>'
            f'<path id="islands" d="{islands}" fill="url(#hatch)" fill-rule="evenodd" stroke="{HATCH}" '
            f'stroke-width="{number(0.5 * unit)}" stroke-linejoin="round"/>'
        )
    errors = numbered_errors(build)
    scale = unit if len(errors) <= MANY_RINGS else 0.8 * unit
    for place, finding in errors:
        yield _ring(place, finding, scale)


def _ring(place: int, finding: Finding, scale_mm: float) -> str:
    """A ring around the place, and its number on a disc at the ring's upper right."""
    x, y = finding.at_mm or (0.0, 0.0)
    radius = 5 * scale_mm
    if finding.size_mm and len(finding.size_mm) == 2:
        radius = min(max(radius, 0.6 * math.hypot(*finding.size_mm)), 20 * scale_mm)
    edge, disc = radius * math.sqrt(0.5), (2.2 + 0.9 * len(str(place))) * scale_mm
    circle = f'<circle r="{number(radius)}" fill="none" stroke='
    return (
        f'<g data-finding="{place}" transform="translate({number(x)} {number(y)})">'
        f"<title>{plain(f'{place}: {finding.layer}: {finding.message}')}</title>"
        f'{circle}"#fff" stroke-width="{number(2.2 * scale_mm)}"/>'
        f'{circle}"{RING}" stroke-width="{number(scale_mm)}"/>'
        f'<g transform="translate({number(edge)} {number(-edge)})">'
        f'<circle r="{number(disc)}" fill="{RING}" stroke="#fff" stroke-width="{number(0.5 * scale_mm)}"/>'
        f'<g stroke="#fff">{stroke_digits(place, 2.5 * scale_mm)}</g></g></g>'
    )
