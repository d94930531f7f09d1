"""How many coats a colour takes: pigments that hide badly need more.

Enters: a colour, `#rrggbb`, and the job. Leaves: a number of coats, and findings. Every number here is common
practice of house and hobby painters over bare wood, not a measurement: paints differ, and their labels win.
"""

import json
import math
from collections.abc import Iterable, Iterator

from layercut.colour.oklab import oklab_of
from layercut.findings import Finding, nearest_names
from layercut.job_tables import PaintJob
from layercut.workplan import Colour

WHITE_COATS, YELLOW_COATS, LIGHT_COATS, BRIGHT_COATS, OTHER_COATS = 4, 4, 3, 3, 2
"""Coats over bare wood, which yellows what lies on it: of white, of strong yellow, of other light colours, of bright
reds and oranges, whose pigments let light through, and of all the rest (common practice)."""

WHITE_LIGHTNESS, WHITE_CHROMA = 0.93, 0.03
"""From this lightness and up to this chroma in OKLab a colour is white here: off-whites too (own choice)."""

LIGHT_LIGHTNESS = 0.8
"""From this lightness a colour is light (own choice)."""

YELLOW_HUES, YELLOW_CHROMA, YELLOW_LIGHTNESS = (82.0, 118.0), 0.1, 0.7
"""Strong yellow: hues in degrees, least chroma and lightness in OKLab (own choice)."""

BRIGHT_HUES, BRIGHT_CHROMA, BRIGHT_LIGHTNESS = (10.0, 82.0), 0.16, 0.5
"""Bright red and orange, likewise (own choice)."""


def coats_by_colour(colour: str) -> int:
    """Coats of a colour over bare wood (common practice)."""
    lightness, a, b = oklab_of(colour)
    chroma, hue = math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360
    if lightness >= WHITE_LIGHTNESS and chroma <= WHITE_CHROMA:
        return WHITE_COATS
    if YELLOW_HUES[0] <= hue <= YELLOW_HUES[1] and chroma >= YELLOW_CHROMA and lightness >= YELLOW_LIGHTNESS:
        return YELLOW_COATS
    if lightness >= LIGHT_LIGHTNESS:
        return LIGHT_COATS
    if BRIGHT_HUES[0] <= hue <= BRIGHT_HUES[1] and chroma >= BRIGHT_CHROMA and lightness >= BRIGHT_LIGHTNESS:
        return BRIGHT_COATS
    return OTHER_COATS


def coats_of(middle: str, drawn: Iterable[str], paint: PaintJob) -> int:
    """Coats of a paint whose middle shade is `middle`: the most that the job says for one of the colours `drawn` in
    it, else what it says for all, else by colour."""
    told = [paint.coats_of[colour] for colour in drawn if colour in paint.coats_of]
    if told:
        return max(told)
    return paint.coats if paint.coats is not None else coats_by_colour(middle)


def coats_findings(colours: Iterable[Colour], paint: PaintJob) -> Iterator[Finding]:
    """A warning for each colour that `paint.coats_of` names and that no paint of the drawing has."""
    known = list(dict.fromkeys(drawn for colour in colours for drawn in drawn_in(colour)))
    for wanted in paint.coats_of:
        if wanted not in known:
            line = f"paint.coats_of names {json.dumps(wanted)}, but no paint of the drawing has this colour."
            yield Finding("name-unmatched", "warning", f"{line} {nearest_names(wanted, known)}", element=wanted)


def drawn_in(colour: Colour) -> tuple[str, ...]:
    """All colours of the drawing for which a paint stands: its own, those merged into it, its stops."""
    return (colour.colour, *(one.colour for one in colour.merged), *(stop.colour for stop in colour.blend))
