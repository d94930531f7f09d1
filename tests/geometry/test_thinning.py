"""Thinning: lines of any length, within the tolerance, nothing that comes to cross."""

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

import layercut
from layercut.geometry.thinning import STRETCH, thinned, thinned_apart

TEETH = """
import sys, threading
import numpy as np, shapely
from layercut.geometry.thinning import thinned, thinned_apart
number = np.arange(20_000)
high = 20 * (1 - 0.9 * number / len(number))
teeth = np.column_stack([25 + number / 400, 50 + np.where(number % 2, high, -high)])
line, saw = shapely.LineString(teeth), shapely.Polygon([*teeth, (76, 90), (25, 90)])
acts = {"ours": (thinned, thinned_apart), "plain": (shapely.simplify,)}
def run():
    for act in acts[sys.argv[1]]:
        for shape in (line, saw):
            print(shapely.get_num_coordinates(shape) - shapely.get_num_coordinates(act(shape, 0.002)), flush=True)
threading.stack_size(512 * 1024)
thread = threading.Thread(target=run)
thread.start()
thread.join()
"""
"""Teeth that grow smaller, of which the first vertex always stands out most, in a thread with a small stack."""


@pytest.mark.parametrize(("how", "code", "told"), [("ours", 0, "0\n" * 4), ("plain", -11, "")])
def test_teeth_that_grow_smaller_end_no_process(how: str, code: int, told: str) -> None:
    """Simplified in one go, they do: that shows that this is such a case still."""
    done = subprocess.run([sys.executable, "-c", TEETH, how], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (code, told), done.stderr


@pytest.mark.parametrize("act", [thinned, thinned_apart])
def test_a_long_round_is_within_the_tolerance_and_much_shorter(
    act: Callable[[BaseGeometry, float], BaseGeometry],
) -> None:
    ring = Point(0, 0).buffer(50, quad_segs=3 * STRETCH)
    simple = act(MultiPolygon([ring, box(60, 60, 61, 61)]), 0.01)
    assert simple.is_valid
    assert shapely.get_num_coordinates(simple) < 400
    assert shapely.hausdorff_distance(ring.exterior, simple.geoms[0].exterior) < 0.0101
    assert simple.geoms[1].normalize() == box(60, 60, 61, 61).normalize()


def test_holes_and_small_rings_beside_a_long_one_stay_when_nothing_may_vanish() -> None:
    ring = Point(0, 0).buffer(50, quad_segs=STRETCH)
    speck = Point(10, 0).buffer(0.004)
    shape = Polygon(ring.exterior, [speck.exterior])
    assert len(thinned_apart(shape, 0.01).interiors) == 1
    assert thinned_apart(shape, 0.01).is_valid


def test_a_long_line_keeps_its_ends_and_the_height_of_its_points() -> None:
    angle = np.linspace(0, 3, 5 * STRETCH)
    points = np.column_stack([50 * np.cos(angle), 50 * np.sin(angle), np.arange(len(angle))])
    simple = thinned(np.array([LineString(points), LineString(points[:10])], dtype=object), 0.01)
    kept = shapely.get_coordinates(simple[0], include_z=True)
    assert kept[0, 2] == 0
    assert kept[-1, 2] == len(angle) - 1
    assert (points[kept[:, 2].astype(int)] == kept).all()
    assert len(simple[1].coords) == 2


def test_a_short_one_is_thinned_as_geos_does() -> None:
    wave = LineString(np.column_stack([np.linspace(0, 9, 900), np.sin(np.linspace(0, 9, 900))]))
    assert thinned(wave, 0.01) == wave.simplify(0.01, preserve_topology=False)
    assert thinned_apart(wave, 0.01) == wave.simplify(0.01)
    assert thinned(Polygon(), 0.01).is_empty


def test_nothing_else_thins() -> None:
    """GEOS's own is called in one place only, or the next long line ends the process there."""
    home = Path(layercut.__file__).parent
    found = [path.name for path in home.rglob("*.py") if re.search(r"\.simplify\(", path.read_text())]
    assert found == ["thinning.py"]
