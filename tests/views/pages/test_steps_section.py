"""Painting, step by step, on the traveller: in words always, in pictures where they were asked for."""

import base64
import io

import pytest
from lxml import html
from PIL import Image
from scenes import Scenes
from shapely import box

from layercut.model import Called, Made, Shape
from layercut.output.contents import folder_files
from layercut.pipeline import conclude, cut_stack, plan_drawing
from layercut.views.pages.work_pages import work_pages_html


def build_of(scenes: Scenes, *settings: str) -> Made:
    """A blue sky; before it a hedge, a river, a house, a white gate and a stained board."""

    def named(x: float, y: float, colour: str, name: str) -> Shape:
        return scenes.shape(
            box(x, y, x + 45, y + 22), colour=colour, called=Called("rect", ident=name, around=(name,))
        )

    back = scenes.shape(scenes.ground(), colour="#88aacc", called=Called("rect", ident="sky", around=("sky",)))
    front = [
        named(0, 78, "#4c7a34", "hedge"),
        named(55, 78, "#336699", "river"),
        named(0, 56, "#b0483a", "house"),
        named(55, 56, "#ffffff", "gate"),
        named(0, 34, "#7a4a2a", "board"),
    ]
    drawing = scenes.drawing([back], front)
    made = conclude(cut_stack(plan_drawing(drawing, scenes.job('paint.stain=["board"]', *settings))), None)
    assert isinstance(made, Made)
    return made


@pytest.fixture(scope="module")
def build(scenes: Scenes) -> Made:
    return build_of(scenes)


def painting(page: str) -> html.HtmlElement:
    """The section of a page."""
    found = html.fromstring(f"<div>{page}</div>").xpath("//*[@id='painting']")
    assert isinstance(found, list)
    assert isinstance(found[0], html.HtmlElement)
    return found[0]


@pytest.fixture(scope="module")
def section(build: Made) -> html.HtmlElement:
    return painting(work_pages_html(build))


def captions(section: html.HtmlElement) -> list[list[str]]:
    """The words of each sheet's four steps."""
    return [[" ".join(one.text_content().split()) for one in row.xpath(".//figcaption")] for row in
            section.xpath(".//*[@class='painted']")]  # fmt: skip


def test_each_sheet_has_four_steps_in_words(section: html.HtmlElement) -> None:
    rows = captions(section)
    assert [len(row) for row in rows] == [4, 4]
    for row in rows:
        for number, words in enumerate(row, start=1):
            assert words.startswith(f"{number}. ")
        assert all("label" in row[step] for step in (0, 2, 3))


def test_words_name_paints_hands_and_what_has_one_shade(build: Made, section: html.HtmlElement) -> None:
    number = {colour.colour: colour.number for colour in build.work.paint.colours}
    hedge, river, house, white, board = (
        number[colour] for colour in ("#4c7a34", "#336699", "#b0483a", "#ffffff", "#7a4a2a")
    )
    back, front = captions(section)
    assert f"Stain {board} first" in front[0]
    assert f"{white} in its one shade" in front[0]
    assert f"Flat brush: {house}." in front[1]
    assert f"dabbed: {hedge}." in front[1]
    assert f"Wet in wet: {river}," in front[1]
    assert "0.8 mm back" in front[1]
    assert f"While {river} is wet, draw light in, up to the horizon" in front[2]
    assert f"While {number['#88aacc']} is wet, draw light in, down to the horizon" in back[2]
    assert "glue zones" in back[3]
    assert "glue zones" not in front[3]


def test_lengths_are_in_the_readers_units(scenes: Scenes) -> None:
    page = work_pages_html(build_of(scenes, "page.units=in", "paint.edge=1/16in"))
    section = painting(page)
    assert "1/16 in back" in captions(section)[1][1]


def test_the_order_before_the_paint_and_the_cautions(section: html.HtmlElement) -> None:
    """Sanding, edges, masking, primer, in this order; and what harms."""
    begins = [one.text_content().split()[0] for one in section.xpath(".//ol/li")]
    assert begins == ["Sand", "Cut", "Mask", "Prime"]
    (caution,) = section.find_class("caution")
    for word in ("label", "gloves", "flame", "rags", "mask"):
        assert word in caution.text_content()


def test_without_pictures_it_says_how_to_have_them(section: html.HtmlElement) -> None:
    assert not section.xpath(".//img")
    assert "compile scene.svg --steps" in section.text_content()


def test_asked_for_there_are_four_of_the_stack_and_eight_of_each_sheet(scenes: Scenes) -> None:
    build = build_of(scenes, "page.steps=true")
    files = folder_files(build)
    section = painting(files["traveller.html"].decode())
    images = section.xpath(".//img")
    assert len(images) == 4 + 2 * 8
    assert len({image.get("alt") for image in images}) == len(images)
    for image in images:
        kind, _, data = image.get("src").partition(",")
        assert kind == "data:image/webp;base64"
        with Image.open(io.BytesIO(base64.b64decode(data))) as shown:
            assert shown.size == (int(image.get("width")), int(image.get("height")))
    others = folder_files(build_of(scenes))
    assert {name for name in files if files[name] != others[name]} == {"traveller.html", "manifest.json"}


def test_bare_wood_has_no_steps(scenes: Scenes) -> None:
    drawing = scenes.drawing([], [])
    made = conclude(cut_stack(plan_drawing(drawing, scenes.job("page.steps=true"))), None)
    assert isinstance(made, Made)
    section = painting(folder_files(made)["traveller.html"].decode())
    assert "Nothing is painted" in section.text_content()
