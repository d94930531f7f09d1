"""How short the routes are, and how long they take (processor time): `python tests/bench/routes.py [SECONDS]`.

Prints the examples of TSPLIB95 (G. Reinelt, ORSA Journal on Computing 3 (4), 1991) against their published optima
(they lie beside the repository), then sheets of marks and rings,
against a general solver where one is installed (see `route_oracle`), which is given SECONDS (10) for each.
"""

import importlib.util
import sys
import time
from pathlib import Path

import numpy as np
from shapely import LineString, Point, Polygon

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from tours import shortest_tour

from layercut.sheets.order import order_lines, order_rings

INSTANCES = Path(__file__).parents[3] / "shared" / "refs" / "tsplib"
NAMES = ("eil51", "berlin52", "st70", "kroA100", "a280", "pcb442", "pr1002")
SIDE_MM = 300.0


def published() -> None:
    """Closed tours, against the unrounded length of the published best one, and the bar for each."""
    print(f"{'example':10} {'best':>12} {'found':>12} {'over':>7} {'bar':>4} {'s':>6}")
    for name in NAMES:
        path = INSTANCES / f"{name}.csv"
        if not path.exists():
            print(f"{name:10} isn't beside this repository")
            continue
        text = path.read_text(encoding="utf-8")
        best = float(text.split("optimal_tour_unrounded_length=")[1].split()[0])
        points = np.array([line.split(",")[1:3] for line in text.splitlines() if line[:1].isdigit()], dtype=float)
        begun = time.process_time()
        tour = points[shortest_tour(points)]
        took = time.process_time() - begun
        found = float(np.hypot(*(tour - np.roll(tour, 1, axis=0)).T).sum())
        bar = 3 if len(points) < 1000 else 5
        print(f"{name:10} {best:12.2f} {found:12.2f} {100 * (found / best - 1):6.2f}% {bar:3}% {took:6.2f}")


def marks(count: int, seed: int = 0) -> list[LineString]:
    """Open lines of up to 8 mm, anywhere on a sheet."""
    chance = np.random.default_rng(seed)
    first, turn = chance.random((count, 2)) * SIDE_MM, chance.random(count) * 2 * np.pi
    step = np.column_stack([np.cos(turn), np.sin(turn)]) * chance.random((count, 1)) * 8
    return [LineString([a, a + d]) for a, d in zip(first, step, strict=True)]


def rings(count: int, nested: float, seed: int = 0) -> list[Polygon]:
    """Discs apart from each other, a share of them with a smaller one inside."""
    chance = np.random.default_rng(seed)
    discs: list[tuple[float, float, float]] = []
    while len(discs) < count:
        x, y, radius = chance.random() * SIDE_MM, chance.random() * SIDE_MM, 1 + 4 * chance.random()
        if all((x - u) ** 2 + (y - v) ** 2 > (radius + r) ** 2 for u, v, r in discs):
            discs.append((x, y, radius))
    inner = [(x, y, radius / 2) for x, y, radius in discs if chance.random() < nested]
    return [Point(x, y).buffer(radius, quad_segs=32) for x, y, radius in discs + inner]


def sheets(seconds: float) -> None:
    """Marks and rings of one sheet. The solver knows no gates and no nesting, so rings have nothing to be held to."""
    solver = importlib.util.find_spec("fast_tsp") is not None
    sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
    print(f"\n{'sheet':22} {'travel mm':>10} {'solver':>10} {'over':>7} {'s':>6}")
    for count in (100, 500, 2000, 10_000):
        lines = marks(count)
        begun = time.process_time()
        travel = order_lines(lines, (0, 0)).travel_mm
        took = time.process_time() - begun
        judged = ""
        if solver and count <= 2000:  # the solver's full matrix is too much for more
            from route_oracle import solver_travel_mm  # noqa: PLC0415

            best = solver_travel_mm(lines, seconds)
            judged = f"{best:10.1f} {100 * (travel / best - 1):6.2f}%"
        print(f"{f'{count} lines':22} {travel:10.1f} {judged:>18} {took:6.2f}")
    for count, nested in ((50, 0.0), (500, 0.0), (400, 0.25)):
        found = rings(count, nested)
        begun = time.process_time()
        travel = order_rings(found, (0, 0)).travel_mm
        took = time.process_time() - begun
        print(f"{f'{len(found)} rings, {nested:.0%} nested':22} {travel:10.1f} {'':>18} {took:6.2f}")


if __name__ == "__main__":
    published()
    sheets(float(sys.argv[1]) if len(sys.argv) > 1 else 10.0)
