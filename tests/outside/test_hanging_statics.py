"""How the picture hangs against statics done another way: by its energy, with scipy, and by virtual work.

Nothing here uses the closed forms of `planning/hangers.py`: where a hanging body comes to rest is where its centre of
gravity is lowest (Torricelli's principle), and the pull of a wire is what its lengthening lets the weight do.
"""

import math

import pytest
from scipy.optimize import brentq, minimize_scalar

from layercut.job import load_job
from layercut.planning.hangers import place_hangers, wire_pull_n
from layercut.planning.hanging import longest_screw_mm
from layercut.stack.panel import make_panel
from layercut.workplan import Hangers

WEIGHT_N = 4.5

CASES = [
    ((280.0, 216.0), (129.0, 118.0), 25.0),
    ((240.0, 240.0), (120.0, 135.0), 30.0),
    ((150, 300), (77, 160), 40.0),
]


def hung(size: tuple[float, float], centre: tuple[float, float], angle: float) -> Hangers:
    job = load_job(None, [f"hanging.wire_angle={angle}deg"])
    return place_hangers(make_panel(*size, job), 14.0, centre, job.hanging)


def depth(hangers: Hangers, centre: tuple[float, float], turn: float, longer: tuple[float, float] = (0, 0)) -> float:
    """How far below the hook the centre of gravity hangs when the picture is turned, its wire wound fast."""
    (left, y), (right, _) = hangers.rings_mm
    to_left, to_right = (math.dist(ring, hangers.hook_mm) for ring in hangers.rings_mm)
    to_left, to_right = to_left + longer[0], to_right + longer[1]
    spacing = right - left
    # The hook lies where circles about both rings meet, in the picture's own coordinates.
    along = (to_left**2 - to_right**2 + spacing**2) / (2 * spacing)
    hook = (left + along, y - math.sqrt(to_left**2 - along**2))
    dx, dy = centre[0] - hook[0], centre[1] - hook[1]
    return dx * math.sin(turn) + dy * math.cos(turn)


@pytest.mark.parametrize(("size", "centre", "angle"), CASES)
def test_it_hangs_level(size: tuple[float, float], centre: tuple[float, float], angle: float) -> None:
    hangers = hung(size, centre, angle)
    found = minimize_scalar(lambda turn: -depth(hangers, centre, turn), bounds=(-1, 1), method="bounded")
    assert found.x == pytest.approx(0, abs=1e-4)


@pytest.mark.parametrize(("size", "centre", "angle"), CASES)
def test_the_pull_is_the_work_of_a_longer_wire(
    size: tuple[float, float], centre: tuple[float, float], angle: float
) -> None:
    """T = W dh / dL of each side alone, the picture held level; the larger of both is told."""
    hangers, step = hung(size, centre, angle), 1e-4

    def pull(side: int) -> float:
        longer = [(step * sign, 0.0) if side == 0 else (0.0, step * sign) for sign in (1, -1)]
        sunk = depth(hangers, centre, 0.0, longer[0]) - depth(hangers, centre, 0.0, longer[1])
        return WEIGHT_N * sunk / (2 * step)

    assert wire_pull_n(WEIGHT_N, hangers, angle) == pytest.approx(max(pull(0), pull(1)), rel=1e-5)


@pytest.mark.parametrize("angle", [10.0, 30.0, 55.0])
def test_a_wire_of_the_length_told_sags_as_far(angle: float) -> None:
    """The sag solved from the wire's length and the rings' distance, by Pythagoras and a root finder."""
    hangers = hung((300.0, 300.0), (150.0, 150.0), angle)
    half = hangers.spacing_mm / 2
    sag = brentq(lambda s: 2 * math.hypot(half, s) - hangers.wire_mm, 0, 1000)
    assert hangers.sag_mm == pytest.approx(sag, rel=1e-9)
    assert hangers.rings_mm[0][1] - sag == pytest.approx(hangers.hook_mm[1], abs=1e-9)


@pytest.mark.parametrize(("spacers", "layers", "longest"), [(3, 4, 10.0), (0, 4, 1.0), (5, 1, 16.0)])
def test_the_longest_screw_by_hand(spacers: int, layers: int, longest: float) -> None:
    """Sheets of 3 mm, of which only the back one is sure to be wood, and 2 mm kept: 3 (n + 1) - 2."""
    job = load_job(None)
    assert longest_screw_mm(make_panel(200, 150, job), layers, spacers, job.hanging, 3.0) == longest
