"""Paths of straight lines and cubic curves, and their flattening to polylines.

Enters: path geometry in any coordinates and an affine map to mm. Leaves: `Path`, and polylines in mm that stay
within `precision.FLATTEN_MM` of the curves. Quadratics are raised to cubics exactly; circular and elliptic arcs
become cubics of at most `precision.ARC_PIECE_DEG` each.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from layercut.geometry.precision import ARC_PIECE_DEG, FLATTEN_MM

Affine: TypeAlias = tuple[float, float, float, float, float, float]
"""(a, b, c, d, e, f): x' = a x + c y + e, y' = b x + d y + f, the order in which SVG writes a matrix."""

FloatArray: TypeAlias = NDArray[np.float64]
BoolArray: TypeAlias = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Path:
    """Subpaths of cubic segments.

    `segments` is (n, 4, 2): start, two handles, end; `straight` (n,) marks those that are lines. Subpath i
    holds the segments from `starts[i]` up to the next start; `closed[i]` says whether it was closed.
    """

    segments: FloatArray
    straight: BoolArray
    starts: tuple[int, ...]
    closed: tuple[bool, ...]

    @property
    def is_empty(self) -> bool:
        """True when there is nothing to draw."""
        return len(self.segments) == 0


@dataclass(frozen=True, slots=True)
class Polyline:
    """One flattened subpath: `points` (n, 2), n >= 2, and which of them are nodes of the path (`nodes`, (n,)).

    A closed one ends where it begins.
    """

    points: FloatArray
    nodes: BoolArray
    closed: bool


LAST_DIGITS = 1e-9
"""Of a coordinate: nearer than this, two places are one but for rounding. A line between them has no direction."""

_PANELS = 16
"""Steps of the parameter in which a curve's bend is taken as even when chords are laid out."""

_SPARE = 1.01
"""Chords laid out for each that is needed where the bend is even: with fewer, many have to be halved."""

_EVENNESS = 0.5
"""The share of B'' that counts whatever its direction. Chords may be long where a curve only changes its speed, but
next to much shorter ones they tell too little of its bend to whoever fits curves to them again."""

_LEAST_SHARE = 1e-3
"""The least density of chords, as a share of a segment's mean: no step of the parameter may be empty."""

_TOGETHER = 10_000
"""Segments, or chords, that are looked at together; what bounds the memory."""

_NO_SPEED = 1e-300
"""Keeps a quotient finite where both its parts are 0."""


@dataclass(slots=True)
class PathBuilder:
    """Collects segments one by one; `build` makes the `Path`."""

    x: float = 0.0
    y: float = 0.0
    _start: tuple[float, float] = (0.0, 0.0)
    _open: bool = False
    _numbers: list[float] = field(default_factory=list)
    _straight: list[bool] = field(default_factory=list)
    _starts: list[int] = field(default_factory=list)
    _closed: list[bool] = field(default_factory=list)

    def move(self, x: float, y: float) -> None:
        """Start a subpath at (x, y)."""
        self.x, self.y = self._start = (x, y)
        self._open = False

    def line(self, x: float, y: float) -> None:
        """A straight line to (x, y)."""
        self._begin()
        self._numbers += (self.x, self.y, self.x, self.y, x, y, x, y)
        self._straight.append(True)
        self.x, self.y = x, y

    def cubic(  # noqa: PLR0917 - coordinates, in the order of path data
        self, x1: float, y1: float, x2: float, y2: float, x: float, y: float
    ) -> None:
        """A cubic curve with handles (x1, y1) and (x2, y2) to (x, y)."""
        self._begin()
        self._numbers += (self.x, self.y, x1, y1, x2, y2, x, y)
        self._straight.append(False)
        self.x, self.y = x, y

    def quadratic(self, x1: float, y1: float, x: float, y: float) -> None:
        """A quadratic curve with handle (x1, y1) to (x, y), raised to the cubic that is the same curve."""
        self.cubic(
            self.x + 2 / 3 * (x1 - self.x),
            self.y + 2 / 3 * (y1 - self.y),
            x + 2 / 3 * (x1 - x),
            y + 2 / 3 * (y1 - y),
            x,
            y,
        )

    def arc(  # noqa: PLR0917 - arguments in the order of path data
        self, rx: float, ry: float, turn_deg: float, large: bool, sweep: bool, x: float, y: float
    ) -> None:
        """An elliptic arc to (x, y), as SVG 2's implementation notes B.2.4 and B.2.5 have it.

        Its cubics span at most `precision.ARC_PIECE_DEG`.
        """
        if (x, y) == (self.x, self.y):
            return
        rx, ry = abs(rx), abs(ry)
        if rx == 0 or ry == 0:
            self.line(x, y)
            return
        cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        dx, dy = (self.x - x) / 2, (self.y - y) / 2
        # Divided by the radii at once, so that tiny and huge radii neither under- nor overflow.
        u, v = (cos * dx + sin * dy) / rx, (cos * dy - sin * dx) / ry
        reach = math.hypot(u, v)
        if reach > 1:
            rx, ry, u, v, reach = rx * reach, ry * reach, u / reach, v / reach, 1.0
        if reach == 0:
            self.line(x, y)
            return
        half = math.sqrt(max(0.0, 1 - reach * reach)) / reach * (-1 if large == sweep else 1)
        cu, cv = half * v, -half * u
        begin = math.atan2(v - cv, u - cu)
        span = math.atan2(-v - cv, -u - cu) - begin
        if sweep and span < 0:
            span += 2 * math.pi
        elif not sweep and span > 0:
            span -= 2 * math.pi
        mx = cos * rx * cu - sin * ry * cv + (self.x + x) / 2
        my = sin * rx * cu + cos * ry * cv + (self.y + y) / 2
        self._arc_pieces((cos * rx, sin * rx, -sin * ry, cos * ry, mx, my), begin, span, (x, y))

    def ellipse(self, cx: float, cy: float, rx: float, ry: float) -> None:
        """A closed ellipse from its rightmost point, turning from x to y."""
        self.move(cx + rx, cy)
        self._arc_pieces((rx, 0.0, 0.0, ry, cx, cy), 0.0, 2 * math.pi, (cx + rx, cy))
        self.close()

    def close(self) -> None:
        """Close the subpath, with a straight line where it doesn't end at its start."""
        x, y = self._start
        if self._open and math.hypot(self.x - x, self.y - y) <= LAST_DIGITS * (1 + math.hypot(x, y)):
            self._numbers[-2:] = x, y  # relative commands add up to their start but for the last digits
        elif not self._open or (self.x, self.y) != self._start:
            self.line(*self._start)
        self._closed[-1] = True
        self._open = False
        self.x, self.y = self._start

    def build(self) -> Path:
        """The path of all that was added."""
        return Path(
            np.array(self._numbers, dtype=np.float64).reshape(-1, 4, 2),
            np.array(self._straight, dtype=np.bool_),
            tuple(self._starts),
            tuple(self._closed),
        )

    def _begin(self) -> None:
        if not self._open:
            self._open = True
            self._starts.append(len(self._straight))
            self._closed.append(False)

    def _arc_pieces(self, axes: Affine, begin: float, span: float, end: tuple[float, float]) -> None:
        """Cubics for the image of an arc of the unit circle; handles of 4/3 tan(piece/4)."""
        a, b, c, d, e, f = axes
        if not math.isfinite(span):  # radii beyond what a float holds
            self.line(*end)
            return
        count = max(1, math.ceil(abs(span) / math.radians(ARC_PIECE_DEG) - 1e-9))
        reach = 4 / 3 * math.tan(span / count / 4)
        for index in range(count):
            t0, t1 = begin + span * index / count, begin + span * (index + 1) / count
            c0, s0, c1, s1 = math.cos(t0), math.sin(t0), math.cos(t1), math.sin(t1)
            u1, v1, u2, v2 = c0 - reach * s0, s0 + reach * c0, c1 + reach * s1, s1 - reach * c1
            x, y = end if index == count - 1 else (a * c1 + c * s1 + e, b * c1 + d * s1 + f)
            self.cubic(a * u1 + c * v1 + e, b * u1 + d * v1 + f, a * u2 + c * v2 + e, b * u2 + d * v2 + f, x, y)


def map_points(points: FloatArray, matrix: Affine) -> FloatArray:
    """The image of points (..., 2) under an affine map; infinite where the map overflows."""
    a, b, c, d, e, f = matrix
    with np.errstate(all="ignore"):
        x, y = points[..., 0], points[..., 1]
        return np.stack((a * x + c * y + e, b * x + d * y + f), axis=-1)


def path_box(path: Path) -> tuple[float, float, float, float] | None:
    """Left, top, width and height of the box around a path, exact; None for an empty one."""
    if path.is_empty:
        return None
    turning = np.concatenate([path.segments[:, 0], path.segments[:, 3]])
    bent = _powers(path.segments[~path.straight])
    with np.errstate(all="ignore"):
        # Where x or y turns back, its derivative 3 a t^2 + 2 b t + c is 0; the stable form of the roots (a may be 0).
        a, b, c = 3 * bent[0], bent[1], bent[2]
        half = -(b + np.copysign(np.sqrt(b * b - a * c), b))
        for t in (half / a, c / half):
            held = np.clip(np.nan_to_num(t), 0.0, 1.0)[None]
            # At the place where x turns, y is on the curve too: such points only add what belongs to the box.
            turning = np.concatenate([turning, *(_points(bent, held[:, axis : axis + 1])[0].T for axis in (0, 1))])
    (x0, y0), (x1, y1) = turning.min(axis=0), turning.max(axis=0)
    return float(x0), float(y0), float(x1 - x0), float(y1 - y0)


def chord_counts(paths: Sequence[Path], placed: FloatArray) -> NDArray[np.int64]:
    """How many chords each placed segment needs to stay within FLATTEN_MM, where they lie best: (n,).

    A chord over a short step h of the parameter is off by h^2/8 times the part of B'' across the curve, so the count
    is the integral of sqrt(that part / 8 FLATTEN_MM), and a little for what changes within a chord and for evenness.
    """
    if not len(placed):
        return np.empty(0, dtype=np.int64)
    counts = np.ones(len(placed), dtype=np.int64)
    bent = np.flatnonzero(~np.concatenate([path.straight for path in paths]))
    for part in _parts(len(bent)):
        needed = _chords_per_panel(_powers(placed[bent[part]])).sum(axis=0)
        counts[bent[part]] = np.maximum(np.ceil(_SPARE * needed), 1)
    return counts


def _parts(count: int) -> Iterator[slice]:
    """So many things in parts that need little memory at a time."""
    return (slice(begin, begin + _TOGETHER) for begin in range(0, count, _TOGETHER))


def _chords_per_panel(powers: FloatArray) -> FloatArray:
    """How many chords each of _PANELS equal steps of the parameter asks for: (_PANELS, n)."""
    t = ((np.arange(_PANELS) + 0.5) / _PANELS)[:, None, None]
    velocity, bend = _velocities(powers, t), _bends(powers, t)
    across = np.abs(velocity[:, 0] * bend[:, 1] - velocity[:, 1] * bend[:, 0])
    speed = np.maximum(np.hypot(velocity[:, 0], velocity[:, 1]), _NO_SPEED)
    whole = np.hypot(bend[:, 0], bend[:, 1])
    return np.sqrt(np.maximum(across / speed, _EVENNESS * whole) / (8 * FLATTEN_MM)) / _PANELS


def _powers(segments: FloatArray) -> FloatArray:
    """The segments (n, 4, 2) as polynomials of their parameter, highest power first: (4, 2, n)."""
    p0, p1, p2, p3 = segments.transpose(1, 2, 0)
    return np.stack((p3 - 3 * p2 + 3 * p1 - p0, 3 * (p0 - 2 * p1 + p2), 3 * (p1 - p0), p0))


def _points(powers: FloatArray, t: FloatArray) -> FloatArray:
    """Points of the curves: (..., 2, n). Powers of t, so that t = 0 gives the node to the last digit."""
    a, b, c, d = powers
    points: FloatArray = ((a * t + b) * t + c) * t + d
    return points


def _velocities(powers: FloatArray, t: FloatArray) -> FloatArray:
    """First derivatives by the parameter: (..., 2, n)."""
    a, b, c, _ = powers
    velocities: FloatArray = (3 * a * t + 2 * b) * t + c
    return velocities


def _bends(powers: FloatArray, t: FloatArray) -> FloatArray:
    """Second derivatives by the parameter: (..., 2, n)."""
    a, b, _, _ = powers
    bends: FloatArray = 6 * a * t + 2 * b
    return bends


def place(paths: Sequence[Path], matrices: Sequence[Affine]) -> FloatArray:
    """All paths' segments, one after another, mapped to mm: (n, 4, 2); not finite where a map overflows."""
    if not paths:
        return np.empty((0, 4, 2))
    segments = np.concatenate([path.segments for path in paths])
    sizes = [len(path.segments) for path in paths]
    table = np.repeat(np.array(matrices, dtype=np.float64), sizes, axis=0)[:, :, None]
    x, y = segments[..., 0], segments[..., 1]
    with np.errstate(all="ignore"):
        return np.stack(
            (
                table[:, 0] * x + table[:, 2] * y + table[:, 4],
                table[:, 1] * x + table[:, 3] * y + table[:, 5],
            ),
            axis=-1,
        )


def flatten(paths: Sequence[Path], placed: FloatArray, counts: NDArray[np.int64]) -> list[tuple[Polyline, ...]]:
    """Each path's subpaths as polylines in mm, all of them computed at once.

    `placed` is what `place` gave for these paths, and finite; `counts` what `chord_counts` gives for that. Each chord
    is certified; around cusps there are a few more of them than counted. An empty path gives no polylines.
    """
    if not len(placed):
        return [() for _ in paths]
    straight = np.concatenate([path.straight for path in paths])
    drawn = [_drawn(placed[part], straight[part], counts[part]) for part in _parts(len(placed))]
    points, sizes = (np.concatenate(some) for some in zip(*drawn, strict=True))
    offsets = np.cumsum(sizes) - sizes
    nodes = np.zeros(len(points), dtype=np.bool_)
    nodes[offsets] = True
    return _split(paths, points, nodes, placed, offsets)


def _drawn(
    segments: FloatArray, straight: BoolArray, counts: NDArray[np.int64]
) -> tuple[FloatArray, NDArray[np.int64]]:
    """The start of every chord, (total, 2), and how many of them each segment has, (n,)."""
    powers = _powers(segments)
    owner, t = _halved(powers, straight, *_spread(powers, counts))
    points = [_points(powers[:, :, owner[part]], t[part]).T for part in _parts(len(owner))]
    return np.concatenate(points), np.bincount(owner, minlength=len(segments))


def _spread(powers: FloatArray, counts: NDArray[np.int64]) -> tuple[NDArray[np.int64], FloatArray]:
    """Where the chords begin: the segment (total,), in order, and the parameter (total,), more of them at bends.

    Inverts the running integral of the density that `chord_counts` sums up. Nothing here depends on the segments
    beside, so that a shape is the same in any company.
    """
    owner = np.repeat(np.arange(len(counts)), counts)
    t = np.zeros(len(owner))
    # What is one chord begins at 0 and needs no density.
    many = np.flatnonzero(counts > 1)
    times = counts[many]
    density = _chords_per_panel(powers[:, :, many])
    density += _LEAST_SHARE * density.mean(axis=0) + _NO_SPEED
    reached = np.concatenate((np.zeros((1, len(many))), np.cumsum(density, axis=0)))
    reached /= reached[-1]
    which = np.repeat(np.arange(len(many)), times)
    share = (np.arange(len(which)) - np.repeat(np.cumsum(times) - times, times)) / times[which]
    panel = np.zeros(len(which), dtype=np.int64)
    for bound in reached[1:-1]:
        panel += share >= bound[which]
    below, above = reached[panel, which], reached[panel + 1, which]
    t[np.repeat(counts > 1, counts)] = (panel + (share - below) / (above - below)) / _PANELS
    return owner, t


def _halved(
    powers: FloatArray, straight: BoolArray, owner: NDArray[np.int64], t: FloatArray
) -> tuple[NDArray[np.int64], FloatArray]:
    """The same beginnings and more, halfway along every chord that is off by more than FLATTEN_MM."""
    owners, beginnings = [owner], [t]
    last = np.append(owner[1:] != owner[:-1], True)
    unsure = ~straight[owner]
    owner, begin, end = owner[unsure], t[unsure], np.where(last, 1.0, np.roll(t, -1))[unsure]
    while len(owner):
        parts = _parts(len(owner))
        off = np.concatenate([_are_off(powers[:, :, owner[part]], begin[part], end[part]) for part in parts])
        owner, begin, end = owner[off], begin[off], end[off]
        middle = (begin + end) / 2
        owners.append(owner)
        beginnings.append(middle)
        owner, begin, end = np.tile(owner, 2), np.append(begin, middle), np.append(middle, end)
    owner, t = np.concatenate(owners), np.concatenate(beginnings)
    order = np.lexsort((t, owner))
    return owner[order], t[order]


def _are_off(powers: FloatArray, begin: FloatArray, end: FloatArray) -> BoolArray:
    """Which chords between two parameters may be further than FLATTEN_MM from their curve, (n,)."""
    largest = np.maximum(*(np.hypot(*_bends(powers, t)) for t in (begin, end)))
    # All of B'' counted as across the chord is the simplest bound, and enough for most.
    off = np.asarray((end - begin) ** 2 * largest > 8 * FLATTEN_MM)
    off[off] = _chord_errors(powers[:, :, off], begin[off], end[off]) > FLATTEN_MM
    return off


def _chord_errors(powers: FloatArray, begin: FloatArray, end: FloatArray) -> FloatArray:
    """No part of the curve between two parameters is further from its chord than this, mm: (n,).

    Across the chord the curve is a cubic that vanishes at both ends, and its second derivative B'' runs straight from
    one value to another. That is the distance from the chord where the curve runs along it without turning back; else
    the whole of B'' bounds the distance from the chord's point of the same parameter.
    """
    step = end - begin
    chord = _points(powers, end) - _points(powers, begin)
    bends = _bends(powers, begin), _bends(powers, end)
    first, last = _velocities(powers, begin), _velocities(powers, end)
    legs = (first, first + step / 2 * bends[0], last)  # the derivative's own control points
    square = (chord**2).sum(axis=0)
    ahead = np.minimum.reduce([(leg * chord).sum(axis=0) for leg in legs])
    along = (ahead >= -LAST_DIGITS * square) & (square > 0)
    length = np.sqrt(np.where(along, square, 1.0))
    across = [np.abs(bend[1] * chord[0] - bend[0] * chord[1]) / length for bend in bends]
    whole = [np.hypot(bend[0], bend[1]) for bend in bends]
    return step**2 * _bulge(*(np.where(along, *both) for both in zip(across, whole, strict=True)))


def _bulge(a: FloatArray, b: FloatArray) -> FloatArray:
    """The largest value between 0 and 1 of the cubic that is 0 at both, with a second derivative from -a to -b.

    It is s (1 - s) (a (2 - s) + b (1 + s)) / 6; a and b aren't negative.
    """
    s = (2 * a + b) / np.maximum(3 * a + np.sqrt(3 * (a * a + a * b + b * b)), _NO_SPEED)
    return s * (1 - s) * (a * (2 - s) + b * (1 + s)) / 6


def _split(
    paths: Sequence[Path],
    points: FloatArray,
    nodes: BoolArray,
    segments: FloatArray,
    offsets: NDArray[np.int64],
) -> list[tuple[Polyline, ...]]:
    """Cut the run of samples into subpaths and give each its last point."""
    result = []
    # `offsets` says where each segment's samples begin; a segment's end is the next one's beginning, so that only the
    # last point of a subpath is missing from them.
    cuts = np.append(offsets, len(points)).tolist()
    last = segments[:, 3:4]
    first = 0
    true = np.ones(1, dtype=np.bool_)
    for path in paths:
        lines = []
        for index, start in enumerate(path.starts):
            begin = first + start
            stop = first + (path.starts[index + 1] if index + 1 < len(path.starts) else len(path.straight))
            lines.append(
                Polyline(
                    np.concatenate((points[cuts[begin] : cuts[stop]], last[stop - 1])),
                    np.concatenate((nodes[cuts[begin] : cuts[stop]], true)),
                    path.closed[index],
                )
            )
        result.append(tuple(lines))
        first += len(path.straight)
    return result


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


def path_length(path: Path) -> float:
    """The length of all segments: a straight one exactly, a curve by Gauss quadrature of its speed at 12 points."""
    legs = np.diff(path.segments, axis=1)
    straight = np.hypot(*(path.segments[:, 3] - path.segments[:, 0]).T)
    t = (_NODES + 1) / 2
    basis = np.stack([(1 - t) ** 2, 2 * t * (1 - t), t**2])
    speed = 3 * np.linalg.norm(np.einsum("kbi,bt->kti", legs, basis), axis=2)
    return float(np.where(path.straight, straight, speed @ (_WEIGHTS / 2)).sum())
