"""What a machine sees of a path: its paint, after inheritance, and so the role that it burns it as.

Enters: the paint properties on root, group and path, and the roles' colours. Leaves: a `ComputedPaint`, and what of
it is not the role's. Holds: the group's name counts for nothing here; machines tell what to do by colour alone.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from tinycss2 import color4

Rgb = tuple[int, int, int]
Colours = Mapping[str, str]
"""The colour of each role, as the manifest has it."""

ROLES = ("mark-area", "mark-line", "cut-opening", "cut-outline")

FILLED = "mark-area"
"""The one role that is a filled area; the others are lines that the beam follows."""

LINE_MM = 0.1
"""Width of every line of a sheet, mm. It is for the eye; but a broad line may be taken for an area to engrave."""

INITIAL = {"fill": "black", "stroke": "none", "stroke-width": "1", "fill-rule": "nonzero"}
"""The paint properties with their initial values; each of them is inherited (SVG 2, chapter 13)."""


@dataclass(frozen=True, slots=True)
class ComputedPaint:
    """The computed paint of an element, as CSS values."""

    fill: str = INITIAL["fill"]
    stroke: str = INITIAL["stroke"]
    width: str = INITIAL["stroke-width"]
    fill_rule: str = INITIAL["fill-rule"]

    def within(self, own: Mapping[str, str]) -> "ComputedPaint":
        """The look of something inside, which has some attributes of its own."""
        given = {name: own[name].strip() for name in INITIAL if own.get(name, "inherit").strip() != "inherit"}
        return ComputedPaint(
            given.get("fill", self.fill),
            given.get("stroke", self.stroke),
            given.get("stroke-width", self.width),
            given.get("fill-rule", self.fill_rule),
        )


def role_fault(look: ComputedPaint, role: str, colours: Colours) -> str | None:
    """What a machine would see other than the role, as the rest of a sentence; None where it sees the role."""
    ink, other = (look.fill, look.stroke) if role == FILLED else (look.stroke, look.fill)
    what, side = ("fill", "stroke") if role == FILLED else ("stroke", "fill")
    if ink == "none":
        return f"has no {what}, so that a machine leaves it out"
    if rgb(ink) is None:
        return f"has the {what} '{ink}', which is no plain colour"
    seen = [name for name, colour in colours.items() if rgb(colour) == rgb(ink)]
    if seen != [role]:
        return f"has the {what} {ink}, " + (f"the colour of {seen[0]}" if seen else "which is no role's colour")
    if other != "none":
        return f"has the {side} {other} beside its {what}, where a machine needs none"
    return _shape_fault(look, role)


def _shape_fault(look: ComputedPaint, role: str) -> str | None:
    if role == FILLED and look.fill_rule != "evenodd":
        return f"has the fill rule {look.fill_rule} instead of evenodd, so that holes in areas are engraved too"
    if role != FILLED and look.width not in {f"{LINE_MM:g}", f"{LINE_MM:g}mm"}:
        return f"has lines {look.width} wide instead of {LINE_MM:g}, which a machine may take for areas"
    return None


@lru_cache(maxsize=1024)
def rgb(text: str) -> Rgb | None:
    """The colour that a CSS value means, whatever its spelling (CSS Color 4); None for anything but an opaque one."""
    colour = color4.parse_color(text)
    if colour is None or isinstance(colour, str) or colour.alpha != 1:
        return None
    try:
        red, green, blue = (round(255 * float(part)) for part in colour.to("srgb").coordinates)
    except (NotImplementedError, TypeError):  # Lab and its like, and parts that are `none`
        return None
    return (red, green, blue)
