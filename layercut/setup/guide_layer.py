"""A new drawing: empty named layers, and a guide to draw over.

Enters: a `StartPlan`. Leaves: the text of an SVG file in mm, one unit a millimetre. The guide layer says the scale
(`data-layercut-scale`, real over drawn) and where the walls stand (`data-layercut-walls`: left, top, width, height,
mm), so that a photo can be laid there later.
"""

import re
from dataclasses import dataclass
from html import escape

from layercut.setup.measures import INCH_MM, said_feet
from layercut.setup.start import StartPlan
from layercut.units import said_mm

DOOR_MM = (36 * INCH_MM, 80 * INCH_MM)
"""A door leaf of 36 x 80 in, which meets IRC R311.2."""

WINDOW_MM = (36 * INCH_MM, 36 * INCH_MM, 80 * INCH_MM)
"""Width, sill and head of a window above the floor: 3 ft and 6 ft 8 in are common practice."""

PEOPLE = ((68 * INCH_MM, "adult 5 ft 8 in"), (48 * INCH_MM, "child 4 ft"))
"""Heights of people for scale, round numbers of ours."""

ELBOW_ROOM_MM = 30 * INCH_MM
"""How far people stand apart at least."""

LINE_MM = 0.25
LETTER_MM = 3.0
"""Largest letters of the guide, mm."""

_COLOUR = "#5B7C99"


@dataclass(frozen=True, slots=True)
class _Box:
    """A labelled box of the guide, mm on the panel; `bottom` is its lower edge."""

    id: str
    left: float
    bottom: float
    width: float
    height: float
    label: str


def drawing_text(plan: StartPlan) -> str:
    """The SVG text of a new drawing."""
    width, height = map(_number, plan.panel_mm)
    title = "".join(char for char in plan.name if char.isprintable())  # XML has no place for the others
    ids: list[str] = []
    for name in plan.layers:
        ids.append(_free_id(name, ids))
    layers = "\n".join(
        f'<g id="{own}">\n<title>{escape(name)}</title>\n</g>' for own, name in zip(ids, plan.layers, strict=True)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">\n<title>{escape(title)}</title>\n{guide_text(plan)}\n{layers}\n</svg>\n'
    )


def guide_text(plan: StartPlan) -> str:
    """The guide layer as SVG: frame, ground line, and labelled boxes for storeys, roof, door, window and people."""
    walls = plan.drawn_mm(plan.house.walls.mm)
    place = " ".join(map(_number, (plan.left_mm, plan.ground_mm - walls, plan.fit.width_mm, walls)))
    letter = _letter_mm(plan)
    boxes = [*_storeys(plan), *_openings(plan)]
    parts = [_frame(plan), _ground(plan, letter), *(_box(box, letter) for box in boxes), _roof(plan, letter)]
    parts += _people(plan, letter)
    return (
        f'<g id="guide" data-layercut-scale="{plan.fit.scale.ratio:.10g}" data-layercut-walls="{place}" fill="none" '
        f'stroke="{_COLOUR}" stroke-width="{LINE_MM}" font-family="sans-serif">\n<title>guide</title>\n'
        + "\n".join(part for part in parts if part)
        + "\n</g>"
    )


def _letter_mm(plan: StartPlan) -> float:
    """Letters that leave the boxes readable, mm."""
    storey = plan.drawn_mm(plan.house.storey_height.mm)
    return round(min(LETTER_MM, 0.1 * storey, plan.fit.width_mm / 40), 3)


def _storeys(plan: StartPlan) -> list[_Box]:
    house = plan.house
    base = plan.ground_mm - plan.drawn_mm(house.foundation.mm)
    step = plan.drawn_mm(house.storey_height.mm)
    boxes = [
        _Box(
            f"guide-storey-{number}",
            plan.left_mm,
            base - (number - 1) * step,
            plan.fit.width_mm,
            step,
            plan.units.told(f"storey {number}: {said_feet(house.storey_height.mm)}, here {said_mm(step, '.1f')}"),
        )
        for number in range(1, house.storeys + 1)
    ]
    if house.foundation.mm:
        high = plan.drawn_mm(house.foundation.mm)
        label = plan.units.told(f"foundation: {said_feet(house.foundation.mm)}, here {said_mm(high, '.1f')}")
        boxes.append(_Box("guide-foundation", plan.left_mm, plan.ground_mm, plan.fit.width_mm, high, label))
    return boxes


def _openings(plan: StartPlan) -> list[_Box]:
    """A door and a window on the first floor, where a storey is high enough for them."""
    house = plan.house
    floor = plan.ground_mm - plan.drawn_mm(house.foundation.mm)
    boxes = []
    if DOOR_MM[1] <= house.storey_height.mm and DOOR_MM[0] <= house.width.mm / 2:
        wide, high = map(plan.drawn_mm, DOOR_MM)
        left = plan.left_mm + plan.fit.width_mm / 2 - wide / 2
        boxes.append(_Box("guide-door", left, floor, wide, high, "door 36 x 80 in"))
    if WINDOW_MM[2] <= house.storey_height.mm and WINDOW_MM[0] <= house.width.mm / 6:  # clear of the door
        wide, sill, head = map(plan.drawn_mm, WINDOW_MM)
        left = plan.left_mm + plan.fit.width_mm * 0.78 - wide / 2
        boxes.append(_Box("guide-window", left, floor - sill, wide, head - sill, "window: sill 3 ft, head 6 ft 8 in"))
    return boxes


def _box(box: _Box, letter: float) -> str:
    top = box.bottom - box.height
    rect = (
        f'<rect x="{_number(box.left)}" y="{_number(top)}" width="{_number(box.width)}" '
        f'height="{_number(box.height)}"/>'
    )
    size = min(letter, 0.7 * box.height) if box.id == "guide-foundation" else letter
    if box.id == "guide-door":
        words = _text(box.label, box.left + box.width / 2, top - 0.4 * size, size, "middle")
    elif box.id == "guide-window":
        words = _text(box.label, box.left + box.width / 2, box.bottom + 1.2 * size, size, "middle")
    elif box.id == "guide-foundation":
        words = _text(box.label, box.left + box.width - 0.5 * size, top + 1.1 * size, size, "end")
    else:
        words = _text(box.label, box.left + 0.5 * size, top + 1.2 * size, size)
    return f'<g id="{box.id}">{rect}{words}</g>'


def _roof(plan: StartPlan, letter: float) -> str:
    """A gable's two slopes in the box between eaves and ridge."""
    high = plan.drawn_mm(plan.house.roof.mm)
    if not high:
        return ""
    eaves = plan.ground_mm - plan.drawn_mm(plan.house.walls.mm)
    left, wide = plan.left_mm, plan.fit.width_mm
    label = plan.units.told(f"roof: {said_feet(plan.house.roof.mm)}, here {said_mm(high, '.1f')}")
    box = _Box("guide-roof", left, eaves, wide, high, label)
    slopes = (
        f'<path d="M{_number(left)} {_number(eaves)}L{_number(left + wide / 2)} {_number(eaves - high)}'
        f'L{_number(left + wide)} {_number(eaves)}" stroke-dasharray="2 1"/>'
    )
    return _box(box, min(letter, 0.5 * high)).replace("</g>", f"{slopes}</g>")


def _ground(plan: StartPlan, letter: float) -> str:
    width, scale = plan.house.width, plan.fit.scale
    left, right, y = plan.frame_mm, plan.panel_mm[0] - plan.frame_mm, plan.ground_mm
    sure = f" +- {said_feet(width.plus_minus_mm)}" if width.plus_minus_mm else ""
    kind = f" ({scale.kind})" if scale.kind else ""
    words = plan.units.told(f"ground line. Scale {scale.name}{kind}; the house is {said_feet(width.mm)}{sure} wide")
    below = y + 1.3 * letter
    rim = plan.panel_mm[1] - plan.frame_mm
    if below > rim - 0.3 * letter:  # no room between ground and frame: on the frame, else above the ground
        below = rim + 1.3 * letter
    at = below if below < plan.panel_mm[1] else y - 0.4 * letter
    line = f'<path d="M{_number(left)} {_number(y)}H{_number(right)}" stroke-width="{2 * LINE_MM}"/>'
    return f'<g id="guide-ground">{line}{_text(words, plan.left_mm, at, letter)}</g>'


def _people(plan: StartPlan, letter: float) -> list[str]:
    """Figures on the ground: a round head, an eighth of the height, on a body that tapers to the feet."""
    figures = []
    step = max(0.1 * plan.fit.width_mm, plan.drawn_mm(ELBOW_ROOM_MM))
    for number, (real, label) in enumerate(PEOPLE):
        high = plan.drawn_mm(real)
        if real > plan.house.height.mm or plan.ground_mm - high < plan.frame_mm:
            continue
        x, y, radius = plan.left_mm + 0.1 * plan.fit.width_mm + number * step, plan.ground_mm, high / 16
        neck, shoulder, foot = y - high + 2 * radius, high * 0.12, high * 0.06
        body = (
            f"M{_number(x - shoulder)} {_number(neck)}H{_number(x + shoulder)}"
            f"L{_number(x + foot)} {_number(y)}H{_number(x - foot)}Z"
        )
        figures.append(
            f'<g id="guide-{label.split()[0]}"><circle cx="{_number(x)}" cy="{_number(y - high + radius)}" '
            f'r="{_number(radius)}"/><path d="{body}"/>'
            f"{_text(label, x, y - high - 0.4 * letter, letter, 'middle')}</g>"
        )
    return figures


def _frame(plan: StartPlan) -> str:
    inset = plan.frame_mm
    width, height = (side - 2 * inset for side in plan.panel_mm)
    return (
        f'<rect id="guide-frame" x="{_number(inset)}" y="{_number(inset)}" width="{_number(width)}" '
        f'height="{_number(height)}" stroke-dasharray="4 2"/>'
    )


def _text(words: str, x: float, y: float, size: float, anchor: str = "start") -> str:
    at = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return (
        f'<text x="{_number(x)}" y="{_number(y)}" font-size="{_number(size)}"{at} fill="{_COLOUR}" stroke="none">'
        f"{escape(words)}</text>"
    )


def _free_id(name: str, taken: list[str]) -> str:
    """An id for a layer: its name as far as an XML name holds it."""
    base = re.sub(r"[^A-Za-z0-9_.-]+", "-", name).strip("-.") or "layer"
    base = base if base[0].isalpha() else f"layer-{base}"
    result, number = base, 1
    while result in taken:
        number += 1
        result = f"{base}-{number}"
    return result


def _number(value: float) -> str:
    """A coordinate in mm, a thousandth fine."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
