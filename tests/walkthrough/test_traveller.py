"""Each number on the walk's traveller, worked out again from what the page's last table names as its source."""

import itertools
import math
import re
from collections.abc import Callable
from functools import cache, reduce

import numpy as np
import pytest
import scene_photos as scene
import shapely
import shapely.affinity
import svgelements
from coloraide import Color
from elements import only, string, strings
from lxml import etree
from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from traveller_page import Traveller, read_traveller
from walk import (
    NUMBER,
    PAGE,
    ROOT,
    Walk,
    count,
    drawn_path,
    mass,
    panes_of,
    paths_of,
    points_of,
    seconds,
    sheets,
    spacers_needed,
    wood,
)

from layercut.job import known_keys


@pytest.fixture
def page(walk: Walk) -> Traveller:
    return read_traveller(walk)


RIM_FILE = "ferry-house-sheets/sheets/01-sky.svg"

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
    for words in (
        rf"kerf of {NUMBER} mm",
        rf"kerf that it tells isn't {NUMBER} mm",
        rf"{NUMBER} mm, as the job file",
    ):
        assert page.number(words) == pytest.approx((drawn - measured) / (len(blocks) - 1), abs=1e-6)


def contours_of_coupon(walk: Walk) -> list[float]:
    """How wide the test piece's contours are: the blocks, then the bar in one."""
    boxes = [Polygon(points_of(path)).bounds for path in paths_of(walk.folder / "coupon.svg", "cut-opening")]
    return sorted(x1 - x0 for x0, _, x1, _ in boxes)


@source("sheets, 7")
def _sheets(walk: Walk, page: Traveller) -> None:
    layers = etree.parse(walk.folder / "drawn.svg").getroot().findall("{*}g")
    assert page.number(rf"Sheets {NUMBER} M") == page.number(rf"{NUMBER} sheets in all") == count(walk)
    assert page.number(rf"wood for {NUMBER} sheets") == page.number(rf" s for {NUMBER} sheets") == count(walk)
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


@source("sheet to cut, 304.98 × 228.78 mm")  # noqa: RUF001
def _to_cut(walk: Walk, page: Traveller) -> None:
    ((wide, high),) = page.numbers(rf"sheets of {NUMBER} × {NUMBER} mm, kerf included")  # noqa: RUF001
    boxes = [Polygon(points_of(path)).bounds for path in paths_of(walk.folder / RIM_FILE, "cut-outline")]
    ((x0, y0, x1, y1),) = boxes
    assert (float(wide), float(high)) == pytest.approx((x1 - x0, y1 - y0), abs=0.006)


@source("what falls out of each sheet")
def _falls_out(walk: Walk, page: Traveller) -> None:
    """The holes of what hangs on the frame; the cloud lies in one of them, and no gap is as narrow as the beam."""
    rows = page.table("In this order", "Falls out")
    for row, (_, file, _) in zip(rows, sheets(walk), strict=True):
        parts = [Polygon(part) for part in shapely.get_parts(wood(walk, file))]
        holes = [Polygon(ring).area for part in parts for ring in part.interiors]
        told = [int(number) for number in re.findall(r"(\d+) (?:piece|crumb)", row["Falls out"])]
        assert sum(told) == len(holes), file
        assert ("loose no. 1" in row["Falls out"]) == (len(parts) > 1), file


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
    group = only(etree.parse(walk.folder / "drawn.svg"), f"//*[@id='{layer}']")
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
    cloud = string(etree.parse(walk.folder / "drawn.svg"), "//*[@id='cloud']/@d")
    drawn = Polygon(points_of(svgelements.Path(str(cloud))))
    x0, y0, x1, y1 = drawn.bounds
    row = page.table("Piece", "Rests on")[0]
    assert [float(word) for word in re.findall(NUMBER, row["Size"])] == pytest.approx([x1 - x0, y1 - y0], abs=0.06)
    for glued in (float(row["Glued"].split()[0]), page.number(rf"cloud on sky \({NUMBER} mm²")):
        assert glued == pytest.approx(drawn.area, abs=1.0)


@source("time of each sheet")
def _times(walk: Walk, page: Traveller) -> None:
    """The rim's time by hand, and no time shorter than its length at full speed."""
    machine, kerf = walk.job.machine, walk.job.material.kerf
    rows = {row["Sheet"].partition(",")[0]: tuple(row.values())[1:] for row in page.table("Marked lines", "Rim")}
    half = math.sin(math.pi / 4)
    corner = math.sqrt(machine.acceleration * machine.corner_rounding * half / (1 - half))
    rim = 0.0
    for place, side in enumerate((304.8 + kerf, 228.6 + kerf) * 2):
        rim += side / machine.cut_speed
        for end in (0.0 if place == 0 else corner, 0.0 if place == 3 else corner):
            rim += (machine.cut_speed - end) ** 2 / (2 * machine.cut_speed * machine.acceleration)
    for name, file, _ in sheets(walk):
        areas, lines, openings, own_rim, travel, whole = map(seconds, rows[name])
        assert abs(own_rim - rim) <= 0.51
        assert areas + lines + openings + own_rim + travel == whole
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
    assert shown == sums
    for share, part in zip(rows["share"], shown, strict=True):
        assert float(share.split()[0]) == pytest.approx(100 * part / shown[-1], abs=1)
    for words in (r"about (\d+) min (\d+) s at the machine", r"achine, estimated (\d+) min (\d+) s"):
        ((minutes, rest),) = set(page.numbers(words))
        assert 60 * int(minutes) + int(rest) == shown[-1]


def paint_tables(page: Traveller) -> list[list[tuple[str, float, float, str]]]:
    """Shades, area seen and area to paint (mm2), and finish of each colour, of each sheet from the back."""

    def area(words: str) -> float:
        return 5.0 if words.startswith("under") else float(words.split(maxsplit=1)[0]) * 100

    return [
        [(row["Colour"], area(row["Seen"]), area(row["To paint"]), row["Finish"]) for row in rows]
        for rows in page.tables_of("Colour", "Seen")
    ]


def paint_rows(page: Traveller) -> list[tuple[str, float, float, str]]:
    return [row for rows in paint_tables(page) for row in rows]


@source("area seen of each colour")
def _seen(walk: Walk, page: Traveller) -> None:
    """All colours tile the picture; the door and the panes are as large as the house has them."""
    rows = paint_rows(page)
    for number in page.numbers(rf"In all {NUMBER} cm² to paint"):
        assert float(number[0]) > 0
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
    foremost = [(seen, painted) for _, seen, painted, _ in paint_tables(page)[-1]]
    assert foremost
    assert all(seen == painted for seen, painted in foremost)  # nothing lies in front


@source("shades of each colour")
def _shades(walk: Walk, page: Traveller) -> None:
    fills = {fill.lower() for fill in strings(etree.parse(walk.folder / "drawn.svg"), "//@fill")}
    checked = 0
    for shades, *_ in paint_rows(page):
        three = codes_of(shades)
        if not three:
            assert "as on sheet" in shades
            continue
        middle = three[1] if len(three) == 3 else three[0]
        assert middle in fills
        if len(three) < 3:
            continue
        base, drawn, light = (Color(shade).convert("lab-d65")["l"] for shade in three)
        assert drawn - base == pytest.approx(min(12, drawn / 2), abs=0.5), shades  # a digit of a channel is 0.4 L*
        assert light - drawn == pytest.approx(min(12, (100 - drawn) / 2), abs=0.5), shades
        checked += 2
    assert checked >= 20


@source("coats, 2 to 4")
def _coats(walk: Walk, page: Traveller) -> None:
    assert walk.job.paint.coats is None
    rows = [(shades, finish) for shades, *_, finish in paint_rows(page)]
    assert {finish for _, finish in rows} == {*(f"paint, {count} coats" for count in (2, 3, 4)), "stain, 1 coat"}
    assert sum(finish == "stain, 1 coat" for _, finish in rows) == 1  # the name board
    told = [
        (lightness, finish) for shades, finish in rows if (lightness := lightness_of(shades)) and "paint" in finish
    ]
    light = {finish for lightness, finish in told if lightness > 90}
    dark = {finish for lightness, finish in told if lightness < 40}
    assert dark == {"paint, 2 coats"}
    assert light
    assert "paint, 2 coats" not in light  # white and cream hide bare wood badly


def codes_of(shades: str) -> list[str]:
    """The shades of a row's own colour, darkest first; what shares its pot is named behind them."""
    return re.findall(r"#[0-9a-f]{6}", shades.partition("also for")[0])


def lightness_of(shades: str) -> float | None:
    """CIELAB's L* of the drawn colour of a row; None where the row names no colour."""
    codes = codes_of(shades)
    return float(Color(codes[len(codes) // 2]).convert("lab-d65")["l"]) if codes else None


@source("edge that stays dark, 0.8 mm")
def _dark_edge(walk: Walk, page: Traveller) -> None:
    assert page.number(rf"drawn on top of it but {NUMBER} mm back from the edge") == walk.job.paint.edge
    told = page.numbers(rf"Middle shade, {NUMBER} mm")
    assert {float(edge) for edge, *_ in told} == {walk.job.paint.edge}
    under = page.numbers(rf"all over. Go on {NUMBER} mm")
    assert {float(overlap) for overlap, *_ in under} == {walk.job.paint.overlap}


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
    said = page.numbers(rf"In the waste of (\w+): cloud at {NUMBER}, {NUMBER} mm(?:, turned {NUMBER}°)?")
    ((own, across, down, turn),) = said
    # The grain runs through a spare as through its piece.
    assert page.number(rf"as drawn or turned by {NUMBER}°") == 180
    assert float(turn or 0) in {0, 180}
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


@source("longest screw, 10 mm")
def _longest(walk: Walk, page: Traveller) -> None:
    """With it the guard is just kept."""
    job, row = walk.job, page.row("Longest screw")
    longest = float(row[1].split()[0])
    assert longest + job.hanging.guard == pytest.approx((spacers_needed(walk) + 1) * job.material.thickness)
    assert page.number(rf"screws that go no deeper than {NUMBER} mm") == longest == 10


def _middle_of_wood(walk: Walk) -> float:
    hanging = walk.job.hanging
    return max(hanging.plate + 2 * hanging.plate_edge, walk.job.panel.frame) / 2


@source("rings, 94 mm down and 291 mm apart")
def _rings(walk: Walk, page: Traveller) -> None:
    down, apart = (float(word) for word in re.findall(NUMBER, page.row("Two rings")[1]))
    left, right = re.findall(rf"{NUMBER} mm from the (?:left edge|right)", page.row("Two rings")[2])
    assert float(left) == float(right) == _middle_of_wood(walk)
    assert apart == pytest.approx(304.8 - 2 * _middle_of_wood(walk), abs=0.5)
    y = float(re.findall(NUMBER, page.row("Centre of gravity")[1])[1])
    assert 228.6 / 4 <= down < y


@source("wire, 336 mm from ring to ring")
def _wire_length(walk: Walk, page: Traveller) -> None:
    row = page.row("Wire to cut")
    between, end = (float(word) for word in re.findall(rf"{NUMBER} mm", row[2]))
    assert float(row[1].split()[0]) == pytest.approx(between + 2 * end, abs=1)
    half = 152.4 - _middle_of_wood(walk)
    assert between == pytest.approx(2 * half / math.cos(math.radians(walk.job.hanging.wire_angle)), abs=1)


@source("hook, 10 mm below the top edge")
def _hook(walk: Walk, page: Traveller) -> None:
    row = page.row("Wire under load")
    below = float(row[1].split()[0])
    lift, beside = (float(word) for word in re.findall(rf"{NUMBER} mm", row[2]))
    half = 152.4 - _middle_of_wood(walk)
    assert lift == pytest.approx(half * math.tan(math.radians(walk.job.hanging.wire_angle)), abs=0.5)
    assert float(page.row("Two rings")[1].split()[0]) - lift == pytest.approx(below, abs=1)
    assert float(page.row("Hook in the wall")[1].split()[0]) == below
    x = float(re.findall(NUMBER, page.row("Centre of gravity")[1])[0])
    assert beside == pytest.approx(abs(x - 152.4), abs=0.1)


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


@source("line to measure on a printed map, 50 mm")
def _full_size(walk: Walk, page: Traveller) -> None:
    """The map's own width is the panel's, its height with the legend what the page says, and its line is there."""
    panel, line = page.numbers(
        rf"Print them at 100 %, no scaling: the panel must then measure {NUMBER} mm across, "
        rf"and the line in the legend {NUMBER} mm"
    )[0]
    wide, high = page.numbers(rf"With the legend they are up to {NUMBER} × {NUMBER} mm")[0]  # noqa: RUF001
    roots = [etree.parse(path).getroot() for path in (walk.folder / "ferry-house-sheets" / "paint").glob("*.svg")]
    assert {root.get("width") for root in roots} == {f"{panel}mm"} == {"304.8mm"}
    assert max(float((root.get("height") or "").removesuffix("mm")) for root in roots) == pytest.approx(
        float(high), abs=0.6
    )
    assert float(wide) == round(304.8)
    for root in roots:
        assert any(f"h{line}m" in (path.get("d") or "") for path in root.iter("{*}path"))


@source("settings that it repeats: overlap, speeds, gap")
def _settings(walk: Walk, page: Traveller) -> None:
    job, machine = walk.job, walk.job.machine
    for words, value in (
        (rf"go on {NUMBER} mm under the sheet in front", job.paint.overlap),
        (rf"machine.cut_speed {NUMBER} mm/s", machine.cut_speed),
        (rf"machine.mark_speed {NUMBER} mm/s", machine.mark_speed),
        (rf"machine.area_speed {NUMBER} mm/s", machine.area_speed),
        (rf"in rows {NUMBER} mm", machine.row_pitch),
        (rf"machine.travel_speed {NUMBER} mm/s", machine.travel_speed),
        (rf"rises and falls by {NUMBER} mm/s²", machine.acceleration),
        (rf"leaves it by {NUMBER} mm at most", machine.corner_rounding),
        (rf"by quarters too\), {NUMBER} mm", job.material.gap),
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
