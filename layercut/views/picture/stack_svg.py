"""The picture of the finished stack as SVG, from the front or with its sheets apart.

Enters: a `Build`. Leaves: SVG text; `render_png` makes pixels of any SVG. Holds: coordinates are panel mm; a region
is written once and used from there; the same build gives the same text. A drawing that can't be made shows its
planned wood instead, with its islands hatched and a numbered ring at every error that has a place.

All that is drawn and isn't paint says what it is in `data-part`: `wall`, `shadow`, `edge`, `grain`, `mark`, `frame`,
`fault` and `caption`. Without these elements the assembled picture is the painted stack, flat: paints, and bare wood
where there is none.

`composite_png` makes the same picture in pixels, in a tenth of the time a renderer takes over this one.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from pathlib import PurePath

import resvg_py
import shapely

from layercut.colour.bare import PLYWOOD
from layercut.findings import Finding
from layercut.model import Planned
from layercut.units import Units
from layercut.views.paint_svg import Definitions, is_stack, laid
from layercut.views.picture.scene import (
    APART_COPIES,
    APART_EDGE,
    APART_SKEW,
    APART_WIDTH,
    AREA_OPACITY,
    BURNT,
    CAPTION,
    CAPTION_LETTERS,
    EDGE,
    FALL_STRENGTH,
    GRAIN,
    HATCH,
    LINE_OPACITY,
    LIT,
    MANY_RINGS,
    MARK_MM,
    PNG_DPI,
    RIM_DARK,
    RIM_LIGHT,
    RIM_MM,
    RING,
    SEAM_BY_BARE_MM,
    SEAM_MM,
    SHADOW,
    SHADOW_BLUR,
    SHADOW_SHIFT,
    SHADOW_STRENGTH,
    SVG_POINTS,
    SVG_STEPS,
    SVG_STEPS_LEAST,
    WALL,
    Box,
    Rack,
    ShownSheet,
    depth_of,
    grain_lines,
    numbered_errors,
    rack_of,
    shadow_copies,
    stack_box,
    stack_pieces,
)
from layercut.views.svg_text import number, plain, region_path, short_path, short_paths, stroke_digits

__all__ = ["EDGE", "HATCH", "RING", "compose_svg", "numbered_errors", "render_png", "ring_svg"]


def compose_svg(build: Planned, *, exploded: bool = False) -> str:
    """The stack as it will hang on the wall, as SVG text; `exploded` shows the sheets apart, back to front, by name.

    The panel lies at (0, 0) to its width and height, a margin of wall around it.
    """
    pieces = stack_pieces(build)
    return _exploded(build, pieces) if exploded else _assembled(build, pieces)


def render_png(svg: str, width_px: int) -> bytes:
    """The PNG of an SVG picture, `width_px` wide, its height in proportion."""
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, width=width_px, dpi=PNG_DPI))


def faults_svg(build: Planned) -> str:
    """The hatched islands and the rings at the errors by themselves, on nothing; empty where there are none."""
    return (
        _document(build, stack_box(build, stack_pieces(build)), [], faults) if (faults := [*_faults(build)]) else ""
    )


def captions_svg(build: Planned) -> str:
    """The sheets' names of the exploded picture by themselves, on nothing."""
    pieces = stack_pieces(build)
    rack = rack_of(build, pieces)
    return _document(build, rack.box, [], [*_captions(build, pieces, rack)])


def _assembled(build: Planned, pieces: Sequence[ShownSheet]) -> str:
    thickness = build.job.material.thickness
    box, blends = stack_box(build, pieces), Definitions()
    body = [_wall(box), _shadow_on_wall(depth_of(build, pieces))]
    for index, piece in enumerate(pieces):
        over = (*_rims(index), *_shadows_on(index, len(pieces), thickness))
        sheet = _sheet(index, piece, blends, _step(build, pieces), over, frame_seen=index == len(pieces) - 1)
        body.append(f"<g><title>{plain(piece.name)}</title>{sheet}</g>")
    if not build.makeable:
        body += _faults(build)
    return _document(build, box, [*_definitions(build, pieces), *blends.texts, _soft_filter(build)], body)


def _exploded(build: Planned, pieces: Sequence[ShownSheet]) -> str:
    rack, step, blends = rack_of(build, pieces), _step(build, pieces), Definitions()
    body = [_wall(rack.box)]
    for index, (piece, at) in enumerate(zip(pieces, rack.at, strict=True)):
        sheet = _sheet(index, piece, blends, step, _rims(index))
        card = _card(f"#wood-{index + 1}", sheet, at, rack, build.job.material.thickness)
        body += [f"<g><title>{plain(piece.name)}</title>", *card, "</g>"]
    body += _captions(build, pieces, rack)
    fall = f'<filter id="fall"><feGaussianBlur stdDeviation="{number(0.7 * rack.fall_mm)}"/></filter>'
    return _document(build, rack.box, [*_definitions(build, pieces), *blends.texts, fall], body)


def _document(build: Planned, box: Box, definitions: Sequence[str], body: Sequence[str]) -> str:
    x, y, width, height = map(number, box)
    stem = plain(PurePath(build.drawing.file).stem)
    title = f"{stem}, the finished stack" if build.makeable else f"{stem}, which can't be made as drawn"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="{x} {y} {width} {height}" role="img" aria-labelledby="picture-title">\n'
        f'<title id="picture-title">{title}</title>\n<defs>\n' + "\n".join(definitions) + "\n</defs>\n"
        "" + "\n".join(body) + "\n</svg>\n"
    )


def _definitions(build: Planned, pieces: Sequence[ShownSheet]) -> Iterator[str]:
    """The panel, every sheet's wood and paints as shapes, and the grain, each written once."""
    panel, step = build.stack.panel, _step(build, pieces)
    yield f'<path id="panel" d="{region_path(panel.outline)}"/>'
    rings = region_path(panel.outline) + region_path(panel.interior)
    yield f'<path id="frame" fill-rule="evenodd" d="{rings}"/>'
    yield (
        f'<linearGradient id="wall" x2=".6" y2="1"><stop stop-color="{WALL[0]}"/>'
        f'<stop offset="1" stop-color="{WALL[1]}"/></linearGradient>'
    )
    yield from _grain(panel.width_mm, panel.height_mm)
    for index, piece in enumerate(pieces, start=1):
        outline = short_path([piece.wood], step)
        yield f'<path id="wood-{index}" fill-rule="evenodd" clip-rule="evenodd" d="{outline}"/>'
        yield f'<clipPath id="on-{index}"><use href="#wood-{index}"/></clipPath>'
        outlines = short_paths((part.region for part in piece.painted), step)
        for place, (part, path) in enumerate(zip(piece.painted, outlines, strict=True)):
            name = f"{index}-{place}"
            inside = f'<use href="#paint-{name}" clip-rule="evenodd"/>' if path else ""
            if path:
                yield f'<path id="paint-{name}" d="{path}"/>'
            if is_stack(part.paint):
                # Of a sliver too fine to be drawn, an empty one: a clip path that is missing cuts off nothing.
                yield f'<clipPath id="cut-{name}">{inside}</clipPath>'


def _grain(width_mm: float, height_mm: float) -> Iterator[str]:
    """Lines that run across the panel and wander a little, and bare wood as a pattern of the panel's size."""
    lines = []
    for (start, *bends), width, opacity in grain_lines(width_mm, height_mm):
        points = " ".join(f"{number(x)} {number(y)}" for x, y in bends)
        path = f'<path d="M0 {number(start[1])}C{points}"'
        lines.append(f'{path} stroke-width="{number(width)}" stroke-opacity="{number(opacity)}"/>')
    width_text, height_text = number(width_mm), number(height_mm)
    yield f'<g id="grain" fill="none" stroke="{GRAIN}">{"".join(lines)}</g>'
    yield (
        f'<pattern id="plywood" width="{width_text}" height="{height_text}" patternUnits="userSpaceOnUse">'
        f'<rect width="{width_text}" height="{height_text}" fill="{PLYWOOD}"/><use href="#grain"/></pattern>'
    )


def _wall(box: Box) -> str:
    left, top, wide, high = box
    # A little more than the picture, so that its last row of pixels isn't half empty.
    x, y, width, height = map(number, (left - 1, top - 1, wide + 2, high + 2))
    return f'<rect data-part="wall" x="{x}" y="{y}" width="{width}" height="{height}" fill="url(#wall)"/>'


def _sheet(
    index: int,
    piece: ShownSheet,
    blends: Definitions,
    step_mm: float,
    over: Iterable[str] = (),
    *,
    frame_seen: bool = True,
) -> str:
    """A sheet by itself: wood, paints, the bare frame, engraving, then `over`; all clipped to its wood at once."""
    areas, lines = short_path(piece.mark_areas, step_mm), short_path(piece.mark_lines, step_mm)
    pen = f'stroke-opacity="{LINE_OPACITY:g}" stroke-width="{number(MARK_MM)}" stroke-linejoin="bevel"'
    burnt = f'fill-opacity="{AREA_OPACITY:g}" fill-rule="evenodd"'
    parts = [
        f'<use href="#panel" fill="{PLYWOOD}"/><use data-part="grain" href="#grain"/>',
        _paints(index, piece, blends),
        # A pattern is slow, so frames that a frame in front hides are plain.
        f'<use data-part="frame" href="#frame" fill="{"url(#plywood)" if frame_seen else PLYWOOD}"/>',
        f'<path data-part="mark" fill="{BURNT}" {burnt} d="{areas}"/>' if areas else "",
        f'<path data-part="mark" fill="none" stroke="{BURNT}" {pen} d="{lines}"/>' if lines else "",
    ]
    # Named, so that the traveller can show the sheet again without its light and shadows.
    itself = f'<g id="sheet-{index + 1}">{"".join(parts)}</g>'
    return f'<g clip-path="url(#on-{index + 1})">{itself}{"".join(over)}</g>'


def _paints(index: int, piece: ShownSheet, blends: Definitions) -> str:
    """The paints. A face may reach under the frame and beyond the panel; `_sheet` hides that.

    Before all of them each has a stroke of its own look, so that no wood shines through where two meet, nor where
    paint and wood end together; drawn beneath, it moves no edge.
    """
    shown = [place for place, part in enumerate(piece.painted) if not part.region.is_empty]
    if not shown:
        return ""
    seams = "".join(_seam(index, place, piece, blends) for place in shown)
    fills = "".join(_fill(index, place, piece, blends) for place in shown)
    pen = f'fill="none" stroke-width="{number(SEAM_BY_BARE_MM if piece.shows_bare else SEAM_MM)}"'
    return f'<g {pen}>{seams}</g><g fill-rule="evenodd">{fills}</g>'


def _seam(index: int, place: int, piece: ShownSheet, blends: Definitions) -> str:
    name = f"#paint-{index + 1}-{place}"
    return laid(piece.painted[place].paint, lambda look: f'<use href="{name}" {look}/>', blends, "stroke")


def _fill(index: int, place: int, piece: ShownSheet, blends: Definitions) -> str:
    """One paint on its region. Coats over each other are cut out together: each cut by itself, the lowest would
    shine through in the pixels of the edge."""
    part, name = piece.painted[place], f"{index + 1}-{place}"
    if not is_stack(part.paint):
        return laid(part.paint, lambda look: f'<use href="#paint-{name}" {look}/>', blends)
    left, top, right, bottom = part.region.bounds
    x, y, width, height = map(number, (left - 1, top - 1, right - left + 2, bottom - top + 2))
    box = f'x="{x}" y="{y}" width="{width}" height="{height}"'
    return f'<g clip-path="url(#cut-{name})">{laid(part.paint, lambda look: f"<rect {box} {look}/>", blends)}</g>'


def _shadow_on_wall(depth_mm: float) -> str:
    """The piece's own shadow on the wall."""
    shift, blur = number(SHADOW_SHIFT * depth_mm), number(SHADOW_BLUR * depth_mm)
    return (
        f'<filter id="fall"><feGaussianBlur stdDeviation="{blur}"/></filter>'
        f'<use data-part="shadow" href="#panel" fill="{SHADOW}" opacity="{number(SHADOW_STRENGTH)}" '
        f'filter="url(#fall)" transform="translate({shift} {shift})"/>'
    )


def _shadows_on(index: int, count: int, thickness_mm: float) -> Iterator[str]:
    """What the sheets in front throw on this one: the further in front, the further aside.

    One blur for them all: renderers take long over filters.
    """
    casters = "".join(_caster(front, front - index, thickness_mm) for front in range(index + 1, count))
    if casters:
        look = f'fill="{SHADOW}" opacity="{number(SHADOW_STRENGTH)}" filter="url(#soft)"'
        yield f'<g data-part="shadow" {look}>{casters}</g>'


def _caster(front: int, steps: int, thickness_mm: float) -> str:
    """A sheet moved to where its shadow falls."""
    uses = []
    for further, opacity in shadow_copies(steps):
        shift = number(SHADOW_SHIFT * thickness_mm * further)
        moved = f'fill-opacity="{opacity:g}" transform="translate({shift} {shift})"'
        uses.append(f'<use href="#wood-{front + 1}" {moved}/>')
    return "".join(uses)


def _rims(index: int) -> Iterator[str]:
    """The edges of a sheet, light where they face the lamp and dark on the other side, so that its thickness reads.

    Clipped to the sheet, a stroke that is moved inwards on one side shows on that side only.
    """
    for colour, opacity, move in ((LIT, RIM_LIGHT, 0.5 * RIM_MM), (BURNT, RIM_DARK, -0.5 * RIM_MM)):
        pen = f'stroke-width="{number(RIM_MM)}" stroke-linejoin="bevel"'
        look = f'fill="none" stroke="{colour}" stroke-opacity="{opacity:g}" {pen}'
        moved = f'transform="translate({number(move)} {number(move)})"'
        yield f'<use data-part="edge" href="#wood-{index + 1}" {look} {moved}/>'


def _soft_filter(build: Planned) -> str:
    """The soft edge of shadows within the panel."""
    panel, blur = build.stack.panel, SHADOW_BLUR * build.job.material.thickness
    width, height = number(panel.width_mm), number(panel.height_mm)
    return (
        f'<filter id="soft" filterUnits="userSpaceOnUse" x="0" y="0" width="{width}" height="{height}" '
        f'color-interpolation-filters="sRGB"><feGaussianBlur stdDeviation="{number(blur)}"/></filter>'
    )


def _card(wood: str, sheet: str, at: tuple[float, float], rack: Rack, thickness_mm: float) -> Iterator[str]:
    """One sheet of the exploded picture: its shadow, its edge as a few copies one behind the other, its face."""
    fallen = _matrix((at[0] + rack.fall_mm, at[1] + rack.fall_mm))
    yield f'<g data-part="shadow" filter="url(#fall)" opacity="{FALL_STRENGTH:g}" fill="{SHADOW}">'
    yield f'<use href="{wood}" transform="{fallen}"/></g>'
    copies = APART_COPIES
    for copy in range(copies, 0, -1):
        back = thickness_mm * copy / copies
        shade = EDGE if copy < copies else BURNT
        behind = _matrix((at[0] - APART_EDGE[0] * back, at[1] - APART_EDGE[1] * back))
        yield f'<use data-part="edge" href="{wood}" fill="{shade}" transform="{behind}"/>'
    yield f'<g transform="{_matrix(at)}">{sheet}</g>'


def _matrix(at: tuple[float, float]) -> str:
    return f"matrix({number(APART_WIDTH)} {number(APART_SKEW)} 0 1 {number(at[0])} {number(at[1])})"


def _captions(build: Planned, pieces: Sequence[ShownSheet], rack: Rack) -> Iterator[str]:
    for index, (piece, at) in enumerate(zip(pieces, rack.at, strict=True)):
        long = len(piece.name) > CAPTION_LETTERS
        name = piece.name[: CAPTION_LETTERS - 1] + "\u2026" if long else piece.name
        y = at[1] + build.stack.panel.height_mm + 1.5 * rack.letters_mm
        yield (
            f'<text data-part="caption" x="{number(at[0])}" y="{number(y)}" font-size="{number(rack.letters_mm)}" '
            f'font-family="serif" fill="{CAPTION}">{index + 1}  {plain(name)}</text>'
        )


def _faults(build: Planned) -> Iterator[str]:
    """The islands hatched, and a numbered ring at every error that has a place."""
    unit = max(build.stack.panel.width_mm, build.stack.panel.height_mm) / 200
    islands = "".join(region_path(island.region) for layer in build.stack.layers for island in layer.islands)
    if islands:
        yield (
            f'<pattern id="hatch" width="{number(1.6 * unit)}" height="{number(1.6 * unit)}" '
            'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
            f'<rect width="{number(0.6 * unit)}" height="{number(1.6 * unit)}" fill="{HATCH}"/></pattern>'
            f'<path id="islands" data-part="fault" d="{islands}" fill="url(#hatch)" fill-rule="evenodd" '
            f'stroke="{HATCH}" stroke-width="{number(0.5 * unit)}" stroke-linejoin="round"/>'
        )
    errors = numbered_errors(build)
    scale = unit if len(errors) <= MANY_RINGS else 0.8 * unit
    for place, finding in errors:
        yield ring_svg(place, finding, scale, build.job.units)


def ring_svg(place: int, finding: Finding, scale_mm: float, units: Units, colour: str = RING) -> str:
    """A ring around the place, and its number on a disc at the ring's upper right; its title is in `units`."""
    x, y = finding.at_mm or (0.0, 0.0)
    radius = 5 * scale_mm
    if finding.size_mm and len(finding.size_mm) == 2:
        radius = min(max(radius, 0.6 * math.hypot(*finding.size_mm)), 20 * scale_mm)
    edge, disc = radius * math.sqrt(0.5), (2.2 + 0.9 * len(str(place))) * scale_mm
    circle = f'<circle r="{number(radius)}" fill="none" stroke='
    return (
        f'<g data-part="fault" data-finding="{place}" transform="translate({number(x)} {number(y)})">'
        f"<title>{plain(f'{place}: {finding.layer}: {units.told(finding.text)}')}</title>"
        f'{circle}"#fff" stroke-width="{number(2.2 * scale_mm)}"/>'
        f'{circle}"{colour}" stroke-width="{number(scale_mm)}"/>'
        f'<g transform="translate({number(edge)} {number(-edge)})">'
        f'<circle r="{number(disc)}" fill="{colour}" stroke="#fff" stroke-width="{number(0.5 * scale_mm)}"/>'
        f'<g stroke="#fff">{stroke_digits(place, 2.5 * scale_mm)}</g></g></g>'
    )


def _step(build: Planned, pieces: Sequence[ShownSheet]) -> float:
    """Detail finer than this is left out, mm: more where there is so much that the picture would weigh too much."""
    panel = build.stack.panel
    points = sum(
        int(
            shapely.get_num_coordinates(
                [piece.wood, *(part.region for part in piece.painted), *piece.mark_lines]
            ).sum()
        )
        for piece in pieces
    )
    steps = min(SVG_STEPS, max(SVG_STEPS * SVG_POINTS / max(points, 1), SVG_STEPS_LEAST))
    return max(panel.width_mm, panel.height_mm) / steps
