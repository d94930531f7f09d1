"""Fitting one cubic to each of many stretches of polylines, all of them at once.

Enters: vertices as complex numbers (x + iy, mm), the stretches and the directions at their ends. Leaves: four control
points for each and a certified bound of how far curve and polyline are from each other. Holds: the bound is one of
the Fréchet distance, over every vertex and every edge, so it counts both ways.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Places = NDArray[np.complex128]
Floats = NDArray[np.float64]
Indices = NDArray[np.int64]
Flags = NDArray[np.bool_]

ROUNDS = 4
"""Rounds of least squares; each projects the vertices onto the curve again. More gain nothing measurable."""

HOPELESS = 1000.0
"""A stretch that is further off than this many tolerances after two rounds isn't tried further. Uneven curves begin
far off: with 12, a tenth more nodes were needed."""

TRUST, TRUST_LENGTH = 0.1, 0.05
"""How firmly handles keep to their first guess: a change of 0.05 chords in length, or of all their freedom aside,
weighs as much as a tenth of the tolerance at every vertex. A nearly straight curve hardly says how long its handles
are, and would else have them run away."""

LARGEST_MOVE = 0.3
"""A handle's end moves no further than this in one round, in chords."""

SHORTEST_HANDLE, LONGEST_HANDLE = 0.02, 1.5
"""Bounds of a handle's length, in chords."""


@dataclass(frozen=True, slots=True)
class Stretches:
    """Stretches of polylines: from vertex `first[k]` to `last[k]` of `vertices`.

    `begin` and `end` are unit directions along the line at both ends; `free_begin` and `free_end` say how far the end
    of a handle may come to lie beside them, in chords: 0 where the direction is given, more where it's only a guess.
    """

    vertices: Places
    first: Indices
    last: Indices
    begin: Places
    end: Places
    free_begin: Floats
    free_end: Floats

    def __len__(self) -> int:
        return len(self.first)

    def take(self, which: Indices) -> "Stretches":
        """Some of the stretches, in the order given."""
        return Stretches(
            self.vertices,
            self.first[which],
            self.last[which],
            self.begin[which],
            self.end[which],
            self.free_begin[which],
            self.free_end[which],
        )


@dataclass(frozen=True, slots=True)
class _Samples:
    """All vertices of some stretches, one after another: where each begins, whose each is, and the vertices."""

    starts: Indices
    owner: Indices
    places: Places
    parameter: Floats


def fit_cubics(stretches: Stretches, tolerance_mm: float) -> tuple[Places, Floats]:
    """The control points (k, 4) and the certified distance (k,), mm, of the best cubic for each stretch.

    A stretch that is far from the tolerance is given up early, with a bound that is only rough. Least squares on the
    distance along the curve's normal (Gauss-Newton with foot points; Wang, Pottmann and Liu 2006, "Fitting B-spline
    curves to point clouds by curvature-based squared distance minimization").
    """
    guess = _first_guess(stretches)
    controls = guess.copy()
    bounds = np.full(len(stretches), np.inf)
    live = np.arange(len(stretches))
    samples = _sample(stretches)
    # Each round finds the foot of every vertex on the curve anew, then moves the handles along the normals there.
    for round_number in range(ROUNDS):
        part = stretches if len(live) == len(stretches) else stretches.take(live)
        samples = _project(controls[live], samples)
        controls[live] = _step(part, controls[live], guess[live], samples, TRUST * tolerance_mm)
        if round_number == 1:
            bounds[live] = np.maximum.reduceat(_distances(controls[live], samples), samples.starts)
            near = bounds[live] < HOPELESS * tolerance_mm
            if not near.any():
                return controls, bounds
            if not near.all():
                samples = _keep(samples, near)
                live = live[near]
    if len(live):
        # Twice, for what foot points are still off along an edge counts against the curve.
        samples = _project(controls[live], _project(controls[live], samples))
        bounds[live] = certify(controls[live], samples.places, samples.parameter, samples.starts)
    bounds[find_loops(controls)] = np.inf
    return controls, bounds


def certify(controls: Places, places: Places, parameter: Floats, starts: Indices) -> Floats:
    """How far each curve and its polyline are apart at most, mm (k,), whatever the parameters, which must not fall.

    Along an edge, curve less edge is itself a cubic, and no point of it is further from zero than the farthest
    control point of either half (Farin, "Curves and Surfaces for CAGD", on convex hulls and subdivision). How fast
    the curve runs doesn't count: where it never turns back along the edge, each of its points is held against the
    edge's point beside it, so that along the edge they are no further apart than at its ends.
    """
    sizes = np.diff(np.append(starts, len(places)))
    owner = np.repeat(np.arange(len(starts)), sizes)
    at, speed, _ = _curve(controls, owner, parameter)
    edge = np.diff(places, append=places[-1:])
    length = np.abs(edge)
    turned = np.conj(edge) / np.where(length > 0, length, 1)  # to the edge's own axes: along it, and across
    off, after = (at - places) * turned, np.append((at - places)[1:], 0) * turned
    step = np.diff(parameter, append=parameter[-1:]) / 3
    leaving, arriving = step * speed * turned, step * np.append(speed[1:], 0) * turned
    second, third = off + leaving - length / 3, after - arriving + length / 3
    middle = third - second + length / 3
    slip = (after - off).real / 3
    onward = (leaving.real >= slip) & (middle.real >= slip) & (arriving.real >= slip) & (length > 0)
    aside = np.where(onward, np.maximum(np.abs(off.real), np.abs(after.real)), 0.0)
    second, third = (np.where(onward, 1j * control.imag, control) for control in (second, third))
    first, fourth = (np.where(onward, 1j * control.imag, control) for control in (off, after))
    left, centre, right = (first + second) / 2, (second + third) / 2, (third + fourth) / 2
    inner = ((left + centre) / 2, (centre + right) / 2)
    worst = np.abs(first)
    for control in (left, right, *inner, (inner[0] + inner[1]) / 2, fourth):
        np.maximum(worst, np.abs(control), out=worst)
    worst = np.hypot(worst, aside)
    worst[starts + sizes - 1] = np.abs(at - places)[starts + sizes - 1]
    return np.asarray(np.maximum.reduceat(worst, starts))


def lines_up(stretches: Stretches, slack_mm: float) -> Flags:
    """Which stretches are straight: all vertices within the slack of the chord, and none going back."""
    samples = _sample(stretches)
    begin, end = stretches.vertices[stretches.first], stretches.vertices[stretches.last]
    chord = end - begin
    length = np.abs(chord)
    unit = chord / np.where(length > 0, length, 1)
    along = (samples.places - begin[samples.owner]) * np.conj(unit[samples.owner])
    back = np.diff(along.real, append=along.real[-1:]) < 0
    back[np.append(samples.starts[1:], len(back)) - 1] = False
    bad = (np.abs(along.imag) > slack_mm) | back
    return ~np.logical_or.reduceat(bad, samples.starts) & (length > 0)


def _first_guess(stretches: Stretches) -> Places:
    """Handles as long as Hobby's formula has them for the angles at both ends (Hobby 1986, "Smooth, easy to compute
    interpolating splines")."""
    begin, end = stretches.vertices[stretches.first], stretches.vertices[stretches.last]
    chord = end - begin
    length = np.abs(chord)
    with np.errstate(all="ignore"):
        a, b = np.angle(stretches.begin / chord), np.angle(chord / stretches.end)
    a, b = np.where(length > 0, a, 0.0), np.where(length > 0, b, 0.0)
    sin_a, sin_b, cos_a, cos_b = np.sin(a), np.sin(b), np.cos(a), np.cos(b)
    top = np.sqrt(2) * (sin_a - sin_b / 16) * (sin_b - sin_a / 16) * (cos_a - cos_b)
    golden = (np.sqrt(5) - 1) / 2
    low = 0.2
    reach_a = (2 + top) / np.maximum(1 + golden * cos_a + (1 - golden) * cos_b, low) * length / 3
    reach_b = (2 - top) / np.maximum(1 + golden * cos_b + (1 - golden) * cos_a, low) * length / 3
    reach_a, reach_b = (np.clip(r, SHORTEST_HANDLE * length, LONGEST_HANDLE * length) for r in (reach_a, reach_b))
    return np.stack([begin, begin + reach_a * stretches.begin, end - reach_b * stretches.end, end], axis=1)


def _sample(stretches: Stretches) -> _Samples:
    """The vertices, each with its share of the polyline's length as first parameter."""
    sizes = stretches.last - stretches.first + 1
    starts = np.cumsum(sizes) - sizes
    owner = np.repeat(np.arange(len(sizes)), sizes)
    places = stretches.vertices[np.arange(int(sizes.sum())) + (stretches.first - starts)[owner]]
    edges = np.abs(np.diff(places, prepend=places[:1]))
    edges[starts] = 0.0
    way = np.cumsum(edges)
    way -= way[starts][owner]
    total = way[starts + sizes - 1]
    return _Samples(starts, owner, places, way / np.where(total > 0, total, 1)[owner])


def _keep(samples: _Samples, kept: Flags) -> _Samples:
    """Only the samples of some stretches."""
    chosen = kept[samples.owner]
    sizes = np.diff(np.append(samples.starts, len(samples.places)))[kept]
    starts = np.cumsum(sizes) - sizes
    owner = np.repeat(np.arange(len(sizes)), sizes)
    return _Samples(starts, owner, samples.places[chosen], samples.parameter[chosen])


def _curve(controls: Places, owner: Indices, t: Floats) -> tuple[Places, Places, Places]:
    """Point, first and second derivative of each sample's curve."""
    p0, p1, p2, p3 = controls.T
    c1, c2, c3 = 3 * (p1 - p0), 3 * (p0 - 2 * p1 + p2), p3 - p0 + 3 * (p1 - p2)
    a0, a1, a2, a3 = p0[owner], c1[owner], c2[owner], c3[owner]
    at = ((a3 * t + a2) * t + a1) * t + a0
    speed = (3 * a3 * t + 2 * a2) * t + a1
    return at, speed, 6 * a3 * t + 2 * a2


def _distances(controls: Places, samples: _Samples) -> Floats:
    at, _, _ = _curve(controls, samples.owner, samples.parameter)
    return np.asarray(np.abs(at - samples.places))


def _project(controls: Places, samples: _Samples) -> _Samples:
    """One Newton step of every parameter towards its foot point; the parameters keep their order, the ends stay."""
    at, speed, bend = _curve(controls, samples.owner, samples.parameter)
    off = at - samples.places
    size = speed.real**2 + speed.imag**2
    slope = size + off.real * bend.real + off.imag * bend.imag
    slope = np.where(slope > 0.1 * size, slope, size)
    step = (off.real * speed.real + off.imag * speed.imag) / np.where(slope > 0, slope, 1)
    t = np.clip(samples.parameter - np.clip(step, -0.2, 0.2), 0.0, 1.0)
    last = np.append(samples.starts[1:], len(t)) - 1
    t[samples.starts], t[last] = 0.0, 1.0
    # Each stretch a unit further on, so that one running maximum keeps all of them in order.
    shift = 2.0 * samples.owner
    t = np.clip(np.maximum.accumulate(t + shift) - shift, 0.0, 1.0)
    t[samples.starts], t[last] = 0.0, 1.0
    return _Samples(samples.starts, samples.owner, samples.places, t)


def _step(stretches: Stretches, controls: Places, guess: Places, samples: _Samples, noise_mm: float) -> Places:
    """Controls after one round of Gauss-Newton on both handles: their lengths, and at free ends where they point."""
    at, speed, _ = _curve(controls, samples.owner, samples.parameter)
    size = np.abs(speed)
    normal = 1j * speed / np.where(size > 0, size, 1)
    off = samples.places - at
    t = samples.parameter
    one, two = 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2
    along = np.conj(normal) * stretches.begin[samples.owner]
    back = np.conj(normal) * -stretches.end[samples.owner]
    columns = [one * along.real, -one * along.imag, two * back.real, -two * back.imag]
    columns.append(normal.real * off.real + normal.imag * off.imag)
    table = np.empty((14, len(t)))
    for row, (i, j) in enumerate(_PAIRS):
        np.multiply(columns[i], columns[j], out=table[row])
    sums = np.add.reduceat(table, samples.starts, axis=1).T
    matrix, right = sums[:, _PRODUCT[:, :4]], sums[:, _PRODUCT[:, 4]]
    _add_trust(stretches, controls, guess, matrix, right, noise_mm)
    moves: Floats = np.linalg.solve(matrix, right[:, :, None])[:, :, 0].astype(np.float64)
    return _moved(stretches, controls, moves)


_PAIRS = tuple((i, j) for i in range(4) for j in range(i, 5))
"""The products that the normal equations are made of: of two unknowns' columns, or of one and the distances (4)."""

_PRODUCT = np.array([[_PAIRS.index((min(i, j), max(i, j))) for j in range(5)] for i in range(4)])
"""Which of the products stands in which row and column of the equations, the right side last."""


def _add_trust(  # noqa: PLR0917 - the equations and what they are about
    stretches: Stretches, controls: Places, guess: Places, matrix: Floats, right: Floats, noise_mm: float
) -> None:
    """Make the equations keep to the first guess, and to the given directions where the ends aren't free."""
    count = stretches.last - stretches.first + 1
    chord = np.maximum(np.abs(controls[:, 3] - controls[:, 0]), 1e-6)
    one = (guess[:, 1] - controls[:, 1]) * np.conj(stretches.begin)
    two = (guess[:, 2] - controls[:, 2]) * np.conj(-stretches.end)
    behind, reach = np.empty((2, len(count), 4))
    behind[:, 0], behind[:, 1], behind[:, 2], behind[:, 3] = one.real, one.imag, two.real, two.imag
    reach[:, 0::2] = TRUST_LENGTH
    reach[:, 1], reach[:, 3] = stretches.free_begin, stretches.free_end
    free = reach > 0
    weight = count[:, None] * (noise_mm / (np.where(free, reach, 1.0) * chord[:, None])) ** 2
    matrix *= free[:, :, None] & free[:, None, :]
    diagonal = np.arange(4)
    matrix[:, diagonal, diagonal] += np.where(free, weight, 1.0)
    right += weight * behind
    right *= free


def _moved(stretches: Stretches, controls: Places, moves: Floats) -> Places:
    """The handles after a step, kept within sensible lengths."""
    begin, _, _, end = controls.T
    length = np.abs(end - begin)
    low, high, most = SHORTEST_HANDLE * length, LONGEST_HANDLE * length, (LARGEST_MOVE * length)[:, None]
    moves = np.minimum(np.maximum(moves, -most), most)
    one = (controls[:, 1] - begin) * np.conj(stretches.begin) + (moves[:, 0] + 1j * moves[:, 1])
    two = (controls[:, 2] - end) * np.conj(-stretches.end) + (moves[:, 2] + 1j * moves[:, 3])
    moved = np.empty_like(controls)
    moved[:, 0], moved[:, 3] = begin, end
    for column, handle, base, way in ((1, one, begin, stretches.begin), (2, two, end, -stretches.end)):
        along = np.minimum(np.maximum(handle.real, low), high)
        aside = np.minimum(np.maximum(handle.imag, -along), along)
        moved[:, column] = base + (along + 1j * aside) * way
    return moved


def find_loops(controls: Places) -> Flags:
    """Which curves cross or touch themselves: an exact test.

    With B(t) = B(s) and the factor t - s taken out, sum p and product q of both parameters follow from
    a3 (p^2 - q) + a2 p + a1 = 0, where a1, a2, a3 are the curve's coefficients.
    """
    p0, p1, p2, p3 = controls.T
    a1, a2, a3 = 3 * (p1 - p0), 3 * (p0 - 2 * p1 + p2), p3 - p0 + 3 * (p1 - p2)
    with np.errstate(all="ignore"):
        side = _cross(a2, a3)
        total = -_cross(a1, a3) / side
        product = total**2 - _cross(a1, a2) / side
        apart = np.sqrt(total**2 - 4 * product)
        return np.asarray((total - apart >= 0) & (total + apart <= 2))


def _cross(a: Places, b: Places) -> Floats:
    return a.real * b.imag - a.imag * b.real
