"""What is wrong or doubtful about a drawing, and the list of all that can be.

Enters: nothing. Leaves: `Finding`, frozen, and `CODES`, the meaning of each code. docs/messages.md explains
every code, and a test holds the two together; each has a known-bad drawing in tests/bad_drawings/.
"""

import difflib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from layercut.units import in_mm

Severity = Literal["error", "warning", "info"]

SEVERITIES: tuple[Severity, ...] = ("error", "warning", "info")

CODES: dict[str, tuple[Severity, str]] = {
    # code: (usual severity, meaning)
    "island": ("error", "wood that is not joined to its sheet's frame would fall out"),
    "neck": ("error", "a part hangs by wood narrower than the limit and would snap off"),
    "chosen": ("info", "what layercut chose for a piece that would fall out, its price and the runner-up"),
    "piece-small": ("warning", "a loose piece is so small that it may fall through the bed"),
    "unsupported-piece": ("error", "a loose piece has nothing behind it that could carry it"),
    "narrow": ("warning", "wood narrower than the limit, though nothing hangs by it alone"),
    "off-panel": ("warning", "a shape reaches beyond the panel; what lies outside is lost"),
    "under-frame": ("warning", "a shape lies wholly under the frame; nobody will see it"),
    "opening-closes": ("warning", "an opening narrower than the kerf can't be cut and stays closed"),
    "opening-pinches": ("warning", "part of an opening is narrower than the kerf and closes"),
    "detail-lost": ("info", "regions too small to cut or see were left out"),
    "mark-off-wood": ("warning", "thin lines run where their layer has no wood, so they can't be marked there"),
    "mark-lost": ("info", "marks too short to burn were left out"),
    "layer-empty": ("warning", "a layer holds no wood"),
    "single-layer": ("info", "a drawing of one layer makes a stack of one sheet, a plain picture"),
    "layer-unseen": ("warning", "no part of a layer's wood is seen; layers in front cover it"),
    "slip": ("info", "the slightest slip of a sheet shows bare wood, since edges of two layers meet exactly"),
    "glaze": ("info", "translucent paint is no wood; it colours the wood that is seen through it"),
    "see-through": ("warning", "a line or text too faint to be meant was left out"),
    "picture": ("info", "a picture is not wood and was ignored"),
    "text-unread": ("warning", "text that can't be read was left out"),
    "font-missing": ("warning", "a font is not on this machine; another was used, or its text was left out"),
    "letter-missing": ("warning", "a font lacks a letter; it was taken from another, or left out"),
    "gap-bridged": ("info", "a small gap in the outline of a line drawing was bridged"),
    "line-open": ("warning", "a line of a line drawing encloses nothing, because it has an open end"),
    "blend": ("info", "a gradient or a soft mask is painted as a blend"),
    "tiles-many": (
        "warning",
        "a pattern or gradient repeats too often to be drawn, so its mean colour stands for it",
    ),
    "paints-many": (
        "warning",
        "translucent paints part a sheet into too many regions; the faintest lost their outlines",
    ),
    "unsupported": ("warning", "something the drawing uses is not supported and was left out or simplified"),
    "pots-shared": ("info", "colours that are hardly told apart, or more than the job has pots for, share a pot"),
    "paint-far": ("warning", "none of your own paints comes near a colour of the drawing"),
    "bed-tight": ("warning", "the rim's cut line doesn't lie on the machine's bed as the sheet is written"),
    "name-unmatched": ("warning", "a name in the job file means nothing in the drawing"),
    "name-old": ("warning", "a choice is kept under a name that counts elements, and can pass to another piece"),
    "choice-idle": ("info", "a choice is not needed, since its piece hangs together with its sheet"),
    "name-repeated": ("info", "two layers share a name; the later one was given a number"),
}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing wrong or doubtful: what, how bad, where and how large.

    `text` holds its quantities as `units.py` leaves them; `message` is the same in mm, for machines and records.
    `at_mm` is a point on the panel, mm from its top left corner, x to the right and y down; `size_mm` the
    width and height of the box around the matter, or its one measured width. Both are None where the
    matter has no place.
    """

    code: str
    severity: Severity
    text: str
    layer: str = ""
    element: str = ""
    at_mm: tuple[float, float] | None = None
    size_mm: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        if self.code not in CODES:
            raise ValueError(f"unknown finding code {self.code!r}")

    @property
    def message(self) -> str:
        """What it is about, its quantities in mm."""
        return in_mm(self.text)


def in_order(findings: Iterable[Finding], layers: Sequence[str]) -> tuple[Finding, ...]:
    """Findings as they are always told: the worst first, then by layer as `layers` has them, code, place, element."""
    depth = {name: index for index, name in enumerate(layers)}

    def rank(finding: Finding) -> tuple[Any, ...]:
        return (
            SEVERITIES.index(finding.severity),
            depth.get(finding.layer, len(depth)),
            finding.layer,
            finding.code,
            finding.at_mm or (),
            finding.element,
            finding.message,
        )

    return tuple(sorted(findings, key=rank))


NEAREST = 3
"""So many names are offered for one that means nothing."""


def nearest_names(name: str, known: Sequence[str], most: int = NEAREST) -> str:
    """A sentence with the known names most like a name, else the first few; empty where none is known."""
    # Names differ in capitals more often than they are others.
    plain = {one.lower(): one for one in reversed(known)}
    near = [plain[one] for one in difflib.get_close_matches(name.lower(), list(plain), n=most, cutoff=0.5)]
    offered = [json.dumps(one, ensure_ascii=False) for one in near or known[:most]]
    if not offered:
        return ""
    *first, last = offered
    listed = f"{', '.join(first)} and {last}" if first else last
    verb = "is" if len(offered) == 1 else "are"
    return f"The nearest {verb} {listed}." if near else f"There {verb} {listed}."
