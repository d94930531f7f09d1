"""The page of `layercut watch` in a real browser: it follows saves, and its choices land in the job file.

The page's policy forbids evaluating strings, so these tests look at elements and attributes only.
"""

import re
import signal
import subprocess
import sys
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

ROOT = Path(__file__).parents[2]
WIDTHS = (390, 1280, 2560)

HARBOUR = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">
<g id="sky"><rect width="100" height="80" fill="#88aacc"/></g>
<g id="quay"><rect y="55" width="100" height="25" fill="#996644"/>
<circle id="buoy" cx="50" cy="25" r="8" fill="#cc3333"/></g>
</svg>
"""

JOB = """# The harbour, for the hall.
[material]
kerf = "0.15mm"  # measured on the birch

[islands]
policy = "refuse"  # so that each is decided by hand
"""


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    return made_in(tmp_path)


def made_in(folder: Path) -> Path:
    path = folder / "harbour.svg"
    path.write_text(HARBOUR)
    path.with_suffix(".toml").write_text(JOB)
    return path


@pytest.fixture
def address(drawing: Path) -> Iterator[str]:
    """The page of a watch of the drawing."""
    yield from watched(drawing)


@pytest.fixture(scope="module")
def still_address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The page of a watch for all tests that change nothing."""
    yield from watched(made_in(tmp_path_factory.mktemp("still")))


def watched(drawing: Path) -> Iterator[str]:
    command = [sys.executable, "-m", "layercut", "watch", "--no-open", str(drawing)]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert process.stdout is not None
    yield process.stdout.readline().strip()
    process.send_signal(signal.SIGINT)
    process.communicate(timeout=20)


@pytest.fixture
def still(page: Page, still_address: str) -> Page:
    """The page of a watch for tests that change nothing, all of it shown."""
    page.goto(still_address)
    settled(page, 1)
    return page


Open = Callable[[Page], Page]


@pytest.fixture
def open_page(address: str) -> Open:
    """Opens the page and waits until all about the first save is shown."""

    def go(page: Page) -> Page:
        page.goto(address)
        settled(page, 1)
        return page

    return go


def save(path: Path, text: str) -> None:
    """As most editors do: another file, then renamed."""
    new = path.with_name("~saving")
    new.write_text(text)
    new.replace(path)


def settled(page: Page, run: int) -> None:
    expect(page.locator("#picture")).to_have_attribute("data-run", str(run))
    expect(page.locator("#busy")).not_to_have_class("on")


def picture(page: Page) -> str:
    return page.locator("#picture img").get_attribute("src") or ""


def colours(page: Page) -> str:
    """The text of the picture that is shown."""
    return page.request.get(page.url.rstrip("/") + picture(page)).text()


def test_the_page_follows_a_save(page: Page, open_page: Open, drawing: Path) -> None:
    open_page(page)
    before = picture(page)
    assert "#cc3333" in colours(page)
    expect(page.locator("#news")).to_contain_text("Save 1 of")
    save(drawing, HARBOUR.replace("#cc3333", "#33cc99"))
    expect(page.locator("#picture")).to_have_attribute("data-run", "2")
    assert picture(page) != before
    settled(page, 2)
    assert "#33cc99" in colours(page)
    expect(page.locator("#news")).to_contain_text(re.compile(r"Save 2 of .*, shown [\d.]+ s after it"))


def test_a_choice_lands_in_the_job_file_and_the_picture_changes(page: Page, open_page: Open, drawing: Path) -> None:
    open_page(page)
    before = picture(page)
    buoy = page.get_by_role("group", name=re.compile("buoy"))
    expect(buoy.get_by_label("leave")).to_be_checked()
    expect(page.locator("#outcome")).to_contain_text("can't be made as drawn")
    buoy.get_by_label("tie").check()
    expect(buoy).to_contain_text("Written to harbour.toml.")
    settled(page, 2)
    expect(page.locator("#outcome")).to_have_text("It can be made: 2 sheets.")
    assert picture(page) != before
    text = drawing.with_suffix(".toml").read_text()
    assert text.startswith(JOB)
    assert tomllib.loads(text)["islands"]["pieces"] == {"buoy": "tie"}
    # The island that was dealt with can still be chosen anew, and what had the focus keeps it.
    expect(buoy.get_by_label("tie")).to_be_checked()
    expect(buoy.get_by_label("tie")).to_be_focused()
    expect(page.locator("#sheet-list figure")).to_have_count(2)
    expect(page.locator("#proof")).to_contain_text("make the drawing")


def test_a_length_is_set_with_the_keyboard_and_a_bad_one_is_told_beside_its_field(
    page: Page, open_page: Open, drawing: Path, watch: "object"
) -> None:
    watch.allowed.append("422")  # type: ignore[attr-defined]  # the refused choice, as the browser logs it
    open_page(page)
    field = page.get_by_label("Kerf", exact=True)
    form = page.locator("form", has=field)
    expect(field).to_have_value("0.15mm")
    field.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("0.2")
    page.keyboard.press("Enter")
    expect(form.locator(".note")).to_contain_text("'material.kerf' needs a unit")
    expect(field).to_have_attribute("aria-invalid", "true")
    assert drawing.with_suffix(".toml").read_text() == JOB
    page.keyboard.type("mm")
    page.keyboard.press("Enter")
    expect(form.locator(".note")).to_have_text("Written to harbour.toml.")
    expect(field).to_have_attribute("aria-invalid", "false")
    assert drawing.with_suffix(".toml").read_text() == JOB.replace("0.15mm", "0.2mm")
    settled(page, 2)


def test_the_job_file_is_followed_too(page: Page, open_page: Open, drawing: Path) -> None:
    open_page(page)
    save(drawing.with_suffix(".toml"), JOB + '[panel]\nframe = "12mm"\n')
    expect(page.get_by_label("Frame", exact=True)).to_have_value("12mm")
    settled(page, 2)


def test_a_broken_save_shows_the_sentence_and_keeps_the_picture(page: Page, open_page: Open, drawing: Path) -> None:
    open_page(page)
    before = picture(page)
    drawing.write_text(HARBOUR[:150])
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("harbour.svg: is not an SVG drawing")
    expect(page.locator("#news")).to_contain_text("Still showing save 1")
    assert picture(page) == before
    drawing.write_text(HARBOUR.replace("#88aacc", "#ccddee"))
    expect(alert).to_be_empty()
    expect(page.locator("#picture")).not_to_have_attribute("data-run", "1")
    assert "#ccddee" in colours(page)


def test_two_tabs_follow_at_once(context: BrowserContext, open_page: Open, drawing: Path) -> None:
    tabs = [open_page(context.new_page()) for _ in range(2)]
    save(drawing, HARBOUR.replace("#cc3333", "#33cc99"))
    for tab in tabs:
        settled(tab, 2)
        assert "#33cc99" in colours(tab)


def test_a_place_can_be_shown_and_the_islands_pointed_at(still: Page) -> None:
    show = still.get_by_role("button", name=re.compile("Show at")).first
    show.click()
    expect(show).to_have_attribute("aria-pressed", "true")
    expect(still.locator("#picture .place")).to_have_count(2)
    show.click()
    expect(still.locator("#picture .place")).to_have_count(0)
    still.locator("#picture .island").click()
    expect(still.get_by_role("group", name=re.compile("buoy")).get_by_label("leave")).to_be_focused()
    expect(still.locator("#picture .island.on")).to_have_count(1)


@pytest.fixture
def inch_address(tmp_path: Path) -> Iterator[str]:
    """The page of a watch whose maker reads inches."""
    drawing = made_in(tmp_path)
    drawing.with_suffix(".toml").write_text(JOB.replace("0.15mm", "0.006in") + '\n[page]\nunits = "in"\n')
    yield from watched(drawing)


def test_who_reads_inches_finds_no_millimetre(page: Page, inch_address: str) -> None:
    """From the findings to the sheets."""
    page.goto(inch_address)
    settled(page, 1)
    expect(page.get_by_role("button", name="Show at 1.97, 0.99 in")).to_be_visible()
    expect(page.get_by_label("Frame", exact=True)).to_have_value("1/4in")
    expect(page.locator("#no-islands")).to_contain_text("in in² of what a viewer sees wrong")
    page.get_by_role("group", name=re.compile("buoy")).get_by_label("cut loose").check()
    settled(page, 2)
    expect(page.locator("#outcome")).to_contain_text("It can be made")
    expect(page.locator("#sheet-list")).to_contain_text("ft to cut")
    expect(page.locator("#proof")).to_contain_text("0.00 in² of the picture")
    titles = [one.get_attribute("title") or "" for one in page.locator("[title]").all()]
    read = " ".join([page.locator("body").inner_text(), *titles])
    assert re.findall(r"\bmm\b|mm²|\d m\b", read) == []


def test_every_control_is_reached_with_the_keyboard_alone(still: Page) -> None:
    still.keyboard.press("Tab")
    expect(still.get_by_role("link", name="To the choices")).to_be_focused()
    still.keyboard.press("Enter")
    reached = []
    for _ in range(8):  # three fields, their buttons, the choice for all islands, and that for the one
        still.keyboard.press("Tab")
        focused = still.locator(":focus")
        reached.append(focused.get_attribute("aria-label") or focused.get_attribute("name") or focused.inner_text())
        expect(focused).to_have_css("outline-style", "solid")
    assert {"Set frame", "Set setback", "Set kerf", "way-", "way-buoy"} <= set(reached)


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_is_cut_off_at_any_width(still: Page, width: int) -> None:
    still.set_viewport_size({"width": width, "height": 1000})
    for part in ("#picture", "#choices", "#found", "#sheets", "footer", "header"):
        box = still.locator(part).bounding_box()
        assert box is not None
        assert box["x"] >= 0, part
        assert box["x"] + box["width"] <= width, part
    shown = still.locator("#picture").bounding_box()
    assert shown is not None
    assert shown["width"] > 0.35 * width
    still.mouse.wheel(400, 0)
    moved = still.locator("header").bounding_box()
    assert moved is not None
    assert moved["x"] >= 0  # nothing to scroll to on the side


def test_nothing_moves_for_those_who_ask_for_it(page: Page, open_page: Open, drawing: Path) -> None:
    page.emulate_media(reduced_motion="reduce")
    open_page(page)
    save(drawing, HARBOUR.replace("#cc3333", "#33cc99"))
    expect(page.locator("#busy .dot")).to_have_css("animation-name", "none")
    settled(page, 2)
