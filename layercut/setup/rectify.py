"""A photo, or two, of a wall to one squared-up picture at the drawing's scale, with what is known of its error.

Enters: `Shot` for each photo, the wall's real size, the scale. Leaves: `Rectified`: a PNG, its size on the panel, and
the errors. What a maker writes of points, boxes and checks is read here too.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from layercut.errors import LayercutError
from layercut.png import png_bytes
from layercut.setup.blend import Overlap, square_up
from layercut.setup.homography import CORNER_NAMES, Floats
from layercut.setup.measures import parse_real, said_feet
from layercut.setup.photo import (
    MAX_PIXELS,
    Box,
    check_point,
    make_view,
    raise_top,
    read_photo,
    slip_effects,
)
from layercut.units import MILLIMETRES, Units, said_mm, said_size

MM_PER_INCH = 25.4

DOUBTFUL = 0.05
"""Two views that differ in more than this share of what both see are worth a word."""

NOTICED = 8.0
"""A patch in which two views differ by less than this, of 255, looks alike in both."""

_NUMBER = r"\s*(-?\d+\.?\d*|-?\.\d+)(?:px)?\s*"
_POINT = re.compile(f"{_NUMBER},{_NUMBER}")


@dataclass(frozen=True, slots=True)
class Check:
    """A known spot: where the photo shows it (px), and where it is on the wall (mm from its top left corner)."""

    seen: tuple[float, float]
    known_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Shot:
    """One photo as it is given: the wall's corners in it, boxes where it is hidden (all px), and known spots.

    `options` is what the names of its options begin with, for messages.
    """

    path: Path
    corners: Floats
    hidden: tuple[Box, ...] = ()
    checks: tuple[Check, ...] = ()
    options: str = "--"


@dataclass(frozen=True, slots=True)
class CheckError:
    """How far a known spot comes out from its place: right and down, mm on the real wall."""

    photo: str
    seen: tuple[float, float]
    right_mm: float
    down_mm: float


@dataclass(frozen=True, slots=True)
class Rectified:
    """The squared-up picture: `drawn_mm` is its size on the panel at 1 to `ratio`.

    `slips` holds for each photo how far one pixel's slip of each corner moves the picture at most, mm on the real
    wall, in the order of CORNER_NAMES.
    """

    png: bytes
    pixels: tuple[int, int]
    drawn_mm: tuple[float, float]
    ratio: float
    photos: tuple[str, ...]
    slips: tuple[tuple[float, ...], ...]
    checks: tuple[CheckError, ...]
    unseen: float
    hidden: float
    overlap: Overlap | None


def rectify(
    shots: Sequence[Shot], size_mm: tuple[float, float], ratio: float, dpi: int = 150, above_mm: float = 0.0
) -> Rectified:
    """Square up one photo of a wall, or blend two (see `blend.square_up` for the rule), at 1 to `ratio`.

    `size_mm` is the real size between the corners; the picture goes on above them by `above_mm`, in the wall's plane.
    Raises LayercutError `photo-unreadable`, `photo-corners`, `photo-size`.
    """
    whole_mm = (size_mm[0], size_mm[1] + above_mm)
    drawn = (whole_mm[0] / ratio, whole_mm[1] / ratio)
    pixels = _picture_size(drawn, dpi)
    views = [
        make_view(
            shot.path.name,
            read_photo(shot.path),
            shot.corners,
            size_mm,
            hidden=shot.hidden,
            option=f"{shot.options}corners",
        )
        for shot in shots
    ]
    squared = square_up([raise_top(view, above_mm, size_mm[0]) for view in views], whole_mm, pixels)
    checks = tuple(
        CheckError(view.name, check.seen, *check_point(view, size_mm, check.seen, check.known_mm))
        for view, shot in zip(views, shots, strict=True)
        for check in shot.checks
    )
    return Rectified(
        png_bytes(squared.pixels),
        pixels,
        drawn,
        ratio,
        tuple(view.name for view in views),
        tuple(slip_effects(view, size_mm) for view in views),
        checks,
        squared.unseen,
        squared.hidden,
        squared.overlap,
    )


def parse_shot(
    path: Path,
    corners: str,
    size_mm: tuple[float, float],
    *,
    hidden: Sequence[str] | None = None,
    check: Sequence[str] | None = None,
    options: str = "--",
) -> Shot:
    """A photo and what a maker writes of it. Raises LayercutError `photo-corners`, JobError `measure`."""
    return Shot(
        path,
        parse_corners(corners, f"{options}corners"),
        tuple(parse_box(text, f"{options}hidden") for text in hidden or ()),
        tuple(parse_check(text, size_mm[1], f"{options}check") for text in check or ()),
        options,
    )


def parse_corners(text: str, option: str = "--corners") -> Floats:
    """Four corners in px, such as `212,340 1650,410 1662,1290 205,1344`, shape (4, 2).

    Raises LayercutError `photo-corners`.
    """
    points = [_POINT.fullmatch(word) for word in re.sub(r"\s*,\s*", ",", text.strip()).split()]
    if len(points) != 4 or not all(points):
        message = f"'{text}' is not four points."
        hint = f"Write x,y for {', '.join(CORNER_NAMES)}, with a blank between them."
        raise LayercutError("photo-corners", message, hint, file=option)
    return np.array([[float(point[1]), float(point[2])] for point in points if point])


def parse_box(text: str, option: str = "--hidden") -> Box:
    """A box of a photo, px, such as `300,200,520,900`. Raises LayercutError `photo-corners`."""
    match = re.fullmatch(",".join([_NUMBER] * 4), text)
    if match is None or match[1] == match[3] or match[2] == match[4]:
        message = f"'{text}' is not a box."
        raise LayercutError("photo-corners", message, "Write two opposite corners: x0,y0,x1,y1.", file=option)
    return (float(match[1]), float(match[2]), float(match[3]), float(match[4]))


def parse_check(text: str, height_mm: float, option: str = "--check") -> Check:
    """A known spot such as `412,300=9ft,7ft`: px, then its distances from the wall's left and lower edge.

    Raises LayercutError `photo-corners`, JobError `measure`.
    """
    seen, _, known = text.partition("=")
    point, places = _POINT.fullmatch(seen), known.split(",")
    if point is None or len(places) != 2:
        hint = "Write its pixels, then how far from the wall's left and lower edge it is: 412,300=9ft,7ft."
        raise LayercutError("photo-corners", f"'{text}' is not a known spot.", hint, file=option)
    left, up = (parse_real(place, option, zero=True) for place in places)
    return Check((float(point[1]), float(point[2])), (left, height_mm - up))


def report_lines(made: Rectified, units: Units = MILLIMETRES) -> tuple[str, ...]:
    """What is to be said of a squared-up picture, a line each."""
    wide, high = made.drawn_mm
    lines = [f"{said_size(wide, high)} on the panel (1:{made.ratio:.4g}), {made.pixels[0]} x {made.pixels[1]} pixels"]
    for photo, slips in zip(made.photos, made.slips, strict=True):
        parts = ", ".join(f"{corner} {_both(slip, made)}" for corner, slip in zip(CORNER_NAMES, slips, strict=True))
        lines.append(f"{photo}: one pixel's slip of a corner moves the picture by at most: {parts}")
    for check in made.checks:
        sideways = f"{said_mm(abs(check.right_mm), '.0f')} too far {'right' if check.right_mm > 0 else 'left'}"
        upright = f"{said_mm(abs(check.down_mm), '.0f')} too {'low' if check.down_mm > 0 else 'high'}"
        place = f"{check.seen[0]:g},{check.seen[1]:g}"
        length = _both(float(np.hypot(check.right_mm, check.down_mm)), made)
        lines.append(f"{check.photo}: the spot {place} comes out {sideways} and {upright}: {length}")
    lines += _overlap_lines(made.overlap) if made.overlap is not None else []
    if made.unseen > 0.0005:
        lines.append(f"no photo shows {made.unseen:.1%} of the wall; it is left clear")
    if made.hidden > 0.0005:
        lines.append(f"{made.hidden:.1%} of the wall is hidden in every view of it, so what stands before it shows")
    return tuple(map(units.told, lines))


def report_document(made: Rectified) -> dict[str, Any]:
    """The same for tools: lengths in mm, shares from 0 to 1."""
    overlap = made.overlap
    return {
        "picture": {
            "width_mm": round(made.drawn_mm[0], 3),
            "height_mm": round(made.drawn_mm[1], 3),
            "width_px": made.pixels[0],
            "height_px": made.pixels[1],
            "ratio": round(made.ratio, 6),
        },
        "photos": [
            {
                "file": photo,
                "slip_on_wall_mm": {name: round(slip, 2) for name, slip in zip(CORNER_NAMES, slips, strict=True)},
            }
            for photo, slips in zip(made.photos, made.slips, strict=True)
        ],
        "checks": [
            {
                "file": check.photo,
                "at_px": list(check.seen),
                "right_on_wall_mm": round(check.right_mm, 2),
                "down_on_wall_mm": round(check.down_mm, 2),
            }
            for check in made.checks
        ],
        "unseen": round(made.unseen, 5),
        "hidden": round(made.hidden, 5),
        "overlap": None
        if overlap is None
        else {
            "share": round(overlap.share, 4),
            "mean_difference": round(overlap.mean, 2),
            "differing": round(overlap.differing, 4),
            "worst_difference": round(overlap.worst, 2),
            "worst_at_mm": [round(value, 1) for value in overlap.worst_at],
        },
    }


def _overlap_lines(overlap: Overlap) -> list[str]:
    if not overlap.share:
        return ["the two views have no part of the wall in common, so nothing says how well they agree"]
    lines = [
        f"both views see {overlap.share:.0%} of the wall; there they differ by {overlap.mean:.1f} of 255 on average, "
        f"and clearly in {overlap.differing:.1%}"
    ]
    if overlap.worst > NOTICED:
        across, up = (said_feet(value) for value in overlap.worst_at)
        lines.append(f"they differ most {across} from the wall's left and {up} up, by {overlap.worst:.0f} of 255")
    if overlap.differing > DOUBTFUL:
        lines.append("where they differ, a corner is off or something hides the wall: say where with --hidden")
    return lines


def _both(real_mm: float, made: Rectified) -> str:
    """A length on the wall and on the panel."""
    return f"{said_mm(real_mm, '.1f')} ({said_mm(real_mm / made.ratio, '.2f')} on the panel)"


def _picture_size(drawn_mm: tuple[float, float], dpi: int) -> tuple[int, int]:
    wide, high = (max(1, round(side / MM_PER_INCH * dpi)) for side in drawn_mm)
    if wide * high > MAX_PIXELS:
        message = f"the picture would have {wide} x {high} pixels."
        raise LayercutError("photo-size", message, "Lower --dpi, or check --size and --scale.", file="--dpi")
    if min(drawn_mm) < 1.0:
        message = f"the wall would be {said_size(*drawn_mm, '.2g')} on the panel."
        raise LayercutError("photo-size", message, "Check --size and --scale.", file="--size")
    return wide, high
