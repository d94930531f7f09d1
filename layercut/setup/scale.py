"""Which scale fills the panel.

Enters: the real size of a house (or a shop, or a boat) and the room on the panel, mm. Leaves: the usual scales with
what fits at each, the largest that fits, and the one that would fill the panel exactly.
"""

import re
from dataclasses import dataclass

from layercut.errors import JobError
from layercut.geometry.precision import GRID_MM
from layercut.setup.measures import Measure, parse_real
from layercut.units import said_size

ISO_5455 = (
    1 / 50, 1 / 20, 1 / 10, 1 / 5, 1 / 2, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0,
    100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10000.0,
)  # fmt: skip
"""Real over drawn of the scales of ISO 5455:1979, 5.1."""

MODEL_SCALES = {
    12.0: "1 in to the foot",
    16.0: "3/4 in to the foot",
    24.0: "1/2 in to the foot",
    32.0: "3/8 in to the foot",
    48.0: "1/4 in to the foot",
    64.0: "3/16 in to the foot",
    72.0: "1/6 in to the foot",
    304.8 / 3.5: "3.5 mm to the foot",
    96.0: "1/8 in to the foot",
    160.0: "a model scale",
    192.0: "1/16 in to the foot",
}
"""Common model scales, real over drawn: what they are by arithmetic on the foot. 1:87.1 is 3.5 mm to the foot exactly
(NMRA S-1.2); 1:72 and 1:160 are common practice. These are names, so they are the same for every reader."""

SHOWN = 5
"""So many usual scales that fit are proposed, and one that is too large, for comparison."""

_RATIO = re.compile(r"\s*(\d+\.?\d*|\.\d+)\s*[:/]\s*(\d+\.?\d*|\.\d+)\s*")


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale: `ratio` is real over drawn, so 48 for 1:48; `kind` says whose it is."""

    ratio: float
    kind: str = ""

    @property
    def name(self) -> str:
        """As ISO 5455 writes it: `1:48`, `2:1`; 3.5 mm to the foot is `1:87.1`, as its users write it."""
        drawn, real = (1.0, self.ratio) if self.ratio >= 1 else (1 / self.ratio, 1.0)
        return f"{_short(drawn)}:{_short(real)}"

    def drawn_mm(self, real_mm: float) -> float:
        """How long a real length is on the panel, mm."""
        return real_mm / self.ratio


@dataclass(frozen=True, slots=True)
class Fit:
    """What a scale makes of the house: its size on the panel (mm), whether it fits, and what is left.

    `plus_minus_mm` is the uncertainty of the width on the panel; `unused` the share of the room (0 to 1) that the box
    around the house leaves; the free lengths are negative where it is too large.
    """

    scale: Scale
    width_mm: float
    height_mm: float
    plus_minus_mm: float
    fits: bool
    unused: float
    free_width_mm: float
    free_height_mm: float


def usual_scales() -> tuple[Scale, ...]:
    """The scales of ISO 5455 and common model scales, the largest picture first."""
    kinds = dict.fromkeys(ISO_5455, "ISO 5455") | MODEL_SCALES
    return tuple(Scale(ratio, kinds[ratio]) for ratio in sorted(kinds))


def parse_scale(text: str) -> Scale:
    """A scale such as `1:48`, `2:1` or `1/4in=1ft`. Raises JobError `measure`."""
    ratio = 0.0
    if match := _RATIO.fullmatch(text):
        drawn, real = float(match[1]), float(match[2])
        ratio = real / drawn if drawn else 0.0
    elif "=" in text:
        drawn_text, _, real_text = text.partition("=")
        ratio = parse_real(real_text, "--scale") / parse_real(drawn_text, "--scale")
    if not 1e-4 <= ratio <= 1e6:
        raise JobError("measure", f"'{text}' is not a scale.", "Write it such as 1:48 or 1/4in=1ft.", file="--scale")
    for usual in usual_scales():  # 1:87.1 means 3.5 mm to the foot exactly
        if usual.name == f"1:{_short(ratio)}" or abs(usual.ratio / ratio - 1) < 1e-9:
            return usual
    return Scale(ratio, "your own")


def fit_scale(scale: Scale, width: Measure, height: Measure, room_mm: tuple[float, float]) -> Fit:
    """What a house of this real size makes at a scale, in a room of `room_mm` (width, height).

    It fits where it surely fits: at the upper end of its uncertainty.
    """
    drawn = scale.drawn_mm(width.mm), scale.drawn_mm(height.mm)
    most = scale.drawn_mm(width.most_mm), scale.drawn_mm(height.most_mm)
    fits = all(side <= space + GRID_MM for side, space in zip(most, room_mm, strict=True))
    unused = 1 - min(drawn[0] * drawn[1] / (room_mm[0] * room_mm[1]), 1.0)
    free = room_mm[0] - drawn[0], room_mm[1] - drawn[1]
    return Fit(scale, *drawn, scale.drawn_mm(width.plus_minus_mm), fits, unused, *free)


def filling_scale(width: Measure, height: Measure, room_mm: tuple[float, float]) -> Scale:
    """The scale at which the house just fills the room, whatever number that is."""
    return Scale(max(width.most_mm / room_mm[0], height.most_mm / room_mm[1]), "fills the panel")


def propose_scales(width: Measure, height: Measure, room_mm: tuple[float, float]) -> tuple[Fit, ...]:
    """The usual scales around the panel's size, the largest picture first: the last that is too large, where there is
    one, then those that fit.

    Raises JobError `scale` where the house doesn't fit the room even at the smallest of ISO 5455.
    """
    fits = [fit_scale(scale, width, height, room_mm) for scale in usual_scales()]
    first = next((place for place, fit in enumerate(fits) if fit.fits), None)
    if first is None:
        smallest = fits[-1]
        size = said_size(smallest.width_mm, smallest.height_mm, ".3g")
        message = (
            f"even at {smallest.scale.name} it would be {size}, and "
            f"the panel has room for {said_size(*room_mm, '.3g')}."
        )
        raise JobError("scale", message, "Take a larger panel or a narrower frame, and check the sizes.")
    return tuple(fits[max(first - 1, 0) : first + SHOWN])


def choose_scale(width: Measure, height: Measure, room_mm: tuple[float, float], wanted: Scale | None = None) -> Fit:
    """The wanted scale, else the largest usual one that fits. Raises JobError `scale` where it doesn't fit."""
    proposals = propose_scales(width, height, room_mm)
    best = next(fit for fit in proposals if fit.fits)
    if wanted is None:
        return best
    fit = fit_scale(wanted, width, height, room_mm)
    if not fit.fits:
        message = (
            f"at {wanted.name} it would be {said_size(fit.width_mm, fit.height_mm)}, and the panel has room for "
            f"{said_size(*room_mm)}."
        )
        hint = f"The largest usual scale that fits is {best.scale.name}."
        raise JobError("scale", message, hint, file="--scale")
    return fit


def _short(value: float) -> str:
    """A number of a scale's name: at most one digit after the point."""
    return f"{value:.1f}".removesuffix(".0") if value >= 1 else f"{value:.4g}"
