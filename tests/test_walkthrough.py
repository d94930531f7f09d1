"""docs/walkthrough.md, run as it stands, and held against the scene that its photos were taken of.

The walk runs once. Then: each output that the page shows is what its commands say; the squared-up picture, the
drawing and the cut have every edge where the scene has it; and each number on the traveller is worked out again from
what the page's last table names as its source. `--update-gold` draws the page's guide.png and stack.png anew.
"""

import io
import itertools
import json
import math
import os
import re
import shutil
import stat
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, reduce
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import scene_photos as scene
import shapely
import shapely.affinity
import svgelements
from coloraide import Color
from lxml import etree, html
from PIL import Image
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from layercut.job import Job, known_keys, load_job
from layercut.workshop.rectify import parse_shot, rectify

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "walkthrough.md"
GIVEN = ROOT / "docs" / "walkthrough"

EDGE_MM = 20.0
"""How far an edge may come out from its place on the real house, as the page says: half of it is what a click on
whole pixels may do (a pixel's slip moves the picture by up to 23 mm), and 14.4 mm the overhead picture's own error
over the width of the house."""

SHAPE_MM = 10.0
"""The same without the overhead picture's error."""

DRAWN_MM = 5.0
"""A drawing in tenths of a millimetre, at 1:48."""

UNITS = r"mm²|mm/s²|mm/s|mm|cm²|m/s²|mg/m³|kg/m³|kg|g|m|min|N|%|°|sheets|coats|pieces"
"""What a figure of the traveller is counted in."""

MOST_BYTES = 150_000
"""Of a picture of the page."""

NUMBER = r"(-?\d+(?:\.\d+)?)"


@dataclass(frozen=True)
class Walk:
    """The folder that the page's commands made, the commands, and what each block of them printed."""

    folder: Path
    blocks: tuple[str, ...]
    printed: tuple[str, ...]

    @property
    def job(self) -> Job:
        return load_job(self.folder / "ferry-house.toml")

    @property
    def manifest(self) -> dict[str, object]:
        return json.loads((self.folder / "ferry-house-sheets" / "manifest.json").read_text())  # type: ignore[no-any-return]


def fences(kind: str) -> list[tuple[int, str]]:
    """The fenced blocks of a kind, with where each begins on the page."""
    text = PAGE.read_text(encoding="utf-8")
    return [(match.start(), match[1]) for match in re.finditer(rf"^```{kind}\n(.*?)^```$", text, re.M | re.S)]


@pytest.fixture(scope="module")
def walk(tmp_path_factory: pytest.TempPathFactory) -> Walk:
    """The page's commands, run in order in a folder of their own."""
    if shutil.which("sh") is None:
        pytest.skip("the page's commands are for a POSIX shell")
    folder = tmp_path_factory.mktemp("walk")
    for name in ("left.jpg", "right.jpg", "drawn.svg"):
        (folder / name).write_bytes((GIVEN / name).read_bytes())
    programs = tmp_path_factory.mktemp("bin")
    program = programs / "layercut"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m layercut "$@"\n')
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    environment = {**os.environ, "PATH": f"{programs}{os.pathsep}{os.environ['PATH']}", "PYTHONPATH": str(ROOT)}
    blocks = tuple(text for _, text in fences("sh"))
    printed = []
    for block in blocks:
        done = subprocess.run(
            ["sh", "-e", "-c", block], cwd=folder, env=environment, check=False, capture_output=True, timeout=120
        )
        printed.append(done.stdout.decode() + done.stderr.decode())
        assert done.returncode == 0, f"{block}\n{printed[-1]}"
    return Walk(folder, blocks, tuple(printed))


# --- the page


def test_each_output_that_the_page_shows_is_what_its_commands_say(walk: Walk) -> None:
    starts = [start for start, _ in fences("sh")]
    shown = fences("text")
    assert len(shown) >= 5
    for place, text in shown:
        block = sum(start < place for start in starts) - 1
        lines = walk.printed[block].splitlines()
        for line in text.splitlines():
            assert line in lines, f"after:\n{walk.blocks[block]}"


def test_what_the_page_says_of_corners_and_trees_is_what_the_photos_show() -> None:
    text = " ".join(text for _, text in fences("sh"))
    said = dict(re.findall(r'--(second-corners|corners) "([^"]*)"', text))
    said |= dict(re.findall(r"--(second-hidden|hidden) (\S+)", text))
    for prefix, camera, tree in (("", scene.LEFT, scene.TREES[0]), ("second-", scene.RIGHT, scene.TREES[1])):
        assert said[f"{prefix}corners"] == " ".join(f"{x},{y}" for x, y in scene.wall_corners(camera))
        assert said[f"{prefix}hidden"] == ",".join(map(str, scene.tree_box(camera, tree)))


@pytest.mark.parametrize(("name", "camera"), [("left", scene.LEFT), ("right", scene.RIGHT)])
def test_the_photos_are_of_the_scene(name: str, camera: scene.Camera) -> None:
    """At some thousand pixels, as far as JPEG keeps them."""
    photo = np.asarray(Image.open(GIVEN / f"{name}.jpg").convert("RGB")).astype(float)
    assert photo.shape == (camera.size[1], camera.size[0], 3)
    at = np.random.default_rng(6).integers((0, 0), camera.size, (6000, 2))
    difference = np.abs(photo[at[:, 1], at[:, 0]] - scene.colours_at(camera, at)).mean(axis=1)
    assert difference.mean() < 3
    assert np.quantile(difference, 0.99) < 25


def test_the_pages_pictures_are_small_and_there(walk: Walk, update_gold: bool) -> None:
    if update_gold:
        guide = (walk.folder / "guide-only.svg").read_text() + "</svg>"
        png = bytes(resvg_py.svg_to_bytes(svg_string=guide, dpi=96, width=900, background="#ffffff"))
        (walk.folder / "guide.png").write_bytes(png)
        shrink(walk.folder / "guide.png", GIVEN / "guide.png")
        shrink(walk.folder / "ferry-house-sheets" / "stack.png", GIVEN / "stack.png")
    names = set(re.findall(r"walkthrough/([\w-]+\.\w+)\)", PAGE.read_text(encoding="utf-8")))
    assert names == {path.name for path in GIVEN.iterdir()} - {"drawn.svg"}
    assert all((GIVEN / name).stat().st_size < MOST_BYTES for name in names)


def shrink(picture: Path, to: Path) -> None:
    """A picture for the page: 900 px wide, in 200 colours where it is too large."""
    image = Image.open(picture).convert("RGB")
    image = image.resize((900, round(image.height * 900 / image.width)), Image.Resampling.LANCZOS)
    image.save(to, optimize=True)
    if to.stat().st_size >= MOST_BYTES:
        image.quantize(200, dither=Image.Dither.NONE).save(to, optimize=True)


# --- three numbers


def test_the_scale_is_the_one_that_arithmetic_gives(walk: Walk) -> None:
    words = walk.blocks[0]
    feet, bar = map(float, re.findall(rf"--scale-bar {NUMBER}ft={NUMBER}px", words)[0])
    pixels = float(re.findall(rf"--width {NUMBER}px", words)[0])
    width = feet * 304.8 * pixels / bar
    sure = width * math.hypot(1 / pixels, 1 / bar)
    height = 457.2 + 2 * 2743.2 + width / 4
    assert abs(width - scene.WIDTH) < sure  # the measure is as good as it says
    room = (304.8 - 12.7, 228.6 - 12.7)
    usual = [1, 2, 5, 10, 12, 16, 20, 24, 32, 48, 50, 64, 72, 304.8 / 3.5, 96, 100]
    fitting = [n for n in usual if (width + sure) / n <= room[0] and (height + sure / 4) / n <= room[1]]
    guide = etree.parse(walk.folder / "ferry-house.svg").getroot().find("{*}g")
    assert guide is not None
    assert float(guide.get("data-layercut-scale", "")) == min(fitting) == 48
    walls = [float(word) for word in guide.get("data-layercut-walls", "").split()]
    assert walls[2:] == pytest.approx([width / 48, (height - width / 4) / 48], abs=0.001)


# --- two photos


def shades_of(picture: Path) -> np.ndarray:
    return np.asarray(Image.open(picture).convert("L")).astype(float)


def edges_of(shades: np.ndarray, name: str, size_mm: tuple[float, float]) -> dict[str, float]:
    """Where an opening's edges lie in a squared-up picture of that size, mm from its left and lower edge, as one
    measures them.

    Each is where the mean of a strip across the edge passes halfway from the casing's shade to the opening's.
    """
    left, bottom, right, top = scene.OPENINGS[name]
    up = (bottom + 0.6 * (top - bottom), bottom + 0.8 * (top - bottom))
    across = (left + 0.15 * (right - left), left + 0.4 * (right - left))
    found = {"left": edge_across(shades, left, up, size_mm), "right": edge_across(shades, right, up, size_mm)}
    for side, place in (("bottom", bottom), ("top", top)):
        if (name, side) != ("door", "bottom"):  # it stands on the stone foot, without a casing
            found[side] = edge_up(shades, place, across, size_mm)
    return found


def edge_across(
    shades: np.ndarray, near_mm: float, up_mm: tuple[float, float], size_mm: tuple[float, float]
) -> float:
    """Where an upright edge lies, looked for around `near_mm` between two heights."""
    high, wide = shades.shape
    near = round(near_mm * wide / size_mm[0])
    rows = slice(*(round(high - up * high / size_mm[1]) for up in reversed(up_mm)))
    return (near - 6 + halfway(shades[rows, near - 6 : near + 6].mean(axis=0))) * size_mm[0] / wide


def edge_up(
    shades: np.ndarray, near_mm: float, across_mm: tuple[float, float], size_mm: tuple[float, float]
) -> float:
    """Where a level edge lies above the ground: the same in the picture on its side, whose left is the top."""
    wide_mm, high_mm = size_mm
    rows = (wide_mm - across_mm[1], wide_mm - across_mm[0])
    return high_mm - edge_across(shades.T, high_mm - near_mm, rows, (high_mm, wide_mm))


def halfway(profile: np.ndarray) -> float:
    """Where a strip of shades passes the middle of its darkest and its lightest, px; nan where it hardly changes."""
    middle = (profile.min() + profile.max()) / 2
    steps = np.flatnonzero((profile[:-1] - middle) * (profile[1:] - middle) <= 0)
    if np.ptp(profile) < 40 or not len(steps):
        return math.nan
    step = steps[np.argmin(np.abs(steps - len(profile) / 2))]
    return float(step + 0.5 + (middle - profile[step]) / (profile[step + 1] - profile[step]))


def true_edges(name: str) -> dict[str, float]:
    return dict(zip(("left", "bottom", "right", "top"), scene.OPENINGS[name], strict=True))


@pytest.fixture(scope="module")
def told_mm(walk: Walk) -> tuple[float, float]:
    """The wall's size as the maker has it, from the page's three numbers."""
    words = re.search(r"the wall is .*?\((\d+) mm\) wide and .*?\((\d+) mm\) high", walk.printed[1])
    assert words is not None
    return float(words[1]), float(words[2])


def picture_mm(walk: Walk, told_mm: tuple[float, float]) -> tuple[float, float]:
    """How much of the house the squared-up picture shows: the wall, and so far above it."""
    above = float(re.findall(rf"--above {NUMBER}ft", walk.blocks[1])[0])
    return told_mm[0], told_mm[1] + above * 304.8


def test_every_edge_of_the_picture_is_where_the_house_has_it(walk: Walk, told_mm: tuple[float, float]) -> None:
    shades, size = shades_of(walk.folder / "squared.png"), picture_mm(walk, told_mm)
    for name in scene.OPENINGS:
        for side, found in edges_of(shades, name, size).items():
            true = true_edges(name)[side]
            assert abs(found - true) < EDGE_MM, (name, side)
            share = scene.WIDTH / told_mm[0] if side in ("left", "right") else 1.0
            assert abs(found * share - true) < SHAPE_MM, (name, side)


def test_the_gable_above_the_corners_is_where_the_house_has_it(walk: Walk, told_mm: tuple[float, float]) -> None:
    """The round window, along its two middle lines; above the corners, a click's slip weighs more."""
    shades, size = shades_of(walk.folder / "squared.png"), picture_mm(walk, told_mm)
    x, y, radius = scene.ROUND_WINDOW
    for end in (x - radius, x + radius):
        assert abs(edge_across(shades, end, (y - 60, y + 60), size) - end) < EDGE_MM + 5
    for end in (y - radius, y + radius):
        assert abs(edge_up(shades, end, (x - 60, x + 60), size) - end) < EDGE_MM + 5


def test_what_hides_openings_in_each_photo_would_spoil_the_picture(walk: Walk, told_mm: tuple[float, float]) -> None:
    """The checks above can fail: without the boxes around the trees, openings in both hidden strips aren't right.

    Each tree hides from one photo what that photo sees larger, so that the larger view must not win there.
    """
    words = walk.blocks[1].replace("\\\n", "")
    corners = re.findall(r'corners "([^"]*)"', words)
    shots = [
        parse_shot(GIVEN / f"{name}.jpg", corner, told_mm)
        for name, corner in zip(("left", "right"), corners, strict=True)
    ]
    made = rectify(shots, told_mm, 48.0)
    shades = np.asarray(Image.open(io.BytesIO(made.png)).convert("L")).astype(float)
    strips = [
        scene.wall_behind(camera, scene.tree_box(camera, tree))
        for camera, tree in zip((scene.LEFT, scene.RIGHT), scene.TREES, strict=True)
    ]
    hidden = [
        [own for own, box in scene.OPENINGS.items() if start < box[0] and box[2] < end] for start, end in strips
    ]
    assert hidden == [["window below left", "window above left"], ["door", "window above door"]]
    for own in scene.OPENINGS:
        off = [abs(found - true_edges(own)[side]) for side, found in edges_of(shades, own, told_mm).items()]
        assert all(error < EDGE_MM for error in off) == (own not in itertools.chain(*hidden)), own


def test_the_picture_stands_on_the_guides_walls(walk: Walk) -> None:
    guide = etree.parse(walk.folder / "ferry-house.svg").getroot().find("{*}g")
    assert guide is not None
    image = guide.find("{*}image")
    assert image is not None
    x, y, width, height = (float(image.get(key, "")) for key in ("x", "y", "width", "height"))
    left, top, wide, high = (float(word) for word in guide.get("data-layercut-walls", "").split())
    assert (x, width) == pytest.approx((left, wide), abs=0.002)
    above = height - high
    assert above == pytest.approx(9 * 304.8 / 48, abs=0.002)
    assert (y, y + height) == pytest.approx((top - above, top + high), abs=0.002)


# --- the drawing, and what is cut of it


def on_house(x_mm: float, y_mm: float, walls: list[float]) -> tuple[float, float]:
    """A place on the panel as a place on the real front, mm from its left and lower edge."""
    return (x_mm - walls[0]) * 48, (walls[1] + walls[3] - y_mm) * 48


def test_what_is_cut_lies_where_the_house_has_it(walk: Walk) -> None:
    """The panes are openings of the front's sheet: each window's four together span the window."""
    root = etree.parse(walk.folder / "ferry-house.svg").getroot()
    walls = [float(word) for word in root.find("{*}g").get("data-layercut-walls").split()]  # type: ignore[union-attr]
    half = walk.job.material.kerf / 2
    boxes = [contour.bounds for contour in contours(walk, "sheets/03-front.svg", "cut-opening")]
    for name, (left, bottom, right, top) in scene.OPENINGS.items():
        if name == "door":
            continue  # it is wood
        middle = (left + right) / 2, (bottom + top) / 2
        panes = []
        for x0, y0, x1, y1 in boxes:
            x, y = on_house((x0 + x1) / 2, (y0 + y1) / 2, walls)
            if abs(x - middle[0]) < (right - left) / 2 and abs(y - middle[1]) < (top - bottom) / 2:
                panes.append((x0 - half, y0 - half, x1 + half, y1 + half))  # the beam's middle runs inside
        assert len(panes) == 4, name
        low, high = np.min(panes, axis=0), np.max(panes, axis=0)
        found = (*on_house(low[0], high[3], walls), *on_house(high[2], low[1], walls))
        for one, true in zip(found, (left, bottom, right, top), strict=True):
            assert abs(one - true) < EDGE_MM + DRAWN_MM, name


# --- the traveller


@dataclass(frozen=True)
class Table:
    """A table of the page as cells of text, and where its words stand in the page's."""

    rows: tuple[tuple[str, ...], ...]
    place: tuple[int, int]


@dataclass(frozen=True)
class Traveller:
    """The page's words and tables. `read` collects where in the words a number was looked at."""

    text: str
    tables: tuple[Table, ...]
    read: list[tuple[int, int]]

    def numbers(self, pattern: str) -> list[tuple[str, ...]]:
        """The groups of each place in the page's words that a pattern finds."""
        found = list(re.finditer(pattern, self.text))
        assert found, f"the traveller doesn't say {pattern}"
        self.read.extend(match.span() for match in found)
        return [match.groups() for match in found]

    def number(self, pattern: str) -> float:
        """The number that a pattern holds as its group; said twice, it is the same."""
        (found,) = {float(groups[0]) for groups in self.numbers(pattern)}
        return found

    def table(self, *heads: str) -> list[dict[str, str]]:
        """The rows of the one table whose first row has these words, by the words of the first row."""
        found = [table for table in self.tables if all(head in table.rows[0] for head in heads)]
        assert len(found) == 1, heads
        self.read.append(found[0].place)
        first, *rows = found[0].rows
        return [dict(zip(first, row, strict=True)) for row in rows]

    def row(self, head: str) -> tuple[str, ...]:
        """The one row of any table that begins with a word."""
        found = [(table, row) for table in self.tables for row in table.rows if row[0] == head]
        assert len(found) == 1, head
        ((table, row),) = found
        words = " ".join(row)
        at = self.text.index(words, *table.place)
        self.read.append((at, at + len(words)))
        return row

    def unread(self) -> list[str]:
        """Numbers with a unit, each with the words before it, that nothing looked at."""
        return [
            self.text[max(match.start() - 60, 0) : match.end()]
            for match in re.finditer(rf"(?<![\w.]){NUMBER} ?({UNITS})(?!\w)", self.text)
            if not any(start <= match.start() and match.end() <= end for start, end in self.read)
        ]


def read_traveller(walk: Walk) -> Traveller:
    tree = html.parse(walk.folder / "ferry-house-sheets" / "traveller.html").getroot()
    for kind in ("style", "script", "svg"):
        for element in list(tree.iter(kind)):
            element.drop_tree()

    def words(element: html.HtmlElement) -> str:
        return " ".join(" ".join(element.itertext()).split())

    text, tables, end = words(tree.body), [], 0
    for table in tree.iter("table"):
        start = text.index(words(table), end)
        end = start + len(words(table))
        rows = tuple(tuple(words(cell) for cell in row.iter("td", "th")) for row in table.iter("tr"))
        tables.append(Table(rows, (start, end)))
    return Traveller(text, tuple(tables), [])


@pytest.fixture
def page(walk: Walk) -> Traveller:
    return read_traveller(walk)


@cache
def paths_of(file: Path, role: str) -> tuple[svgelements.Path, ...]:
    return tuple(
        svgelements.Path(str(path))
        for path in etree.parse(file).xpath(f"//*[@data-role='{role}']//*[local-name()='path']/@d")
    )


def points_of(path: svgelements.Path) -> list[tuple[float, float]]:
    """A path as points close enough together for lengths and areas, mm."""
    points: list[tuple[float, float]] = []
    for part in path:
        if isinstance(part, svgelements.Move):
            points.append((part.end.x, part.end.y))
        else:
            steps = [1.0] if isinstance(part, svgelements.Line | svgelements.Close) else np.linspace(0, 1, 33)[1:]
            points += [(point.x, point.y) for point in (part.point(float(step)) for step in steps)]
    return points


def contours(walk: Walk, file: str, role: str) -> list[Polygon]:
    """The cut contours of a role in a written sheet."""
    return [Polygon(points_of(path)) for path in paths_of(walk.folder / "ferry-house-sheets" / file, role)]


def sheets(walk: Walk) -> list[tuple[str, str, int]]:
    """Name, file and copies of each sheet; how many copies the spacer needs is checked on its own."""
    found = sorted((walk.folder / "ferry-house-sheets" / "sheets").glob("*.svg"))
    made = [(path.stem.partition("-")[2] or path.stem, f"sheets/{path.name}") for path in found]
    return [(name, file, spacers_needed(walk) if name == "spacer" else 1) for name, file in made]


@cache
def wood(walk: Walk, file: str) -> BaseGeometry:
    """What the beam leaves of a sheet, from its written cut lines alone: between them, half a kerf off each."""
    rings = [ring for role in ("cut-outline", "cut-opening") for ring in contours(walk, file, role)]
    between: BaseGeometry = reduce(shapely.symmetric_difference, rings)
    return shapely.buffer(between, -walk.job.material.kerf / 2, join_style="mitre")


def panes_of(walk: Walk) -> list[Polygon]:
    """The cut contours of the panes: of all openings of the front, those within the house."""
    house = Polygon(points_of(svgelements.Path(drawn_path(walk, "rooms"))))
    return [pane for pane in contours(walk, "sheets/03-front.svg", "cut-opening") if house.contains(pane)]


def spacers_needed(walk: Walk) -> int:
    """(b + 1) t >= screw + guard: the back sheet is the only one that surely has wood there."""
    job = walk.job
    assert job.hanging.screw is not None
    return math.ceil((job.hanging.screw + job.hanging.guard) / job.material.thickness) - 1


def count(walk: Walk) -> int:
    return sum(copies for _, _, copies in sheets(walk))


def mass(walk: Walk) -> float:
    area = sum(wood(walk, file).area * copies for _, file, copies in sheets(walk))
    return float(area * walk.job.material.thickness * 680e-6)  # kg/m3 and mm3 to g; the job gives no density


def seconds(clock: str) -> int:
    minutes, _, rest = clock.partition(":")
    return int(minutes) * 60 + int(rest)


Check = Callable[[Walk, Traveller], None]
CHECKS: dict[str, Check] = {}


def source(row: str) -> Callable[[Check], Check]:
    """A check of one row of the page's table: it works the number out again from what the row names."""

    def add(check: Check) -> Check:
        CHECKS[row] = check
        return check

    return add


def table_rows() -> list[tuple[str, ...]]:
    text = PAGE.read_text(encoding="utf-8").partition("| on the traveller |")[2]
    return [tuple(cell.strip() for cell in line.strip("|").split("|")) for line in text.splitlines()[2:] if line]


@source("panel, 304.8 × 228.6 mm")  # noqa: RUF001
def _panel(walk: Walk, page: Traveller) -> None:
    inches = [float(word) for word in re.findall(rf'--panel "{NUMBER}in x {NUMBER}in"', walk.blocks[0])[0]]
    for side, inch in enumerate(inches):
        for words in ("panel of", "Panel"):
            shown = page.numbers(rf"{words} {NUMBER} × {NUMBER} mm")[0]  # noqa: RUF001
            assert float(shown[side]) == pytest.approx(inch * 25.4)


@source("frame, 6.35 mm")
def _frame(walk: Walk, page: Traveller) -> None:
    assert page.number(rf"frame of {NUMBER} mm") == 25.4 / 4 == walk.job.panel.frame


@source("thickness, 3 mm")
def _thickness(walk: Walk, page: Traveller) -> None:
    assert page.number(rf"plywood, {NUMBER} mm") == walk.job.material.thickness == 3


@source("kerf, 0.18 mm")
def _kerf(walk: Walk, page: Traveller) -> None:
    measured = float(re.findall(rf"--measured {NUMBER}mm", " ".join(walk.blocks))[0])
    blocks = contours_of_coupon(walk)
    drawn = sum(width for width in blocks[:-1])
    assert page.number(rf"kerf of {NUMBER} mm") == pytest.approx((drawn - measured) / (len(blocks) - 1), abs=1e-6)


def contours_of_coupon(walk: Walk) -> list[float]:
    """How wide the test piece's contours are: the blocks, then the bar in one."""
    boxes = [Polygon(points_of(path)).bounds for path in paths_of(walk.folder / "coupon.svg", "cut-opening")]
    return sorted(x1 - x0 for x0, _, x1, _ in boxes)


@source("sheets, 7")
def _sheets(walk: Walk, page: Traveller) -> None:
    layers = etree.parse(walk.folder / "drawn.svg").getroot().findall("{*}g")
    assert page.number(rf"Sheets {NUMBER} M") == page.number(rf"{NUMBER} sheets in all") == count(walk)
    assert page.number(rf"from {NUMBER} sheets") == len(layers) + spacers_needed(walk) == count(walk) == 7


@source("cut and marks of each sheet")
def _lengths(walk: Walk, page: Traveller) -> None:
    rows = page.table("Cut", "Marks")
    total = 0.0
    for row, (_, file, copies) in zip(rows, sheets(walk), strict=True):
        whole = walk.folder / "ferry-house-sheets" / file
        for head, roles in (("Cut", ("cut-opening", "cut-outline")), ("Marks", ("mark-line",))):
            lines = [shapely.LineString(points_of(path)) for role in roles for path in paths_of(whole, role)]
            length = sum(line.length for line in lines) / 1000
            assert float(row[head].split()[0]) == pytest.approx(length, abs=0.0055), (file, head)
            total += length * copies if head == "Cut" else 0
    assert page.number(rf"{NUMBER} m of cut") == pytest.approx(total, abs=0.02)


@source("wood of each sheet")
def _wood(walk: Walk, page: Traveller) -> None:
    for row, (_, file, _) in zip(page.table("Cut", "Marks"), sheets(walk), strict=True):
        assert float(row["Wood"].split()[0]) == pytest.approx(wood(walk, file).area / 100, abs=0.1), file


@source("pieces read back, 6")
def _pieces(walk: Walk, page: Traveller) -> None:
    """What the beam leaves, counted: the parts of each sheet's wood, one copy each."""
    parts = sum(len(shapely.get_parts(wood(walk, file))) for _, file, _ in sheets(walk))
    assert (
        page.number(rf"{NUMBER} of \d+ planned pieces") == page.number(rf"of {NUMBER} planned pieces") == parts == 6
    )


@source("picture that differs from the plan, 0.00 mm²")
def _differs(walk: Walk, page: Traveller) -> None:
    """What shows of each sheet: its wood that no sheet in front covers. The panes must show the rooms' sheet."""
    assert page.number(rf"{NUMBER} mm² of the picture differ") == 0
    layers = [wood(walk, file) for name, file, _ in sheets(walk) if name != "spacer"]
    assert len(layers) == 4
    shown = shapely.difference(layers[1], shapely.union_all(layers[2:]))
    panes = panes_of(walk)
    assert len(panes) == 29
    assert all(shapely.intersection(shown, pane).area > 0.97 * pane.area for pane in panes)


@cache
def face(walk: Walk, layer: str) -> BaseGeometry:
    """All that a layer of the drawing fills."""
    (group,) = etree.parse(walk.folder / "drawn.svg").xpath(f"//*[@id='{layer}']")
    shapes = []
    for element in group:
        kind = etree.QName(element).localname
        values = {key: str(value) for key, value in element.attrib.items()}
        if values.get("fill", "none") == "none" or kind not in ("path", "rect", "circle"):
            continue
        drawn = svgelements.Path(
            values["d"] if kind == "path" else {"rect": svgelements.Rect, "circle": svgelements.Circle}[kind](values)
        )
        shapes.append(reduce(shapely.symmetric_difference, [Polygon(points_of(part)) for part in parts_of(drawn)]))
    return shapely.union_all(shapes)


def parts_of(path: svgelements.Path) -> list[svgelements.Path]:
    return [svgelements.Path(part) for part in path.as_subpaths()]


def bare_seen(walk: Walk, shifted: str, by_mm: tuple[float, float]) -> float:
    """How much unpainted wood shows inside the frame with one sheet beside its place, mm2; hairs don't count."""
    inside = shapely.box(6.35, 6.35, 304.8 - 6.35, 228.6 - 6.35)
    covered: BaseGeometry = Polygon()
    bare = []
    for name, file, _ in reversed([sheet for sheet in sheets(walk) if sheet[0] != "spacer"]):
        move = by_mm if name == shifted else (0.0, 0.0)
        own, painted = (shapely.affinity.translate(region, *move) for region in (wood(walk, file), face(walk, name)))
        bare.append(shapely.difference(shapely.difference(own, painted), covered))
        covered = shapely.union(covered, own)
    seen = shapely.intersection(shapely.union_all(bare), shapely.buffer(inside, -2.0))
    return float(shapely.buffer(seen, -0.03).area)


@source("slip, 0.6 mm")
def _slip(walk: Walk, page: Traveller) -> None:
    """With that sheet shifted by a little less no bare wood shows, whichever way; by a little more, some does."""
    slip = page.number(rf"slip by {NUMBER} mm")
    ((first,),) = page.numbers(r"a wrong edge shows; (\w+) is the first")
    ways = [(math.cos(turn), math.sin(turn)) for turn in np.linspace(0, 2 * math.pi, 16, endpoint=False)]
    seen = {far: max(bare_seen(walk, first, (far * x, far * y)) for x, y in ways) for far in (slip - 0.1, slip + 0.2)}
    assert seen[slip - 0.1] < 0.01
    assert seen[slip + 0.2] > 0.01


@source("loose piece, 40.8 × 16.6 mm")  # noqa: RUF001
def _loose(walk: Walk, page: Traveller) -> None:
    (cloud,) = etree.parse(walk.folder / "drawn.svg").xpath("//*[@id='cloud']/@d")
    drawn = Polygon(points_of(svgelements.Path(str(cloud))))
    x0, y0, x1, y1 = drawn.bounds
    row = page.table("Piece", "Rests on")[0]
    assert [float(word) for word in re.findall(NUMBER, row["Size"])] == pytest.approx([x1 - x0, y1 - y0], abs=0.06)
    for glued in (float(row["Glued"].split()[0]), page.number(rf"house#1 on sky \({NUMBER} mm²")):
        assert glued == pytest.approx(drawn.area, abs=1.0)


@source("time of each sheet")
def _times(walk: Walk, page: Traveller) -> None:
    """The rim's time by hand, and no time shorter than its length at full speed."""
    machine, kerf = walk.job.machine, walk.job.material.kerf
    rows = {row["Sheet"].partition(",")[0]: tuple(row.values())[1:] for row in page.table("Marked lines", "Rim")}
    half = math.sin(math.pi / 4)
    corner = math.sqrt(machine.acceleration * machine.corner_deviation * half / (1 - half))
    rim = 0.0
    for place, side in enumerate((304.8 + kerf, 228.6 + kerf) * 2):
        rim += side / machine.cut_speed
        for end in (0.0 if place == 0 else corner, 0.0 if place == 3 else corner):
            rim += (machine.cut_speed - end) ** 2 / (2 * machine.cut_speed * machine.acceleration)
    for name, file, _ in sheets(walk):
        areas, lines, openings, own_rim, travel, whole = map(seconds, rows[name])
        assert abs(own_rim - rim) <= 0.51
        assert abs(areas + lines + openings + own_rim + travel - whole) <= 3  # each is rounded
        path = walk.folder / "ferry-house-sheets" / file
        for took, role, speed in (
            (lines, "mark-line", machine.mark_speed),
            (openings, "cut-opening", machine.cut_speed),
        ):
            length = sum(shapely.LineString(points_of(one)).length for one in paths_of(path, role))
            assert length / speed - 0.5 <= took <= 1.3 * length / speed + 15


@source("time in all, and its shares")
def _time_in_all(walk: Walk, page: Traveller) -> None:
    rows = {row["Sheet"].partition(",")[0]: tuple(row.values())[1:] for row in page.table("Marked lines", "Rim")}
    sums = [sum(seconds(rows[name][column]) * copies for name, _, copies in sheets(walk)) for column in range(6)]
    shown = [seconds(clock) for clock in rows["all together"]]
    assert shown == pytest.approx(sums, abs=0.5 * count(walk))
    for share, part in zip(rows["share"], shown, strict=True):
        assert float(share.split()[0]) == pytest.approx(100 * part / shown[-1], abs=1)
    for words in (r"about (\d+) min at the machine", r"Machine, estimated (\d+) min"):
        assert page.number(words) == math.ceil(shown[-1] / 60)


def paint_rows(page: Traveller) -> list[tuple[str, float, float, str]]:
    """Shades, area seen and area to paint (mm2), and finish of each colour."""
    rows = page.table("Shades", "Seen")
    areas = [[float(row[head].split()[0]) * 100 for head in ("Seen", "To paint")] for row in rows]
    return [(row["Shades"], *area, row["Finish"]) for row, area in zip(rows, areas, strict=True)]  # type: ignore[misc]


@source("area seen of each colour")
def _seen(walk: Walk, page: Traveller) -> None:
    """All colours tile the picture; the door and the panes are as large as the house has them."""
    rows = paint_rows(page)
    assert sum(seen for _, seen, _, _ in rows) == pytest.approx((304.8 - 12.7) * (228.6 - 12.7), abs=5 * len(rows))
    shrunk = (walls_mm(walk)[0] / scene.WIDTH) / 48  # the drawing is as wide as the overhead picture says
    left, bottom, right, top = scene.OPENINGS["door"]
    (door,) = [seen for shades, seen, _, _ in rows if "#602c24" in shades]
    assert door == pytest.approx((right - left) * shrunk * (top - bottom) / 48, abs=5 + 0.1 * (19 + 42))
    layers = [wood(walk, file) for name, file, _ in sheets(walk) if name != "spacer"]
    (dark,) = [seen for shades, seen, _, _ in rows if "#34404f" in shades]
    rooms = Polygon(points_of(svgelements.Path(drawn_path(walk, "rooms"))))
    visible = shapely.difference(shapely.intersection(layers[1], rooms), shapely.union_all(layers[2:]))
    chimney = Polygon(points_of(svgelements.Path(drawn_path(walk, "chimney"))))
    assert dark == pytest.approx(shapely.difference(visible, shapely.difference(chimney, rooms)).area, abs=6)


def walls_mm(walk: Walk) -> tuple[float, float]:
    words = re.search(r"the wall is .*?\((\d+) mm\) wide and .*?\((\d+) mm\) high", walk.printed[1])
    assert words is not None
    return float(words[1]), float(words[2])


def drawn_path(walk: Walk, own: str) -> str:
    (path,) = etree.parse(walk.folder / "drawn.svg").xpath(f"//*[@id='{own}']/@d")
    return str(path)


@source("area to paint of each colour")
def _to_paint(walk: Walk, page: Traveller) -> None:
    """The rooms' colour goes on behind the edge of every pane: a ring as wide as the overlap around each."""
    rows = paint_rows(page)
    assert all(painted >= seen for _, seen, painted, _ in rows)
    overlap = walk.job.paint.overlap
    holes = [shapely.buffer(pane, walk.job.material.kerf / 2, join_style="mitre") for pane in panes_of(walk)]
    ring = shapely.difference(
        shapely.union_all([shapely.buffer(hole, overlap) for hole in holes]), shapely.union_all(holes)
    )
    (more,) = [painted - seen for shades, seen, painted, _ in rows if "#34404f" in shades]
    assert more == pytest.approx(ring.area, rel=0.03)
    foremost = [(seen, painted) for shades, seen, painted, _ in rows if "On foreground." in shades]
    assert foremost
    assert all(seen == painted for seen, painted in foremost)  # nothing lies in front


@source("shades of each colour")
def _shades(walk: Walk, page: Traveller) -> None:
    fills = {str(fill).lower() for fill in etree.parse(walk.folder / "drawn.svg").xpath("//@fill")}
    checked = 0
    for shades, *_ in paint_rows(page):
        three = re.findall(r"#[0-9a-f]{6}", shades)
        middle = three[1] if len(three) == 3 else three[0]
        assert middle in fills
        if len(three) < 3:
            continue
        lightness = Color(middle).convert("oklab")["l"]
        for shade, wanted in ((three[0], 0.8 * lightness), (three[2], lightness + 0.35 * (1 - lightness))):
            assert Color(shade).convert("oklab")["l"] == pytest.approx(wanted, abs=0.004), shades
            checked += 1
    assert checked >= 20


@source("coats, 2")
def _coats(walk: Walk, page: Traveller) -> None:
    finishes = [finish for *_, finish in paint_rows(page)]
    assert set(finishes) == {f"paint, {walk.job.paint.coats} coats", "stain, 1 coat"}
    assert finishes.count("stain, 1 coat") == 1  # the name board


@source("frame to stain, 66.1 cm²")
def _frame_face(_: Walk, page: Traveller) -> None:
    face = 304.8 * 228.6 - (304.8 - 12.7) * (228.6 - 12.7)
    assert page.number(rf"{NUMBER} cm² of the frame's face") == pytest.approx(face / 100, abs=0.06)


@source("edges to stain, 224.0 cm²")
def _edges(walk: Walk, page: Traveller) -> None:
    area = 2 * (304.8 + 228.6) * walk.job.material.thickness * count(walk)
    assert page.number(rf"{NUMBER} cm² of edges all round") == pytest.approx(area / 100, abs=0.06)


def contacts(walk: Walk) -> dict[str, float]:
    """Of each sheet on the one behind it, as the written files have them, mm2."""
    layers = [(name, wood(walk, file)) for name, file, _ in sheets(walk) if name != "spacer"]
    return {
        name: float(shapely.intersection(own, behind).area) for (_, behind), (name, own) in itertools.pairwise(layers)
    }


@source("contact of two sheets")
def _contact(walk: Walk, page: Traveller) -> None:
    found = contacts(walk)
    cloud = Polygon(points_of(svgelements.Path(drawn_path(walk, "cloud")))).area
    for name, behind in (("house", "sky"), ("front", "house"), ("foreground", "front")):
        own = found[name] - (cloud if name == "house" else 0)  # it is glued on by itself
        assert page.number(rf"Glue {name} on {behind}: {NUMBER} cm²") * 100 == pytest.approx(own, abs=12), name
    width = max(walk.job.hanging.plate + 2 * walk.job.hanging.plate_edge, walk.job.panel.frame)
    spacer = 304.8 * 228.6 - (304.8 - 2 * width) * (228.6 - 2 * width)
    assert len(page.numbers(r"(Glue spacer \d on [\w ]+:)")) == spacers_needed(walk)
    assert page.number(rf"Glue spacer \d on [\w ]+: {NUMBER} cm²") * 100 == pytest.approx(spacer, abs=6)


@source("zones to leave bare for glue")
def _glue(walk: Walk, page: Traveller) -> None:
    """The contact drawn in by the overlap, at the rim too: its edge is stained."""
    layers = [wood(walk, file) for name, file, _ in sheets(walk) if name != "spacer"]
    said = [
        (float(one), float(two))
        for one, two in page.numbers(rf"touches {NUMBER} cm²; leave the {NUMBER} cm² that are hatched")
    ]
    assert len(said) == 3
    for (touched, bare), (behind, front) in zip(said, itertools.pairwise(layers), strict=True):
        contact = shapely.intersection(behind, front)
        assert touched * 100 == pytest.approx(contact.area, abs=12)
        drawn_in = shapely.buffer(contact, -walk.job.paint.overlap)
        assert bare * 100 == pytest.approx(drawn_in.area, rel=0.01)


@source("wood that stays, wood that falls out")
def _used(walk: Walk, page: Traveller) -> None:
    area = sum(wood(walk, file).area * copies for _, file, copies in sheets(walk))
    whole = 304.8 * 228.6 * count(walk)
    assert page.number(rf"{NUMBER} cm² of wood stay") * 100 == pytest.approx(area, abs=50)
    assert page.number(rf"{NUMBER} cm² fall out") * 100 == pytest.approx(whole - area, abs=50)
    assert page.number(rf"stay, {NUMBER} % of the panels") == pytest.approx(100 * area / whole, abs=0.5)


@source("place of the spare cloud")
def _spare(walk: Walk, page: Traveller) -> None:
    """Laid there, the piece touches no wood, and keeps the gap."""
    said = page.numbers(rf"In the waste of (\w+): house#1 at {NUMBER}, {NUMBER} mm(?:, turned {NUMBER}°)?")
    ((own, across, down, turn),) = said
    (file,) = [file for name, file, _ in sheets(walk) if name == own]
    cloud = Polygon(points_of(svgelements.Path(drawn_path(walk, "cloud"))))
    turned = shapely.affinity.rotate(cloud, float(turn or 0), origin="centroid")
    (x0, y0, x1, y1) = turned.bounds
    laid = shapely.affinity.translate(turned, float(across) - (x0 + x1) / 2, float(down) - (y0 + y1) / 2)
    assert shapely.distance(laid, wood(walk, file)) > walk.job.material.gap / 2


@source("wood, in grams")
def _grams(walk: Walk, page: Traveller) -> None:
    assert walk.job.material.density is None  # so that of birch plywood stands in, which the page says
    assert page.number(rf"density; {NUMBER} kg/m³") == 680
    for shown in (float(page.row("Wood")[1].split()[0]), page.number(rf"Weight, reckoned {NUMBER} g")):
        assert shown == pytest.approx(mass(walk), abs=1.5)


@source("weight W, in newtons")
def _weight(walk: Walk, page: Traveller) -> None:
    newton = (mass(walk) + walk.job.hanging.extra) / 1000 * 9.80665
    assert float(page.row("Weight W")[1].split()[0]) == pytest.approx(newton, abs=0.02)


@source("centre of gravity")
def _centre(walk: Walk, page: Traveller) -> None:
    hung = [wood(walk, file) for name, file, copies in sheets(walk) for _ in range(copies) if name == "spacer"]
    hung += [wood(walk, file) for name, file, _ in sheets(walk) if name != "spacer"]
    whole = sum(one.area for one in hung)
    x, y = (sum(one.area * getattr(one.centroid, axis) for one in hung) / whole for axis in "xy")
    out = sum(one.area * (place + 0.5) * walk.job.material.thickness for place, one in enumerate(hung)) / whole
    row = page.row("Centre of gravity")
    shown = [float(word) for word in re.findall(NUMBER, f"{row[1]} {row[2]}")]
    assert shown == pytest.approx([x, y, out], abs=0.15)


@source("depth, 21 mm")
def _depth(walk: Walk, page: Traveller) -> None:
    assert float(page.row("Depth")[1].split()[0]) == count(walk) * walk.job.material.thickness == 21


@source("spacer frames, 3")
def _spacers(walk: Walk, page: Traveller) -> None:
    """With one frame fewer the screw would come too far."""
    job, shown = walk.job, float(page.row("Spacer frames")[1])
    deep = job.hanging.screw + job.hanging.guard  # type: ignore[operator]
    assert (shown + 1) * job.material.thickness >= deep > shown * job.material.thickness
    assert shown == 3


@source("width of a spacer, 14 mm")
def _spacer_width(walk: Walk, page: Traveller) -> None:
    row = page.row("Spacer frames")[2]
    found = re.search(rf"{NUMBER} mm wide", row)
    assert found is not None
    (x0, y0, x1, y1) = wood(walk, "sheets/spacer.svg").bounds
    (inner,) = shapely.get_parts(wood(walk, "sheets/spacer.svg"))[0].interiors
    assert float(found[1]) == pytest.approx(inner.bounds[0] - x0, abs=0.002) == 10 + 2 * 2
    assert (x1 - x0, y1 - y0) == pytest.approx((304.8, 228.6), abs=0.002)


@source("pull in the wire")
def _wire(walk: Walk, page: Traveller) -> None:
    weight = mass(walk) / 1000 * 9.80665
    pull = weight / (2 * math.sin(math.radians(walk.job.hanging.wire_angle)))
    assert float(page.row("Wire, each side")[1].split()[0]) == pytest.approx(pull, abs=0.02)


@source("load of hook and wall, and of the wire")
def _load(walk: Walk, page: Traveller) -> None:
    weight = mass(walk) / 1000 * 9.80665
    pull = weight / (2 * math.sin(math.radians(walk.job.hanging.wire_angle)))
    for head, load in (("Hook and wall must bear", 4 * weight), ("Wire must bear", 4 * pull)):
        newton, kilogram = re.findall(NUMBER, page.row(head)[1])
        assert float(newton) == pytest.approx(load, abs=0.1)
        assert float(kilogram) == pytest.approx(load / 9.80665, abs=0.015)
    assert walk.job.hanging.safety == 4


@source("settings that it repeats: overlap, speeds, gap")
def _settings(walk: Walk, page: Traveller) -> None:
    job, machine = walk.job, walk.job.machine
    for words, value in (
        (rf"go on {NUMBER} mm under the sheet in front", job.paint.overlap),
        (rf"machine.cut_speed {NUMBER} mm/s", machine.cut_speed),
        (rf"machine.mark_speed {NUMBER}\b", machine.mark_speed),
        (rf"machine.area_speed {NUMBER}\b", machine.area_speed),
        (rf"in rows {NUMBER} mm", machine.row_pitch),
        (rf"machine.travel_speed {NUMBER}\b", machine.travel_speed),
        (rf"rises and falls by {NUMBER} mm/s²", machine.acceleration),
        (rf"leaves it by {NUMBER} mm at most", machine.corner_deviation),
        (rf"half a kerf all round, with {NUMBER} mm", job.material.gap),
    ):
        assert page.number(words) == value, words


@source("limits for wood dust, 1, 15 and 5 mg/m³")
def _dust(_: Walk, page: Traveller) -> None:
    """NIOSH Pocket Guide, wood dust: REL 1 mg/m3; 29 CFR 1910.1000, table Z-1: 15 in all, 5 respirable."""
    assert page.number(rf"NIOSH recommends (?:at most|no more than) {NUMBER} mg/m³") == 1
    assert page.numbers(rf"OSHA's limits for dust are {NUMBER} mg/m³ in all and {NUMBER} mg/m³") == [("15", "5")]


@pytest.mark.parametrize("row", sorted(CHECKS))
def test_each_number_on_the_traveller_comes_from_its_source(row: str, walk: Walk, page: Traveller) -> None:
    CHECKS[row](walk, page)


def test_the_pages_table_has_a_check_for_each_row_and_names_what_is_there() -> None:
    rows = table_rows()
    assert [row[0] for row in rows] == list(CHECKS)
    keys = set(known_keys())
    for row in rows:
        (module,) = re.findall(r"`([\w/]+\.(?:py|html))`", row[3])
        assert (ROOT / "layercut" / module).is_file(), module
        assert set(re.findall(r"`([a-z]+\.[a-z_]+)`", row[1] + row[2])) - {"manifest.json"} <= keys, row


def test_no_figure_of_the_traveller_is_left_without_a_source(walk: Walk) -> None:
    """Once every row's check has read what it checks, no number with a unit is left. A new one needs a row."""
    page = read_traveller(walk)
    for check in CHECKS.values():
        check(walk, page)
    assert not page.unread(), "\n".join(page.unread())
