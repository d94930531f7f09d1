"""Coats folded into as few as show the same.

Enters: washes, bottom first. Leaves: the same picture in fewer coats, exactly: source-over with a constant opacity
commutes with the interpolation between stops in sRGB, so a flat coat over a gradient is a gradient again. What
doesn't fold exactly, such as a gradient over a gradient, stays a stack.
"""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import replace

from layercut.colour.sampling import LUMINANCE
from layercut.colour.washes import FlatWash, GradedWash, Gradient, GroupWash, Rgb, Stop, Wash

_DIGITS = 9
"""Decimals of folded colours and opacities: the same coats folded in another order must come out equal."""

_SAME = 1e-9
"""Colours and opacities nearer than this are one: rounding only."""


def fold(washes: Sequence[Wash], ground: Rgb | None = None) -> tuple[Wash, ...]:
    """The washes in as few as show the same; over an opaque ground where one is given, and then never empty.

    Whatever lies under an opaque coat falls away. Empty when nothing shows.
    """
    stack: list[Wash] = [] if ground is None else [FlatWash(_rounded_rgb(ground))]
    for wash in washes:
        for part in _unpacked(wash):
            _lay(stack, part)
    return tuple(stack)


def is_opaque(wash: Wash) -> bool:
    """True when a wash lets nothing through anywhere; of a group only when one of its own coats doesn't."""
    if isinstance(wash, GroupWash):
        return wash.opacity >= 1 - _SAME and not wash.mask and any(map(is_opaque, wash.washes))
    if isinstance(wash, FlatWash):
        return wash.opacity >= 1 - _SAME
    return _drawn_everywhere(wash.gradient) and all(
        stop.opacity * wash.opacity >= 1 - _SAME for stop in wash.gradient.stops
    )


def is_clear(wash: Wash) -> bool:
    """True when nothing of a wash shows."""
    if wash.opacity <= _SAME:
        return True
    if isinstance(wash, GradedWash):
        return all(stop.opacity <= _SAME for stop in wash.gradient.stops)
    return isinstance(wash, GroupWash) and all(map(is_clear, wash.washes))


def mean_colour(washes: Sequence[Wash], ground: Rgb) -> Rgb:
    """The mean colour of coats over a ground: of each gradient that between its offsets 0 and 1, in sRGB as drawn."""
    return mean_wash([FlatWash(ground), *washes]).colour


def mean_wash(washes: Sequence[Wash]) -> FlatWash:
    """An even coat that stands for some: of each gradient the mean; of opacity 0 where nothing shows."""
    folded = fold([_as_flat(wash) for wash in washes])
    return _as_flat(folded[0]) if folded else FlatWash((0.0, 0.0, 0.0), 0.0)


def hex_of(colour: Rgb) -> str:
    """`#rrggbb`, in lower case."""
    return "#" + "".join(f"{round(min(max(value, 0.0), 1.0) * 255):02x}" for value in colour)


def rgb_of(colour: str) -> Rgb:
    """The colour of `#rrggbb`."""
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return (red, green, blue)


def _lay(stack: list[Wash], wash: Wash) -> None:
    """Lay a wash on a folded stack."""
    while not is_clear(wash):
        if is_opaque(wash):
            stack.clear()
        joined = _joined(stack[-1], wash) if stack else None
        if joined is None:
            stack.append(wash)
            return
        stack.pop()
        wash = joined


def _unpacked(wash: Wash) -> tuple[Wash, ...]:
    """A wash as simple ones where it is one: a group that does nothing of its own is what lies in it (source-over is
    associative), and the group of a single coat is that coat, thinner."""
    if not isinstance(wash, GroupWash):
        return (_rounded(wash),)
    inner = fold(wash.washes)
    opacity, mask = wash.opacity, fold(wash.mask) if wash.mask else ()
    if wash.mask and not mask:
        return ()
    if mask and (constant := constant_value(mask, wash.mask_by)) is not None:
        opacity, mask = opacity * constant, ()
    if not mask and (opacity >= 1 - _SAME or len(inner) <= 1):
        return tuple(_rounded(_thinned(part, opacity)) for part in inner)
    if len(inner) == 1 and (veiled := _veiled(inner[0], mask, wash.mask_by, opacity)) is not None:
        return (veiled,)
    return (GroupWash(inner, opacity, mask, wash.mask_by),)


def _thinned(wash: Wash, share: float) -> Wash:
    return wash if share >= 1 - _SAME else replace(wash, opacity=wash.opacity * share)


def _joined(under: Wash, over: Wash) -> Wash | None:
    """Two coats as one that shows exactly the same; None where there is none."""
    if isinstance(under, GroupWash) or isinstance(over, GroupWash):
        return None
    if isinstance(under, FlatWash) and isinstance(over, FlatWash):
        return _rounded(_flat_over(over.colour, over.opacity, under.colour, under.opacity))
    if isinstance(over, FlatWash) and isinstance(under, GradedWash):
        if not _even(under):
            return None
        return _each_stop(under, lambda stop: _flat_over(over.colour, over.opacity, stop.colour, stop.opacity))
    if isinstance(under, FlatWash) and isinstance(over, GradedWash):
        if not (_drawn_everywhere(over.gradient) and (_even(over) or _fades_in_steps(over, under))):
            return None
        return _each_stop(over, lambda stop: _flat_over(stop.colour, stop.opacity, under.colour, under.opacity))
    return None


def _flat_over(colour: Rgb, opacity: float, under: Rgb, beneath: float) -> FlatWash:
    """Source-over, W3C Compositing and Blending 1, 5.1: co = cs as + cb ab (1 - as), ao = as + ab (1 - as)."""
    whole = opacity + beneath * (1.0 - opacity)
    if whole <= 0:
        return FlatWash(colour, 0.0)
    red, green, blue = (
        (above * opacity + below * beneath * (1.0 - opacity)) / whole
        for above, below in zip(colour, under, strict=True)
    )
    return FlatWash((red, green, blue), whole)


def _each_stop(wash: GradedWash, lay: Callable[[Stop], FlatWash]) -> Wash:
    """The gradient whose stops are what each of them comes out as."""
    stops = []
    for stop in wash.gradient.stops:
        flat = lay(replace(stop, opacity=stop.opacity * wash.opacity))
        stops.append(Stop(stop.offset, flat.colour, flat.opacity))
    return _rounded_graded(GradedWash(replace(wash.gradient, stops=tuple(stops))))


def _even(wash: GradedWash) -> bool:
    """True when a gradient is equally opaque wherever it is drawn, and it is drawn everywhere."""
    opacities = [stop.opacity for stop in wash.gradient.stops]
    return max(opacities) - min(opacities) <= _SAME and _drawn_everywhere(wash.gradient)


def _fades_in_steps(wash: GradedWash, under: FlatWash) -> bool:
    """True when between any two stops either only the colour or only the opacity changes, over an opaque ground: the
    mix of both is straight then."""
    return under.opacity >= 1 - _SAME and all(
        _near(one.colour, other.colour) or abs(one.opacity - other.opacity) <= _SAME
        for one, other in itertools.pairwise(wash.gradient.stops)
    )


def _near(one: Rgb, other: Rgb) -> bool:
    return all(abs(a - b) <= _SAME for a, b in zip(one, other, strict=True))


def _drawn_everywhere(gradient: Gradient) -> bool:
    """False for a radial gradient whose first circle doesn't lie within the last: beside their cone nothing is drawn;
    and for a map that leaves no area."""
    a, b, c, d, _, _ = gradient.to_mm
    if a * d - b * c == 0:
        return False
    if gradient.kind == "linear":
        return True
    fx, fy, fr, cx, cy, r = gradient.points
    apart = ((cx - fx) ** 2 + (cy - fy) ** 2) ** 0.5
    return r <= 0 or apart + fr < r * (1 - 1e-9)


def constant_value(mask: Sequence[Wash], by: str) -> float | None:
    """What a mask of one flat coat lets through everywhere; None for any other. Its washes must be folded."""
    if len(mask) != 1 or not isinstance(mask[0], FlatWash):
        return None
    return _value(mask[0].colour, mask[0].opacity, by)


def _value(colour: Rgb, opacity: float, by: str) -> float:
    return opacity if by == "alpha" else float(LUMINANCE @ colour) * opacity


def _veiled(wash: Wash, mask: Sequence[Wash], by: str, opacity: float) -> Wash | None:
    """A flat coat under a mask of one gradient: a gradient of opacity, where values run straight between stops."""
    if not isinstance(wash, FlatWash) or len(mask) != 1 or not isinstance(mask[0], GradedWash):
        return None
    veil = mask[0]
    if by == "luminance" and not all(
        _near(one.colour, other.colour) or abs(one.opacity - other.opacity) <= _SAME
        for one, other in itertools.pairwise(veil.gradient.stops)
    ):
        return None
    whole = wash.opacity * opacity * veil.opacity
    stops = tuple(
        Stop(stop.offset, wash.colour, _value(stop.colour, stop.opacity, by) * whole) for stop in veil.gradient.stops
    )
    return _rounded_graded(GradedWash(replace(veil.gradient, stops=stops)))


def _as_flat(wash: Wash) -> FlatWash:
    """An even coat that stands for a wash."""
    if isinstance(wash, FlatWash):
        return wash
    if isinstance(wash, GradedWash):
        even = even_coat(wash.gradient.stops)
        return replace(even, opacity=even.opacity * wash.opacity)
    flat, share = mean_wash(wash.washes), wash.opacity
    if wash.mask:
        veil = mean_wash(wash.mask)
        share *= _value(veil.colour, veil.opacity, wash.mask_by)
    return FlatWash(flat.colour, flat.opacity * share)


def mean_of_stops(stops: Sequence[Stop]) -> Rgb:
    """The mean red, green and blue between the offsets 0 and 1, whatever the opacity."""
    return even_coat([replace(stop, opacity=1.0) for stop in stops]).colour


def even_coat(stops: Sequence[Stop]) -> FlatWash:
    """The even coat that looks from afar like all between the offsets 0 and 1: mean opacity, and the mean colour by
    how much there is of each."""
    first, last = stops[0], stops[-1]
    padded = [replace(first, offset=0.0), *stops, replace(last, offset=1.0)]
    colour, opacity = [0.0, 0.0, 0.0], 0.0
    for one, other in itertools.pairwise(padded):
        width, a, b = other.offset - one.offset, one.opacity, other.opacity
        opacity += width * (a + b) / 2
        for channel in range(3):
            # The integral of colour times opacity, both straight between the stops.
            p, q = one.colour[channel], other.colour[channel]
            colour[channel] += width * (p * (2 * a + b) + q * (a + 2 * b)) / 6
    if opacity <= 0:
        return FlatWash((0.0, 0.0, 0.0), 0.0)
    red, green, blue = (channel / opacity for channel in colour)
    return FlatWash((red, green, blue), opacity)


def _rounded(wash: Wash) -> Wash:
    """The same wash, its numbers without their last digits; a gradient of one colour is a flat coat."""
    if isinstance(wash, FlatWash):
        return FlatWash(_rounded_rgb(wash.colour), round(min(wash.opacity, 1.0), _DIGITS))
    return _rounded_graded(wash) if isinstance(wash, GradedWash) else wash


def _rounded_graded(wash: GradedWash) -> Wash:
    """The opacity goes into the stops, so that equal coats are equal values."""
    stops = tuple(
        Stop(stop.offset, _rounded_rgb(stop.colour), round(min(stop.opacity * wash.opacity, 1.0), _DIGITS))
        for stop in wash.gradient.stops
    )
    if len({(stop.colour, stop.opacity) for stop in stops}) == 1 and _drawn_everywhere(wash.gradient):
        return FlatWash(stops[0].colour, stops[0].opacity)
    return GradedWash(replace(wash.gradient, stops=stops))


def _rounded_rgb(colour: Rgb) -> Rgb:
    red, green, blue = (round(min(max(value, 0.0), 1.0), _DIGITS) for value in colour)
    return (red, green, blue)
