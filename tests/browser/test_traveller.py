"""The traveller in a real browser: on a phone, on a screen, on paper, moved and still."""

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from layercut.job import load_job
from layercut.model import Made
from layercut.pipeline import compile_drawing
from layercut.views.pages.sections.times import TIME_HEADS
from layercut.views.pages.traveller import traveller_html
from layercut.views.picture.stack_svg import compose_svg
from samples import sample_build

SAMPLES = Path(__file__).parents[2] / "samples"
PAGES = {"refused": ["islands.policy=refuse"], "tied": ["islands.policy=tie"], "loose": ["islands.policy=loose"]}
PAPERS = {"A4": (210, 297), "Letter": (215.9, 279.4)}
PX_PER_MM = 96 / 25.4
PAGE_MARGIN_MM = 13
ON_BOARDS = (
    "hanging.spacer_from=strips",
    "hanging.spacers=3",
    "material.stock_width=600mm",
    "material.stock_height=400mm",
)
VISIBLE = "all => all.map(one => one.checkVisibility())"


@pytest.fixture(scope="session")
def travellers(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The garden's page for each policy: one that can't be made, one with ties, one with loose pieces."""
    folder = tmp_path_factory.mktemp("travellers")
    drawing = SAMPLES / "garden" / "garden.svg"
    pages = {}
    for name, settings in PAGES.items():
        build = compile_drawing(drawing, load_job(drawing.with_suffix(".toml"), settings))
        pages[name] = folder / f"{name}.html"
        pages[name].write_text(traveller_html(build, compose_svg(build)), encoding="utf-8")
    return pages


@pytest.fixture(params=list(PAGES))
def any_page(request: pytest.FixtureRequest, travellers: dict[str, Path], page: Page) -> Page:
    page.goto(travellers[request.param].as_uri())
    return page


@pytest.fixture
def made(travellers: dict[str, Path], page: Page) -> Page:
    page.goto(travellers["loose"].as_uri())
    return page


@pytest.fixture
def unscripted(browser: Browser, travellers: dict[str, Path]) -> Iterator[Page]:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(travellers["loose"].as_uri())
    yield page
    context.close()


def transforms(page: Page) -> list[str]:
    """How each sheet stands, and the pile."""
    return page.eval_on_selector_all(".pile, .leaf", "all => all.map(one => getComputedStyle(one).transform)")


def slide(page: Page, name: str, value: int) -> None:
    page.locator(f"input[name={name}]").fill(str(value))


def states(page: Page, selector: str) -> list[bool]:
    """Which of the matching shapes are shown."""
    return page.eval_on_selector_all(selector, "all => all.map(one => getComputedStyle(one).display !== 'none')")


@pytest.mark.parametrize("width", [320, 390, 1280, 2560])
def test_no_sideways_scroll(any_page: Page, width: int) -> None:
    any_page.set_viewport_size({"width": width, "height": 800})
    assert any_page.evaluate("document.documentElement.scrollWidth") <= width
    over = any_page.eval_on_selector_all(
        "main *:not(svg *):not(.rack *), header *",
        "(all, width) => all.filter(one => one.getBoundingClientRect().right > width + 1).map(one => one.outerHTML)",
        width,
    )
    assert over == []


def test_on_a_phone_every_figure_has_its_head_and_no_word_is_broken(made: Page) -> None:
    """Time on the machine and Weight and hanging, 390 px wide: heads before the clocks, words and values whole."""
    made.set_viewport_size({"width": 390, "height": 844})
    heads = made.eval_on_selector_all(
        "#times td",
        "all => all.map(one => getComputedStyle(one, '::before').content.replaceAll('\"', ''))",
    )
    assert heads == list(TIME_HEADS) * (len(heads) // len(TIME_HEADS))
    assert len(heads) >= 5 * len(TIME_HEADS)
    broken = made.eval_on_selector_all(
        "#hanging :is(th, td)",
        """all => all.flatMap(cell => {
          const texts = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT), range = document.createRange();
          const found = [];
          while (texts.nextNode()) {
            for (const word of texts.currentNode.data.matchAll(/[^\\s-]+/g)) {
              range.setStart(texts.currentNode, word.index);
              range.setEnd(texts.currentNode, word.index + word[0].length);
              if (new Set([...range.getClientRects()].map(box => box.top)).size > 1) found.push(word[0]);
            }
          }
          return found;
        })""",
    )
    assert broken == []
    # A value and its unit stand on one line: the cell has room for it beside or below its name.
    values = made.eval_on_selector_all("#hanging td:not(.name)", "all => all.map(one => one.clientWidth)")
    assert min(values) >= 128


def test_the_contents_list_every_section(any_page: Page) -> None:
    listed = any_page.eval_on_selector_all("nav.contents a", "all => all.map(one => one.getAttribute('href'))")
    sections = any_page.eval_on_selector_all(
        "main section:has(> h2)", "all => all.map(one => `#${one.getAttribute('id')}`)"
    )
    assert listed == sections


def crowded(build: Made, sheets: int, pieces: int) -> Made:
    """A build with so many sheets of long names, and so many loose pieces."""
    last, loose = build.sheets[-1], build.sheets[-1].loose
    many = tuple(replace(loose[k % len(loose)], id=f"a leaf of the old hedge {k}") for k in range(pieces))
    more = [replace(last, name=f"a hedge and a half {k}", loose=()) for k in range(sheets - len(build.sheets))]
    return replace(build, sheets=(*build.sheets[:-1], replace(last, loose=many), *more))


def boarded(build: Made, count: int) -> Made:
    """A build with so many boards, each of many parts with long names, and many loose pieces."""
    assert build.boards is not None
    (board,), times = build.boards.plan.boards, build.boards.times
    whole = board.parts[0]
    parts = (*board.parts, *(replace(whole, name=f"a hedge and a half {k}") for k in range(30)))
    plan = replace(build.boards.plan, boards=(replace(board, parts=parts),) * count)
    loose = next(sheet for sheet in build.sheets if sheet.loose)
    many = tuple(replace(loose.loose[0], id=f"a leaf of the old hedge {k}") for k in range(60))
    sheets = tuple(replace(one, loose=many) if one is loose else one for one in build.sheets)
    return replace(build, sheets=sheets, boards=replace(build.boards, plan=plan, times=times * count))


@pytest.fixture(scope="session")
def cards(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The pages of all samples, and of jobs with many sheets and loose pieces."""
    folder = tmp_path_factory.mktemp("cards")
    builds = {drawing.stem: sample_build(drawing) for drawing in sorted(SAMPLES.glob("*/*.svg"))}
    loose = sample_build(SAMPLES / "garden" / "garden.svg", *PAGES["loose"])
    builds["loose"] = loose
    pages = {name: traveller_html(build, compose_svg(build)) for name, build in builds.items()}
    for name, sheets, pieces in (("twelve", 12, 40), ("forty", 40, 200)):
        pages[name] = traveller_html(crowded(loose, sheets, pieces), compose_svg(loose))
    on_boards = sample_build(SAMPLES / "garden" / "garden.svg", *PAGES["loose"], *ON_BOARDS)
    pages["boards"] = traveller_html(on_boards, compose_svg(on_boards))
    for count in (4, 8, 13, 30):
        pages[f"boards-{count}"] = traveller_html(boarded(on_boards, count), compose_svg(loose))
    for name, text in pages.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in pages}


def pages_of(pdf: bytes) -> int:
    """How many pages a PDF has: its page objects (ISO 32000-1, 7.7.3.3), which Chromium writes uncompressed."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_card_is_one_page(cards: dict[str, Path], page: Page, paper: str) -> None:
    width_mm, height_mm = PAPERS[paper]
    page.set_viewport_size({"width": int((width_mm - 2 * PAGE_MARGIN_MM) * PX_PER_MM), "height": 1000})
    for name, path in cards.items():
        page.goto(path.as_uri())
        page.evaluate("window.print = () => { window.printed = document.body.className }")
        page.get_by_role("button", name="Print the card").click()
        assert "card-only" in page.evaluate("window.printed"), name
        assert pages_of(page.pdf(format=paper)) == 1, name
        # In the whole page too it is no taller than its paper, so that the page after it begins with something else.
        page.wait_for_function("!document.body.classList.contains('card-only')")
        page.emulate_media(media="print")
        assert page.locator("#card").bounding_box()["height"] <= (height_mm - 28) * PX_PER_MM, name  # type: ignore[index]
        page.emulate_media(media="null")
    assert pages_of(page.pdf(format=paper)) > 3


def test_the_card_lists_every_sheet_with_a_box(cards: dict[str, Path], page: Page) -> None:
    page.goto(cards["twelve"].as_uri())
    assert page.locator("#card tbody tr").count() == 12
    assert page.locator("#card tbody .box").count() == 12
    assert page.locator("#card ol li").count() >= 40


@pytest.mark.parametrize("name", ["boards", "boards-4", "boards-8", "boards-13", "boards-30"])
@pytest.mark.parametrize("width", [320, 390, 1280])
def test_boards_fit_any_screen(cards: dict[str, Path], page: Page, name: str, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 844})
    page.goto(cards[name].as_uri())
    assert page.locator("#card tbody .box").count() == {"boards": 1}.get(name, min(int(name[7:] or 1), 20))
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    cells = page.eval_on_selector_all("#card .falls", "all => all.map(one => one.getBoundingClientRect().width)")
    assert min(cells) > (200 if width < 700 else 300)


def test_the_strips_numbers_are_two_millimetres_high_on_paper(cards: dict[str, Path], page: Page) -> None:
    """Strokes of the numbers on the board's picture, in a page of US letter or A4, whichever is narrower."""
    page.emulate_media(media="print")
    page.set_viewport_size({"width": int((210 - 2 * PAGE_MARGIN_MM) * PX_PER_MM), "height": 1000})
    page.goto(cards["boards"].as_uri())
    heights = page.eval_on_selector_all(
        "#boards g[transform^=translate] g[transform^=scale] path",
        "all => all.map(one => one.getBoundingClientRect().height)",
    )
    assert len(heights) == 3 + 12
    assert min(heights) / PX_PER_MM >= 1.95


def test_without_a_script_the_card_is_first_and_everything_prints(unscripted: Page) -> None:
    assert not unscripted.get_by_role("button", name="Print the card").is_visible()
    assert unscripted.locator("main > :first-child").get_attribute("id") == "card"
    unscripted.emulate_media(media="print")
    shown = unscripted.eval_on_selector_all("#paint :is(td, th[scope=row])", VISIBLE)
    assert all(shown)
    assert len(shown) > 100
    assert pages_of(unscripted.pdf(format="A4")) > 3


@pytest.mark.parametrize("scripted", [True, False])
def test_colours_fold_on_a_phone_and_nowhere_else(made: Page, unscripted: Page, scripted: bool) -> None:
    page = made if scripted else unscripted
    page.set_viewport_size({"width": 390, "height": 844})
    assert not any(page.eval_on_selector_all("details.fold td", VISIBLE))
    page.locator("details.fold summary").first.click()
    assert page.locator("details.fold table").first.is_visible()
    assert not page.locator("details.fold table").nth(1).is_visible()
    page.set_viewport_size({"width": 1280, "height": 844})
    assert all(page.eval_on_selector_all("details.fold td", VISIBLE))
    assert page.locator("details.fold summary:visible").count() == 0


@pytest.mark.parametrize("paper", list(PAPERS))
def test_figures_on_printed_maps_are_two_millimetres_high(made: Page, paper: str) -> None:
    """Each digit's strokes, as they lie on the paper: with the pen that draws them they are 2 mm and more."""
    width_mm, height_mm = PAPERS[paper]
    made.emulate_media(media="print")
    width, height = (width_mm - 2 * PAGE_MARGIN_MM) * PX_PER_MM, height_mm * PX_PER_MM
    made.set_viewport_size({"width": int(width), "height": int(height)})
    heights = made.eval_on_selector_all(
        ".paint-map g[transform^=translate] g[transform^=scale] path",
        "all => all.map(one => one.getBoundingClientRect().height)",
    )
    assert len(heights) > 50
    assert min(heights) / PX_PER_MM >= 1.95
    assert made.locator(".paint-map pattern").count() == 0


def test_each_map_begins_a_page(made: Page) -> None:
    made.emulate_media(media="print")
    starts = made.eval_on_selector_all(".painted-sheet", "all => all.map(one => getComputedStyle(one).breakBefore)")
    assert starts == ["page"] * len(starts)
    assert len(starts) == made.locator(".paint-map").count() == 3


def test_the_stack_is_not_clipped_on_paper(any_page: Page) -> None:
    any_page.emulate_media(media="print")
    any_page.set_viewport_size({"width": int((210 - 2 * PAGE_MARGIN_MM) * PX_PER_MM), "height": 1000})
    rack = any_page.locator(".rack").bounding_box()
    assert rack is not None
    boxes = any_page.eval_on_selector_all(
        ".leaf",
        "all => all.map(one => one.getBoundingClientRect()).map(one => [one.left, one.top, one.right, one.bottom])",
    )
    assert min(box[0] for box in boxes) >= rack["x"]
    assert min(box[1] for box in boxes) >= rack["y"]
    assert max(box[2] for box in boxes) <= rack["x"] + rack["width"]
    assert max(box[3] for box in boxes) <= rack["y"] + rack["height"]


@pytest.mark.parametrize("paper", list(PAPERS))
def test_nothing_is_cut_off_on_paper(any_page: Page, paper: str) -> None:
    width_mm, height_mm = PAPERS[paper]
    width = int((width_mm - 2 * PAGE_MARGIN_MM) * PX_PER_MM)
    any_page.emulate_media(media="print")
    any_page.set_viewport_size({"width": width, "height": int(height_mm * PX_PER_MM)})
    assert any_page.evaluate("document.documentElement.scrollWidth") <= width
    clipped = any_page.eval_on_selector_all(
        "main *:not(svg *), header *",
        "all => all.filter(one => one.scrollWidth > one.clientWidth + 1 && one.clientWidth"
        " && one.children.length === 0"
        " && getComputedStyle(one).overflow !== 'visible').map(one => one.outerHTML)",
    )
    assert clipped == []
    tall = any_page.eval_on_selector_all(
        "svg:not(svg svg)",
        "(all, most) => all.filter(one => one.getBoundingClientRect().height > most).length",
        (height_mm - 28) * PX_PER_MM,
    )
    assert tall == 0
    hidden = any_page.eval_on_selector_all(
        "main :is(h2, h3, p, li, td, th, dd, figure, figcaption)",
        "all => all.filter(one => !one.closest('[hidden], .controls, thead') && !one.getClientRects().length"
        " && one.textContent.trim()).map(one => one.textContent)",
    )
    assert hidden == []
    assert not any_page.locator("nav").is_visible()
    assert not any_page.locator(".controls:visible").count()
    assert any_page.pdf(format=paper).startswith(b"%PDF")


def test_the_stack_comes_apart_and_tilts(any_page: Page) -> None:
    standing = transforms(any_page)
    slide(any_page, "apart", 100)
    apart = transforms(any_page)
    assert apart[1] != standing[1]
    assert apart[-1] != standing[-1]
    slide(any_page, "tilt", 10)
    assert transforms(any_page)[0] != apart[0]
    tilted = transforms(any_page)
    slide(any_page, "turn", -80)
    assert transforms(any_page)[0] != tilted[0]
    any_page.get_by_role("button", name="Lay together").click()
    # Seen straight on: nothing but size and depth is left in the pile's matrix.
    straight = any_page.eval_on_selector(
        ".pile", "one => { const m = new DOMMatrix(getComputedStyle(one).transform); return [m.m12, m.m13, m.m23] }"
    )
    assert straight == pytest.approx([0, 0, 0], abs=1e-9)
    assert any_page.locator("input[name=tilt]").input_value() == "0"


def test_sheets_apart_are_in_order(made: Page) -> None:
    slide(made, "apart", 100)
    depths = made.eval_on_selector_all(
        ".leaf", "all => all.map(one => new DOMMatrix(getComputedStyle(one).transform).m43)"
    )
    assert depths == sorted(depths)
    assert len(set(depths)) == len(depths) == 3


def test_controls_work_from_the_keyboard(made: Page) -> None:
    made.keyboard.press("Tab")
    assert made.evaluate("document.activeElement.textContent") == "To the content"
    assert made.locator(".skip").bounding_box()["x"] >= 0  # type: ignore[index]
    before = transforms(made)
    made.locator("input[name=apart]").focus()
    assert made.eval_on_selector(":focus", "one => getComputedStyle(one).outlineStyle") != "none"
    for _ in range(5):
        made.keyboard.press("ArrowRight")
    assert transforms(made)[1] != before[1]
    made.locator("[data-order]").first.get_by_role("button", name="Back").focus()
    made.keyboard.press("Enter")
    assert "The rim, last of all" in made.locator("[data-order] output").first.inner_text()


def test_stepping_shows_what_is_burnt_so_far(made: Page) -> None:
    sheet = made.locator("[data-order]").nth(2)
    words, back = sheet.locator("output"), sheet.get_by_role("button", name="Back")
    next_ = sheet.get_by_role("button", name="Next")
    selector = "[data-order]:nth-of-type(3) .pass"
    count = sheet.locator(".pass").count()
    assert words.inner_text().startswith("The finished sheet")
    assert next_.is_disabled()
    assert states(made, selector) == [True] * count
    sheet.locator("input").fill("0")
    assert states(made, selector) == [False] * count
    assert back.is_disabled()
    assert "before anything is burnt" in words.inner_text()
    assert not sheet.locator(".wood").is_visible()
    assert sheet.locator(".board").is_visible()
    for done in range(1, count + 1):
        next_.click()
        assert states(made, selector) == [True] * done + [False] * (count - done)
    assert words.inner_text() == "The rim, last of all"
    next_.click()
    assert words.inner_text().startswith("The finished sheet")
    assert sheet.locator(".wood").is_visible()
    assert not sheet.locator(".board").is_visible()


def test_playing_ends_on_the_finished_sheet(travellers: dict[str, Path], page: Page) -> None:
    page.clock.install()
    page.goto(travellers["tied"].as_uri())
    sheet = page.locator("[data-order]").first
    play = sheet.locator("button").nth(1)
    play.click()
    assert play.inner_text() == "Pause"
    page.clock.run_for(900)
    assert sheet.locator(".drawn").count() == 1
    assert "unfinished" in (sheet.locator(".order").get_attribute("class") or "")
    page.clock.run_for(60_000)
    assert play.inner_text() == "Play"
    assert sheet.locator("output").inner_text().startswith("The finished sheet")
    assert states(page, "[data-order]:nth-of-type(1) .pass") == [True] * sheet.locator(".pass").count()
    assert sheet.locator(".now, .to-come, .drawn").count() == 0


def test_paused_it_stays(travellers: dict[str, Path], page: Page) -> None:
    page.clock.install()
    page.goto(travellers["tied"].as_uri())
    sheet = page.locator("[data-order]").first
    sheet.locator("button").nth(1).click()
    page.clock.run_for(900)
    sheet.locator("button").nth(1).click()
    said = sheet.locator("output").inner_text()
    page.clock.run_for(5000)
    assert sheet.locator("output").inner_text() == said


def test_reduced_motion_draws_nothing_moving(travellers: dict[str, Path], page: Page) -> None:
    page.clock.install()
    page.emulate_media(reduced_motion="reduce")
    page.goto(travellers["loose"].as_uri())
    sheet = page.locator("[data-order]").first
    sheet.locator("button").nth(1).click()
    for _ in range(4):
        page.clock.run_for(900)
        assert page.evaluate("document.getAnimations().length") == 0
    page.clock.run_for(120_000)
    assert sheet.locator("output").inner_text().startswith("The finished sheet")


def test_printing_halfway_shows_the_finished_sheet(made: Page) -> None:
    made.locator("[data-order] input").first.fill("1")
    made.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert made.locator("[data-order] output").first.inner_text().startswith("The finished sheet")


def test_without_a_script_all_is_there(unscripted: Page) -> None:
    assert unscripted.locator(".controls:visible").count() == 0
    assert unscripted.locator(".wood:visible").count() == 3
    assert all(states(unscripted, ".pass"))
    assert not any(states(unscripted, ".order .board"))
    assert unscripted.locator(".leaf").count() == 3
    assert unscripted.get_by_role("heading", name="Order of work").is_visible()


def test_what_cannot_be_made_is_said_in_the_first_screen(travellers: dict[str, Path], page: Page) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto(travellers["refused"].as_uri())
    stop = page.get_by_text("Nothing was cut.").bounding_box()
    assert stop is not None
    assert stop["y"] < 400
    assert page.locator("[data-order]").count() == 0
    assert page.locator("svg").first.locator("[data-finding]").count() == 5


def test_fingers_find_the_controls(made: Page) -> None:
    made.set_viewport_size({"width": 390, "height": 800})
    small = made.eval_on_selector_all(
        "button, input",
        "all => all.map(one => one.getBoundingClientRect()).filter(box => box.height < 24 || box.width < 24).length",
    )
    assert small == 0  # WCAG 2.2, 2.5.8
