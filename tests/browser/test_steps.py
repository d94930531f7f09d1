"""The steps of painting in a real browser: the slider, without the script, on a phone and on paper."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from layercut.job import load_job
from layercut.output.contents import folder_files
from layercut.pipeline import compile_drawing

DRAWING = Path(__file__).parents[2] / "samples" / "garden" / "garden.svg"
STACK = "#painting .large figure"


@pytest.fixture(scope="session")
def traveller(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The garden's page with pictures of its steps."""
    build = compile_drawing(DRAWING, load_job(DRAWING.with_suffix(".toml"), ["page.steps=true"]))
    path = tmp_path_factory.mktemp("steps") / "traveller.html"
    path.write_bytes(folder_files(build)["traveller.html"])
    return path


@pytest.fixture
def shown(traveller: Path, page: Page) -> Page:
    page.goto(traveller.as_uri())
    return page


@pytest.fixture
def unscripted(browser: Browser, traveller: Path) -> Iterator[Page]:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(traveller.as_uri())
    yield page
    context.close()


def seen(page: Page) -> list[int]:
    """Which of the four pictures of the stack are shown."""
    found = page.eval_on_selector_all(STACK, "all => all.map(one => one.checkVisibility())")
    return [number for number, one in enumerate(found, start=1) if one]


def test_the_slider_shows_one_step_at_a_time_and_says_which(shown: Page) -> None:
    slider = shown.get_by_label("Step", exact=True)
    words = shown.locator("#painting output")
    assert seen(shown) == [4]
    for number, title in enumerate(("After the base", "After the middle", "After the light", "Done"), start=1):
        slider.fill(str(number))
        assert seen(shown) == [number]
        assert words.inner_text() == f"{number}. {title}"
        assert slider.get_attribute("aria-valuetext") == f"{number}. {title}"
    slider.focus()
    shown.keyboard.press("Home")
    assert seen(shown) == [1]
    shown.keyboard.press("ArrowRight")
    assert seen(shown) == [2]


def test_without_the_script_all_four_are_shown_and_no_slider(unscripted: Page) -> None:
    assert seen(unscripted) == [1, 2, 3, 4]
    assert not unscripted.locator("#painting input").is_visible()


def test_on_paper_all_four_stand_in_a_row(shown: Page) -> None:
    shown.get_by_label("Step", exact=True).fill("2")
    shown.emulate_media(media="print")
    shown.set_viewport_size({"width": 695, "height": 1000})  # A4 between its margins
    boxes = shown.eval_on_selector_all(
        STACK, "all => all.map(one => one.getBoundingClientRect()).map(box => [box.top, box.left, box.width])"
    )
    assert seen(shown) == [1, 2, 3, 4]
    assert len({round(top) for top, _, _ in boxes}) == 1
    assert [left for _, left, _ in boxes] == sorted({left for _, left, _ in boxes})
    assert not shown.locator("#painting input").is_visible()


def test_every_picture_is_whole_and_fits(shown: Page) -> None:
    for width in (320, 390, 1280):
        shown.set_viewport_size({"width": width, "height": 800})
        assert shown.evaluate("document.documentElement.scrollWidth") <= width
    shown.eval_on_selector_all("#painting img", "all => all.forEach(one => { one.loading = 'eager'; })")
    shown.wait_for_function("[...document.querySelectorAll('#painting img')].every(one => one.complete)")
    sizes = shown.eval_on_selector_all(
        "#painting img",
        "all => all.map(one => [one.naturalWidth, Number(one.getAttribute('width')), one.alt.length])",
    )
    assert sizes
    assert all(natural == told and words > 10 for natural, told, words in sizes)
