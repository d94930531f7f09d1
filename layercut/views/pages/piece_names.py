"""What a loose piece is called on a page: as the artist calls it, and where it has no name, what it is and where.

Enters: a build. Leaves: words for each piece, by its id. Holds: no digest of an outline, such as `rect#5loccj6`, is
among them; two pieces may have the same words only where they are drawn alike at one place.
"""

import re

from shapely import Point

from layercut.colour.names import plain_name
from layercut.geometry.regions import box_size
from layercut.model import LoosePiece, Planned, StackLayer, sheets_of
from layercut.units import Units

DRAWN_KINDS = frozenset(
    {"circle", "ellipse", "g", "line", "path", "polygon", "polyline", "rect", "text", "tspan", "use", "wood"}
)
"""What a piece without a name is called by its id before the digest: the kind of its element, or plain wood."""

_DIGEST = re.compile(r"(?P<word>.*)#(?P<digest>[a-z2-7]{7})(?:\+\d+)?")
"""An id that a digest tells apart (`stack.naming`)."""

_PART = re.compile(r"(?P<word>.+)\+(?P<count>\d+)")


def piece_words(build: Planned) -> dict[str, str]:
    """What each loose piece is called, by its id. Empty where there is none."""
    sheets = sheets_of(build)
    layers = {layer.name: layer for layer in build.stack.layers}
    units, words = build.job.units, dict[str, str]()
    carried: dict[str, list[str]] = {}
    for sheet in reversed(sheets):  # what a riser carries lies in front of it
        for piece in sheet.loose:
            if piece.riser:
                under = " and ".join(dict.fromkeys(carried.get(piece.id, ())))
                words[piece.id] = f"riser under {under}" if under else "riser"
            else:
                words[piece.id] = _words(piece, layers.get(sheet.name), units)
            carried.setdefault(piece.rests_on, []).append(words[piece.id])
    return words


def _words(piece: LoosePiece, layer: StackLayer | None, units: Units) -> str:
    """`smoke`; `leaf at 24.0, 93.0 mm`; `a deep green piece at 24.0, 93.0 mm, 6.0 × 4.0 mm`."""  # noqa: RUF002
    if digest := _DIGEST.fullmatch(piece.id):
        place = units.place(*piece.at_mm, digits=0)
        if digest["word"] and digest["word"] not in DRAWN_KINDS:
            return f"{digest['word']} at {place}"
        return f"{_coloured(piece, layer)} at {place}, {units.size(*box_size(piece.region), digits=0)}"
    if part := _PART.fullmatch(piece.id):
        return f"{part['word']}, part {part['count']}"
    label, _, ident = piece.id.partition("#")
    return f"{label} ({ident})" if label and ident else piece.id


def _coloured(piece: LoosePiece, layer: StackLayer | None) -> str:
    """`a deep green piece`, by what is seen at its place."""
    at = Point(piece.at_mm)
    shown = next((part.paint for part in (layer.painted if layer else ()) if part.region.intersects(at)), None)
    if shown is None:
        return "a piece"
    name = plain_name(shown.colour)
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name} piece"
