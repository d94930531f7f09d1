"""Offsets, inscribed circles and written sheets against values that are known without us.

Areas of offsets: A + L r + pi r^2 for a convex region with round joins (Steiner's formula), rectangles by arithmetic.
Largest inscribed circles: the right triangle's (a + b - c) / 2, and 4 sqrt 2 / (1 + sqrt 2) for an L of arms 4.
"""

import math
import re

import numpy as np
import pytest
import shapely
from elements import value
from lxml import etree
from scenes import SceneRun, Scenes
from scipy import ndimage
from shapely import LineString, Point, Polygon, box

from layercut.geometry.offsets import offset_mitre, offset_round, shrink
from layercut.geometry.widths.graph import find_widths
from layercut.geometry.widths.levels import level_at

RECTANGLE = box(0, 0, 100, 60)
TRIANGLE = Polygon([(0, 0), (120, 0), (0, 50)])
RIGHT_345 = Polygon([(0, 0), (4, 0), (0, 3)])
L_SHAPE = Polygon([(0, 0), (10, 0), (10, 4), (4, 4), (4, 10), (0, 10)])


@pytest.mark.parametrize(
    ("region", "radius", "area"),
    [
        (RECTANGLE, 0.1, 6032.031416),
        (RECTANGLE, 5.0, 7678.539816),
        (TRIANGLE, 0.1, 3030.031416),
        (TRIANGLE, 5.0, 4578.539816),
    ],
)
def test_a_round_offset_has_steiners_area(region: Polygon, radius: float, area: float) -> None:
    exact = region.area + region.length * radius + math.pi * radius**2
    assert exact == pytest.approx(area, abs=1e-5)
    # eight chords in a quarter circle are under the arc by 1 - sin(t) / t, t = 11.25 degrees
    under = math.pi * radius**2 * (1 - math.sin(math.pi / 16) / (math.pi / 16))
    assert exact - 1.01 * under - 1e-6 <= offset_round(region, radius).area <= exact


def test_the_kerf_of_a_rectangle_is_arithmetic(scenes: Scenes) -> None:
    assert offset_mitre(RECTANGLE, 0.1).area == pytest.approx(6032.04)
    assert shrink(RECTANGLE, 0.1).area == pytest.approx(5968.04)
    ground = box(0, 0, 120, 80)
    made = scenes.make(
        scenes.drawing([ground], [ground.difference(box(10, 10, 110, 70))], size=(120, 80)), "material.kerf=0.2mm"
    )
    (opening,) = made.sheets[1].openings
    assert opening.area == pytest.approx(99.8 * 59.8)
    assert made.sheets[1].outline.area == pytest.approx(120.2 * 80.2)
    assert made.sheets[1].cut_mm == pytest.approx(2 * (99.8 + 59.8) + 2 * (120.2 + 80.2))


@pytest.mark.parametrize(
    ("region", "radius"),
    [
        (RIGHT_345, 1.0),
        (TRIANGLE, 20.0),
        (L_SHAPE, 4 * math.sqrt(2) / (1 + math.sqrt(2))),
        (RECTANGLE, 30.0),
        (Point(0, 0).buffer(7, 256), 7.0),
    ],
)
def test_a_disc_enters_a_region_up_to_its_largest_inscribed_circle(region: Polygon, radius: float) -> None:
    """Just under the circle's diameter it is a body beside another region, just over it none."""
    graph = find_widths([region, shapely.box(500, 500, 700, 700)], 2 * radius)
    root = graph.mesh.at(600, 600)
    for width, bodies in ((2 * radius - 0.01, 2), (2 * radius + 0.001, 1)):
        assert level_at(graph, width, root).has_body.sum() == bodies


def test_neck_widths_of_known_constructions() -> None:
    """Two discs of radius R whose centres are d apart share a chord of 2 sqrt(R^2 - d^2/4)."""
    for chord in (0.3, 0.8, 1.3):
        apart = 2 * math.sqrt(25 - chord**2 / 4)
        discs = Point(0, 0).buffer(5, 256).union(Point(apart, 0).buffer(5, 256))
        graph = find_widths([discs], 1.5)
        level = level_at(graph, 1.5, graph.mesh.at(0, 0))
        assert sorted(level.widest_ways())[0] == pytest.approx(chord, abs=0.01)


# SVG 1.1 (Second Edition) DTD, content and attributes of the four elements that a sheet uses.
# Checked against the DTD itself: with the `data-` attributes of HTML taken off, written sheets are valid.
CONTENT = {"svg": {"title", "g"}, "g": {"path"}, "title": set(), "path": set()}
ATTRIBUTES = {
    "svg": {"width", "height", "viewBox", "overflow"},
    "g": {"fill", "fill-rule", "stroke", "stroke-width"},
    "title": set(),
    "path": {"d"},
}
PLACE = r"-?\d+(?:\.\d+)? -?\d+(?:\.\d+)?"
PATH_DATA = re.compile(rf"M{PLACE}(?:L{PLACE}|C{PLACE} {PLACE} {PLACE})+Z?")


@pytest.fixture(scope="module")
def made(scenes: Scenes) -> SceneRun:
    """Marks of both kinds, openings, a hole in a hole, a covered shape."""
    ring = Point(30, 60).buffer(15, 64).difference(Point(30, 60).buffer(9, 64))
    front = shapely.union_all([box(0, 45, 20, 70), ring, box(60, 20, 100, 80)]).difference(box(70, 30, 80, 40))
    shapes = [
        front,
        scenes.shape(box(62, 50, 70, 60), "mark-area"),
        scenes.shape(LineString([(65, 25), (90, 28), (95, 70)]), "mark-line"),
        scenes.shape(box(85, 40, 97, 70), colour="#112233"),
    ]
    return scenes.make(scenes.drawing([scenes.ground()], shapes, [box(0, 90, 100, 100)]))


def test_written_sheets_use_only_what_svg_1_1_has(made: SceneRun) -> None:
    for text in made.files:
        root = etree.fromstring(text.encode())
        for element in root.iter():
            name = etree.QName(element)
            assert name.namespace == "http://www.w3.org/2000/svg"
            assert {etree.QName(child).localname for child in element} <= CONTENT[name.localname]
            plain = {key for key in map(str, element.attrib) if not key.startswith("data-")}
            assert plain <= ATTRIBUTES[name.localname]
        paths = [path.get("d") for path in root.iter("{*}path")]
        assert paths
        for group in root.iter("{*}g"):
            if group.get("data-role", "").startswith("cut") or group.get("data-role") == "mark-line":
                assert all(PATH_DATA.fullmatch(value(path, "d")) for path in group)


def _chords(data: str) -> np.ndarray:
    """A path's lines and cubics as chords, (n, 2); each cubic by 24 of them, from its Bernstein form."""
    points: list[np.ndarray] = []
    t = np.linspace(0, 1, 25)[1:, None]
    for letter, numbers in re.findall(r"([MLC])([-\d. ]+)", data):
        places = np.array([float(number) for number in numbers.split()]).reshape(-1, 2)
        if letter == "C":
            a, (b, c, d) = points[-1][-1], places
            places = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
        points.append(places)
    return np.vstack(points)


def _raster(text: str, kerf_mm: float, px_per_mm: int) -> np.ndarray:
    """A written sheet's wood as pixels: even-odd by ray casting, less the beam by distance. No region work."""
    root = etree.fromstring(text.encode())
    rings = []
    for group in root.iter("{*}g"):
        if value(group, "data-role").startswith("cut"):
            for path in group:
                rings.append(_chords(value(path, "d")))
    width, height = (float(value(root, side)[:-2]) for side in ("width", "height"))
    y, x = np.mgrid[0 : height * px_per_mm, 0 : width * px_per_mm]
    x, y = (x + 0.5) / px_per_mm, (y + 0.5) / px_per_mm
    inside = np.zeros(x.shape, dtype=bool)
    clear = np.ones(x.shape, dtype=bool)
    for ring in rings:
        for (x0, y0), (x1, y1) in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            crosses = (y0 > y) != (y1 > y)
            if y0 != y1:
                inside ^= crosses & (x < (x1 - x0) * (y - y0) / (y1 - y0) + x0)
            t = np.clip(
                ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / max((x1 - x0) ** 2 + (y1 - y0) ** 2, 1e-12), 0, 1
            )
            clear &= np.hypot(x - x0 - t * (x1 - x0), y - y0 - t * (y1 - y0)) > kerf_mm / 2
    return inside & clear


def test_pieces_on_a_raster_are_the_proofs_pieces(scenes: Scenes) -> None:
    """scipy.ndimage.label counts them on pixels; islands, a ring with a disc in it, a thin stem."""
    squares = [box(20, 20, 30, 30), box(31, 31, 40, 40), box(60, 20, 80, 40).difference(box(65, 25, 75, 35))]
    thin = box(0, 60, 50, 60.6).union(box(50, 55, 60, 65))
    made = scenes.make(scenes.drawing([scenes.ground()], [*squares, box(68, 28, 72, 32)], [thin]))
    counted = 0
    for text, sheet in zip(made.files, made.sheets, strict=True):
        pixels = _raster(text, made.job.material.kerf, 8)
        counted += int(ndimage.label(pixels)[1])
        assert pixels.sum() / 64 == pytest.approx(sheet.wood.area, rel=0.01)
    assert counted == made.proof.pieces_found
