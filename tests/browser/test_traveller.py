"""The traveller in a real browser: on a phone, on a screen, on paper, moved and still."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from layercut.job import load_job
from layercut.pipeline import compile_drawing
from layercut.views.pages.sections.times import TIME_HEADS
from layercut.views.pages.traveller import traveller_html
from layercut.views.picture.stack_svg import compose_svg

SAMPLES = Path(__file__).parents[2] / "samples"
PAGES = {"refused": ["islands.policy=refuse"], "tied": ["islands.policy=tie"], "loose": ["islands.policy=loose"]}
PAPERS = {"A4": (210, 297), "Letter": (215.9, 279.4)}
PX_PER_MM = 96 / 25.4
PAGE_MARGIN_MM = 13


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
