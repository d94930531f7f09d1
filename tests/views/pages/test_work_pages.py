"""The pages around the cut: what they say, where each number comes from, and what they never do."""

import dataclasses
import re
from collections.abc import Callable

import pytest
from blends import downwards
from builds import build_made, spacers_made
from lxml import html
from scenes import Scenes
from shapely import Point, box

from layercut.colour.names import plain_name
from layercut.model import Made
from layercut.planning.own_paints import OwnPaints
from layercut.views.durations import in_words, sheet_seconds
from layercut.views.pages.map_notes import Legend
from layercut.views.pages.sections.assembly import FRAME_LAST
from layercut.views.pages.sections.boards import boards_section
from layercut.views.pages.sections.paint import paint_section
from layercut.views.pages.sections.times import times_section
from layercut.views.pages.sections.wood import wood_section
from layercut.views.pages.traveller import traveller_html
from layercut.views.pages.work_pages import work_pages_html

Pages = Callable[..., Made]

SETTINGS = (
    "islands.policy=loose",
    "hanging.screw=12mm",
    "material.name=basswood",
    "machine.bed_width=300mm",
    "machine.bed_height=200mm",
)


@pytest.fixture(scope="module")
def build_of(scenes: Scenes) -> Pages:
    """A blended sky, a hill with a name that is no good in HTML, and a moon that is glued on."""

    def make(*settings: str, own: OwnPaints | None = None) -> Made:
        sky = scenes.shape(scenes.ground())
        blend = downwards(0.0, 100.0)
        drawing = scenes.drawing(
            [type(sky)("wood", sky.geometry, blend, "path 'sky'")],
            [scenes.shape(box(0, 70, 100, 100), colour="#4c7a34"), Point(50, 35).buffer(6)],
        )
        made = scenes.make(drawing, *settings)
        sheets = (*made.sheets, *spacers_made(made.stack, made.job))
        return build_made(drawing, made.stack, sheets, made.job, proof=made.proof, own=own)

    return make


@pytest.fixture(scope="module")
def build(build_of: Pages) -> Made:
    return build_of(*SETTINGS, own=OwnPaints("<own>.csv", (("plum & <b>sloe</b>", "#804080"), ("moss", "#4e7a36"))))


@pytest.fixture(scope="module")
def page(build: Made) -> str:
    return work_pages_html(build)


def words_of(page: str) -> str:
    return " ".join(html.fragment_fromstring(page, create_parent="div").text_content().split())


def cells(page: str, heading: str) -> dict[str, list[str]]:
    """The rows of the table under a heading: the row's name, and the words of its cells."""
    root = html.fragment_fromstring(page, create_parent="div")
    (section,) = [one for one in root.iter("section") if one.findtext("h2") == heading]
    return {
        " ".join(row.find("th").text_content().split()): [
            " ".join(cell.text_content().split()) for cell in row.iter("td")
        ]
        for row in section.iter("tr")
        if row.find("td") is not None
    }


def test_the_sections_in_the_order_of_work(page: str) -> None:
    root = html.fragment_fromstring(page, create_parent="div")
    assert [section.findtext("h2") for section in root.iterchildren()] == [
        "Paint plan",
        "Painting, step by step",
        "Time on the machine",
        "Wood",
        "Boards",
        "Weight and hanging",
        "Assembly, step by step",
    ]
    for section in root.iterchildren():
        assert section.xpath(".//p[@class='note'][starts-with(., 'Where the numbers come from')]") or (
            section.findtext("h2") == "Weight and hanging"
        )
        assert section.xpath(".//p[@class='caution']") or section.findtext("h2") == "Wood"


def test_paint_table_tells_shades_blend_and_rack(page: str, build: Made) -> None:
    rows = cells(page, "Paint plan")
    assert len(rows) == len(build.work.paint.colours) == 3
    sky = next(row for row in rows if "a blend of #ff0000 at 0 %, #0000ff at 100 %" in row)
    assert "top (0 mm) #ff0000 to bottom (100 mm) #0000ff, straight down" in sky
    assert "blend, vivid red to vivid blue" in sky
    assert "at 0 %: plum & <b>sloe</b> #804080" in sky
    hill = next(row for row in rows if "#4c7a34" in row)
    assert re.search(rf"{plain_name('#4c7a34')} #\w{{6}} #4c7a34 #\w{{6}}", hill)
    assert re.search(r"middle: moss #4e7a36 \(differs by \d\.\d\)", hill)
    number, finish, seen, painted = rows[hill]
    assert (number, finish) == ("2", "paint, 2 coats")
    assert seen == painted == f"{build.work.paint.colours[1].visible_mm2 / 100:.1f} cm²"
    assert ", far)" in words_of(page)


def test_times_add_up_and_shares_make_a_whole(page: str, build: Made) -> None:
    """To the second: each row, each column with its copies, and what the traveller's head says."""
    rows = cells(page, "Time on the machine")
    assert list(rows) == ["l0", "l1", "spacer, each of 4", "all together", "share"]
    told = {
        name: [int(cell.split(":")[0]) * 60 + int(cell.split(":")[1]) for cell in row]
        for name, row in rows.items()
        if name != "share"
    }
    assert all(sum(row[:-1]) == row[-1] for row in told.values())
    copies = {"l0": 1, "l1": 1, "spacer, each of 4": 4}
    sums = [sum(count * told[name][column] for name, count in copies.items()) for column in range(6)]
    assert told["all together"] == sums
    assert sums[-1] == pytest.approx(sum(sheet.seconds * sheet.copies for sheet in build.sheets), abs=0.5 * 5 * 6)
    head = words_of(traveller_html(build, ""))
    assert head.count(in_words(sums[-1])) == 1  # above the table of sheets
    assert build.boards is not None
    on_boards = in_words(sum(map(sheet_seconds, build.boards.times)))
    assert head.count(on_boards) == 3  # on the card, among the facts, below the table of times
    alone = traveller_html(dataclasses.replace(build, boards=None), "")
    assert words_of(alone).count(in_words(sums[-1])) == 3  # where nothing is laid on boards
    each = html.fromstring(traveller_html(build, "")).xpath("//td[@data-name='Time of one, min:s']/text()")
    assert each == [rows[name][-1] for name in copies]
    assert sum(int(cell.removesuffix(" %")) for cell in rows["share"][:-1]) == pytest.approx(100, abs=2)


def test_weight_says_formula_and_source(page: str, build: Made) -> None:
    rows = cells(page, "Weight and hanging")
    hanging = build.work.hanging
    assert hanging.tension_n is not None
    assert rows["Wood"][0] == f"{hanging.mass_g:.0f} g"
    assert "414.4 kg/m³ (taken for basswood: Wood Handbook" in rows["Wood"][1]
    assert "mass × 9.80665" in rows["Weight W"][1]  # noqa: RUF001
    assert rows["Spacer frames"][0] == "4"
    assert "(b + 1) × 3 mm ≥ 12 mm screw + 2 mm guard" in rows["Spacer frames"][1]  # noqa: RUF001
    assert rows["Wire, each side"] == [
        f"{hanging.tension_n:.2f} N, the weight of {hanging.tension_n / 9.80665 * 1000:.0f} g",
        "T = W / (2 sin a), a = 30° from the horizontal (hanging.wire_angle); a flatter wire pulls harder",
    ]
    assert rows["Hook and wall must bear"][0].startswith(f"{4 * hanging.weight_n:.1f} N")


def test_wood_and_boards(page: str, build: Made) -> None:
    words = words_of(page)
    assert "6 sheets in all" in words
    assert build.boards is not None
    plan = build.boards.plan
    assert "All 7 parts lie on 3 boards of 300 × 200 mm, as the bed takes it at one go" in words  # noqa: RUF001
    assert (
        f"{100 * plan.waste_share(3):.0f} % of their wood is waste, with nothing laid into openings as well" in words
    )
    root = html.fragment_fromstring(page, create_parent="div")
    captions = [one.text_content() for one in root.xpath("//section[@id='boards']//figcaption")]
    assert [caption.partition(":")[0] for caption in captions] == [board.file for board in plan.boards]
    for board, caption in zip(plan.boards, captions, strict=True):
        assert all((part.piece or part.name) in caption for part in board.parts)
    assert "Never leave the machine alone" in words


def test_spares_are_proposed_where_no_board_is_known(build_of: Pages) -> None:
    build = build_of("islands.policy=loose")
    words = words_of(work_pages_html(build))
    moon = build.sheets[1].loose[0].id
    assert re.search(rf"In the waste of \w+: {moon} at [\d.]+, [\d.]+ mm", words)
    assert "Boards" not in words


def test_a_rim_that_just_does_not_fit_the_bed(build_of: Pages) -> None:
    words = words_of(work_pages_html(build_of("machine.bed_width=100mm", "machine.bed_height=100mm")))
    assert "No boards are laid out" in words


def test_steps_name_every_piece_and_the_label(page: str, build: Made) -> None:
    root = html.fragment_fromstring(page, create_parent="div")
    steps = [
        " ".join(item.text_content().split()) for item in root.xpath("//*[@id='assembly']//ol[@class='steps']/li")
    ]
    assert len(steps) == len(build.work.steps) == 9
    assert steps[0].startswith("Lay l0")
    assert "glue's label" in steps[1]
    assert build.sheets[1].loose[0].id in steps[2]
    assert "at its mark" in steps[2]
    assert steps[3].startswith("Turn the picture over")
    assert steps[-2] == FRAME_LAST
    assert "spacer 4" in steps[-1]


def test_when_the_frame_gets_its_colour_is_said_the_same_everywhere(build: Made) -> None:
    """Last: after gluing and sanding. No place may say it is stained before, or that its edges are."""
    words = words_of(traveller_html(build, ""))
    assert words.count(FRAME_LAST) == 2  # in the order of work and in the assembly
    for sentence in re.split(r"(?<=[.:]) ", words):
        if re.search(r"\bframe('s face)? is stained|[Ss]tain (the frame|edges)", sentence):
            assert re.search(r"\blast\b|sand the outer edges", sentence.lower()), sentence
    order = [
        words.index(part)
        for part in ("Paint before gluing", "Glue from the back", "then stain the frame", "Hang it. ")
    ]
    assert order == sorted(order)
    plan = build.work.paint
    legend = Legend(plan, plan.sheets[-1], build.stack.panel, build.job.units).notes(0.0)
    assert "Stain last, after gluing: the frame" in legend


@pytest.mark.parametrize(
    "caution",
    [
        "extraction",
        "wood dust can cause disease",
        "NIOSH recommends at most 1 mg/m³",
        "OSHA's limits for dust are 15 mg/m³",
        "Paints, stains and finishes by their labels",
        "Glue by its label",
        "Hang it into something that holds",
        "licensed",
        "local codes",
        "Never leave a running laser alone",
    ],
)
def test_cautions_are_there(page: str, caution: str) -> None:
    assert caution in words_of(page)


def test_never_a_beams_power(page: str) -> None:
    assert not re.search(r"\b(power|watt|W/mm)\b", words_of(page), re.IGNORECASE)


def test_without_screw_bed_and_rack_the_page_says_what_to_give(build_of: Pages) -> None:
    words = words_of(work_pages_html(build_of("islands.policy=loose")))
    for key in ("hanging.screw", "machine.bed_width", "material.stock_width", "set material.density"):
        assert key in words
    assert "CIEDE2000" not in words


def test_names_are_escaped_and_nothing_runs(page: str) -> None:
    assert "<b>sloe" not in page
    assert "<own>" not in page
    assert not re.search(r"<(script|style|link|img|iframe|object|embed)\b|\son\w+=|https?://", page)
    assert all(url.startswith("#") for url in re.findall(r"url\(([^)]+)\)", page))


def test_words_have_the_pages_own_colours(page: str) -> None:
    """Contrast is tested for the page's style: so no word here may have a colour of its own."""
    assert "style=" not in page
    root = html.fragment_fromstring(page, create_parent="div")
    assert not root.xpath("//*[@color or @bgcolor]")
    assert not root.xpath("//svg//text")


def test_ids_are_used_once(page: str) -> None:
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids)) > 0
    assert {url.removeprefix("#") for url in re.findall(r"url\(([^)]+)\)", page)} <= set(ids)


def test_the_same_build_gives_the_same_page(build: Made, page: str) -> None:
    assert work_pages_html(build) == page


def test_many_parts_without_a_place_are_counted(build: Made) -> None:
    material = dataclasses.replace(build.work.material, unplaced=tuple(f"leaf#{k}" for k in range(50)))
    crowded = dataclasses.replace(build, work=dataclasses.replace(build.work, material=material))
    words = words_of(work_pages_html(crowded))
    assert "leaf#19 and 30 more." in words
    assert "leaf#20" not in words


def test_paint_times_and_wood_are_told_in_the_readers_units(build_of: Pages) -> None:
    """In inches nothing is left in mm but limits of air, which are published so."""
    build = build_of("page.units=in", "machine.bed_width=24in", "machine.bed_height=12in")
    sections = (paint_section(build, ""), times_section(build), boards_section(build))
    for section in (*sections, wood_section(dataclasses.replace(build, boards=None))):
        words = re.sub(r"mg/m³", "", words_of(section))
        assert not re.search(r"\d ?(mm|cm|m)\b", words), words
        assert re.search(r"\d in(²|\b)", words)
