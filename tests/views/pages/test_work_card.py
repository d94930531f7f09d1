"""The work card: what stands on it, and where its figures come from."""

import dataclasses
import re
from pathlib import Path

import pytest
from builds import build_made, spacers_made
from elements import all_text, elements, string, strings
from lxml import html
from scenes import Scenes
from shapely import Point, Polygon, box

from layercut.job import load_job
from layercut.model import Called, Made
from layercut.pipeline import compile_drawing
from layercut.views.durations import in_words, sheet_seconds
from layercut.views.pages.card_rows import CRUMB_MM2, falling_waste
from layercut.views.pages.traveller import traveller_html
from layercut.views.pages.work_card import MOST_PIECES, MOST_SHEETS, work_card


@pytest.fixture(scope="module")
def build(scenes: Scenes) -> Made:
    return make(scenes)


def make(scenes: Scenes, *settings: str) -> Made:
    """A sky, and before it a wall with a window, a peephole and a moon that is cut free."""
    wall = box(0, 60, 100, 100).difference(box(40, 70, 60, 90)).difference(box(20, 80, 23, 83))
    moon = scenes.shape(Point(50, 30).buffer(8), called=Called("circle", ident="moon"))
    drawing = scenes.drawing([scenes.ground()], [scenes.shape(wall), moon])
    made = scenes.make(drawing, "islands.policy=loose", *settings)
    return build_made(drawing, made.stack, made.sheets, made.job, proof=made.proof)


def words_of(card: str) -> str:
    return " ".join(all_text(html.fragment_fromstring(card)).split())


def test_cautions_come_first(build: Made) -> None:
    card = html.fragment_fromstring(work_card(build))
    listed = " ".join(all_text(card.xpath(".//ul")[0]).split())
    for caution in (
        "Never leave a running laser alone",
        "Extraction on",
        "PVC, vinyl or any material that you don't know",
        "eye protection",
        "fire extinguisher",
        "manual and local codes count more",
        "never sets beam power",
    ):
        assert caution in listed
    assert words_of(work_card(build)).index("Never leave") < words_of(work_card(build)).index("Kerf")


def test_sheets_in_order_with_a_box_to_tick_for_each_copy(build: Made) -> None:
    twice = dataclasses.replace(build.sheets[1], copies=3)
    card = html.fragment_fromstring(work_card(dataclasses.replace(build, sheets=(build.sheets[0], twice))))
    rows = elements(card, ".//table/tbody/tr")
    assert [string(row, "string(th/code)") for row in rows] == [sheet.file for sheet in build.sheets]
    assert [len(elements(row, "th/span[@class='box']")) for row in rows] == [1, 3]
    assert strings(card, ".//td[@data-name='Wood']/text()") == ["plywood, 3 mm"] * 2
    assert strings(card, ".//td[@data-name='Size']/text()") == ["100 × 100 mm"] * 2  # noqa: RUF001
    times = [string(row, "string(td[@data-name='Time'])") for row in rows]
    assert times == [
        in_words(sheet_seconds(sheet.times)) + " each" * (place == 1) for place, sheet in enumerate(build.sheets)
    ]


def test_a_board_of_strips_tells_their_numbers(tmp_path: Path) -> None:
    path = tmp_path / "sky.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">'
        '<g id="sky"><rect width="90" height="60" fill="#a9cfe0"/></g></svg>'
    )
    made = compile_drawing(path, load_job(None, ("hanging.spacer_from=strips", "hanging.spacers=1")))
    assert isinstance(made, Made)
    told = strings(html.fragment_fromstring(work_card(made)), ".//td[@data-name='Falls out']/text()")
    assert [row for row in told if "strip" in row] == ["strips 1 to 4"]


def test_what_falls_out_is_the_holes_less_the_wood_in_them(build: Made) -> None:
    """The window, the peephole, and the sky above the wall, with the moon cut out of it."""
    frame = build.job.panel.frame
    sky = box(frame, frame, 100 - frame, 60).difference(Point(50, 30).buffer(8))
    waste = sorted(falling_waste(build.sheets[1], build.job.material.kerf))
    # A hole shrinks and a gap grows by the kerf's half: the wood is what was drawn.
    assert waste == pytest.approx(sorted([9.0, 400.0, sky.area]), rel=0.02)
    assert sum(area < CRUMB_MM2 for area in waste) == 1
    assert list(falling_waste(build.sheets[0], build.job.material.kerf)) == []
    words = strings(html.fragment_fromstring(work_card(build)), ".//td[@data-name='Falls out']/text()")
    assert words == ["nothing", "2 pieces of waste, 1 crumb, loose no. 1"]


def test_dust_around_a_loose_piece_is_no_waste(build: Made) -> None:
    hole, kerf = box(20, 20, 80, 80), 0.2
    gap = hole.buffer(-kerf, join_style="mitre")
    wood = Polygon(box(0, 0, 100, 100).exterior, [hole.exterior]).union(gap)
    assert list(falling_waste(dataclasses.replace(build.sheets[0], wood=wood), kerf)) == []
    wide = Polygon(box(0, 0, 100, 100).exterior, [hole.exterior]).union(hole.buffer(-3))
    assert len(list(falling_waste(dataclasses.replace(build.sheets[0], wood=wide), kerf))) == 1


def test_loose_pieces_are_listed_in_the_order_of_their_numbers(build: Made) -> None:
    card = html.fragment_fromstring(work_card(build))
    assert strings(card, ".//ol/li/text()") == ["moon (l1)"]


def test_how_the_kerf_was_got(scenes: Scenes) -> None:
    assert "0.15 mm, layercut's default, measured by nobody: cut the coupon first" in words_of(
        work_card(make(scenes))
    )
    given = words_of(work_card(make(scenes, "material.kerf=0.15mm")))
    assert "0.15 mm, as the job file says" in given
    assert "default" not in given


def test_boards_are_counted_or_asked_for(scenes: Scenes) -> None:
    asked = words_of(work_card(make(scenes)))
    assert "wood for 2 sheets of 100.15 × 100.15 mm, kerf included" in asked  # noqa: RUF001
    assert "material.stock_width" in asked
    boards = ("material.stock_width=250mm", "material.stock_height=120mm")
    counted = words_of(work_card(make(scenes, *boards)))
    assert "1 board of 250 × 120 mm for 2 sheets" in counted  # noqa: RUF001
    assert "material.stock_width" not in counted
    small = words_of(work_card(make(scenes, "material.stock_width=90mm", "material.stock_height=90mm")))
    assert "not one sheet of 100.15 × 100.15 mm fits on a board of 90 × 90 mm" in small  # noqa: RUF001


def test_in_inches_where_the_job_says_so(scenes: Scenes) -> None:
    words = words_of(work_card(make(scenes, "page.units=in", "material.thickness=0.125in")))
    assert "1/8 in" in words
    assert not re.search(r"\d ?mm", words)


def test_what_there_is_no_room_for_is_counted(build: Made) -> None:
    piece = build.sheets[1].loose[0]
    pieces = tuple(dataclasses.replace(piece, id=f"leaf-{k}") for k in range(MOST_PIECES + 7))
    sheets = tuple(
        dataclasses.replace(build.sheets[1], name=f"s{k}", loose=pieces if k == 0 else ())
        for k in range(MOST_SHEETS + 3)
    )
    words = words_of(work_card(dataclasses.replace(build, sheets=sheets)))
    assert "and 7 more, listed on the next pages" in words
    assert "3 more sheets are listed on the next pages" in words
    assert f"leaf-{MOST_PIECES}" not in words


def test_it_is_the_first_of_the_page_and_names_are_escaped(build: Made) -> None:
    main = html.fromstring(traveller_html(build, "")).find(".//main")
    assert main is not None
    assert main[0].get("id") == "card"
    evil = "<b>moon</b>"
    piece = dataclasses.replace(build.sheets[1].loose[0], id=evil)
    changed = dataclasses.replace(build.sheets[1], loose=(piece,), name="a & <i>b</i>")
    card = work_card(dataclasses.replace(build, sheets=(build.sheets[0], changed)))
    assert evil not in card
    assert "<i>b</i>" not in card


def test_the_same_build_gives_the_same_card(build: Made) -> None:
    assert work_card(build) == work_card(build)


STRIPS = (
    "hanging.spacer_from=strips",
    "hanging.spacers=3",
    "material.spares=2",
    "material.stock_width=600mm",
    "material.stock_height=130mm",
)


@pytest.fixture(scope="module")
def boarded(scenes: Scenes) -> Made:
    """Two sheets, the strips of three spacers and two spares of a moon, on boards."""
    built = make(scenes, *STRIPS)
    sheets = (*built.sheets, *spacers_made(built.stack, built.job))
    return build_made(built.drawing, built.stack, sheets, built.job, proof=built.proof)


def test_boards_are_listed_in_cutting_order_instead_of_the_sheets(boarded: Made) -> None:
    assert boarded.boards is not None
    boards, times = boarded.boards.plan.boards, boarded.boards.times
    card = html.fragment_fromstring(work_card(boarded))
    rows = elements(card, ".//table/tbody/tr")
    assert [string(row, "string(th/code)") for row in rows] == [board.file for board in boards]
    assert [len(elements(row, "th/span[@class='box']")) for row in rows] == [1] * len(boards)
    assert [string(row, "string(td[@data-name='Size'])") for row in rows] == ["600 × 130 mm"] * len(boards)  # noqa: RUF001
    assert [string(row, "string(td[@data-name='Time'])") for row in rows] == [
        in_words(sheet_seconds(time)) for time in times
    ]
    words = words_of(work_card(boarded))
    assert "Cut the boards; the sheet files are the same cuts one by one." in words
    assert f"{len(boards)} board" in words
    assert "for 2 sheets, 12 strips and 2 spares" in words
    assert in_words(sum(map(sheet_seconds, times))) in words
    assert "sheets/" not in words


def test_each_boards_parts_are_named_with_what_else_falls_out(boarded: Made) -> None:
    assert boarded.boards is not None
    (board,) = boarded.boards.plan.boards
    assert {part.name for part in board.parts} >= {"strip 1", "strip 12"}
    (told,) = strings(
        html.fragment_fromstring(work_card(boarded)), ".//td[starts-with(@data-name, 'Parts')]/b/text()"
    )
    assert told == "l0; l1; strips 1 to 12; spare of moon (2)"
    falls = words_of(work_card(boarded)).partition("Falls out: ")[2]
    assert falls.startswith("2 pieces of waste, 1 crumb, loose no. 1 ")


def test_parts_that_there_is_no_room_for_are_counted(boarded: Made) -> None:
    assert boarded.boards is not None
    plan = boarded.boards.plan
    (board,) = plan.boards
    whole = board.parts[0]
    parts = tuple(dataclasses.replace(whole, name=f"a hedge and a half {k}") for k in range(30))
    many = dataclasses.replace(plan, boards=(dataclasses.replace(board, parts=parts),) * 23)
    boards = dataclasses.replace(boarded.boards, plan=many, times=boarded.boards.times * 23)
    words = words_of(work_card(dataclasses.replace(boarded, boards=boards)))
    assert "a hedge and a half 0; a hedge and a half 1 and 28 more." in words
    assert "3 more boards are listed on the next pages" in words


def test_the_order_of_work_ticks_off_the_boards(boarded: Made, build: Made) -> None:
    def ticks(made: Made) -> tuple[str, list[str]]:
        root = html.fromstring(traveller_html(made, ""))
        (step,) = elements(root, "//ol[@class='steps']/li[ul[@class='tick']]")
        return string(step, "string(b)"), [" ".join(all_text(one).split()) for one in elements(step, "ul/li")]

    head, listed = ticks(boarded)
    assert head == "Engrave and cut, one board after the other."
    parts = "l0; l1; strips 1 to 12; spare of moon (2)"
    assert listed == [f"boards/01.svg: {parts}: cut through everywhere, marks clear, nothing broken"]
    head, listed = ticks(build)
    assert head == "Engrave and cut, one sheet after the other."
    assert [one.partition(":")[0] for one in listed] == ["1. l0", "2. l1"]


def test_boards_in_inches(scenes: Scenes) -> None:
    made = make(scenes, "page.units=in", "material.stock_width=24in", "material.stock_height=12in")
    words = words_of(work_card(made))
    assert "1 board of 24 × 12 in for 2 sheets and 1 spare" in words  # noqa: RUF001
    assert not re.search(r"\d ?mm", words)
