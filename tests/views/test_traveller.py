"""The traveller page: what it says, what it never does, and its contrast."""

import dataclasses
import re
from collections.abc import Callable

import pytest
from lxml import html

from layercut.findings import Finding
from layercut.model import Build, Proof
from layercut.views.composite import compose_svg
from layercut.views.traveller import COLOURS, NOTES_PER_CODE, TEXT_PAIRS, traveller_html

MakeBuild = Callable[..., Build]

ISLAND = Finding("island", "error", "house#1 would fall out.", "house", "path 'bird'", (93.0, 22.0), (6.0, 4.0))


def page_of(build: Build) -> str:
    return traveller_html(build, compose_svg(build))


def words_of(page: str) -> str:
    root = html.fromstring(page)
    for style in root.iter("style"):
        style.text = ""
    return " ".join(root.text_content().split())


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    channels = [value / 255 for value in bytes.fromhex(colour.removeprefix("#"))]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize(("text", "ground"), TEXT_PAIRS)
def test_text_stands_out(text: str, ground: str) -> None:
    lighter, darker = sorted((luminance(COLOURS[text]), luminance(COLOURS[ground])), reverse=True)
    assert (lighter + 0.05) / (darker + 0.05) >= 4.5


def test_the_style_uses_the_tested_colours_only(make_build: MakeBuild) -> None:
    style = re.search(r"<style>(.*?)</style>", page_of(make_build()), re.DOTALL)
    assert style is not None
    assert set(re.findall(r"#[0-9a-f]{6}\b", style[1])) == set(COLOURS.values())
    grounds = set(re.findall(r"background: var\(--([a-z-]+)\)", style[1]))
    assert grounds <= {ground.replace("_", "-") for _, ground in TEXT_PAIRS}
    texts = set(re.findall(r"(?<![a-z-])color: var\(--([a-z-]+)\)", style[1]))
    assert texts <= {text.replace("_", "-") for text, _ in TEXT_PAIRS}


def test_says_the_job_the_sheets_and_the_times(make_build: MakeBuild) -> None:
    page = page_of(make_build())
    words = words_of(page)
    assert html.fromstring(page).findtext(".//h1") == "cottage"
    assert "A panel of 120 × 90 mm from 3 sheets of plywood, 3 mm thick" in words  # noqa: RUF001
    assert "kerf of 0.15 mm" in words
    rows = html.fromstring(page).xpath("//tbody/tr")
    assert [row.xpath("string(th/b)") for row in rows] == ["1. sky", "2. hill", "3. house"]
    assert [row.xpath("string(td[@data-name='Time, estimated'])") for row in rows] == ["2 min", "3 min", "5 min"]
    assert all(row.xpath("td[1]/svg/path") for row in rows)
    assert "about 9 min at the machine (an estimate)" in words
    assert "Nothing was cut" not in words
    assert words.index("Engrave and cut") < words.index("Paint before gluing") < words.index("Glue from the back")


def test_the_thumbnails_differ_as_the_sheets_do(make_build: MakeBuild) -> None:
    paths = html.fromstring(page_of(make_build())).xpath("//tbody/tr/td[1]/svg/path/@d")
    assert len(set(paths)) == 3
    assert paths[0].count("Z") == 2  # the rim and one pin
    assert paths[1].count("Z") == 3  # and the opening above the hill


@pytest.mark.parametrize(
    "caution",
    [
        "Never leave a running laser alone",
        "extinguisher",
        "Extraction",
        "PVC",
        "hydrogen chloride",
        "make-up you don't know",
        "IEC 60825-1",
        "1 mg/m³",
        "local codes",
        "never sets beam power",
        "fix them into something that holds",
    ],
)
def test_cautions_are_there(make_build: MakeBuild, caution: str) -> None:
    assert caution in words_of(page_of(make_build()))


def test_what_cannot_be_made_says_so_first(make_build: MakeBuild) -> None:
    words = words_of(page_of(make_build(findings=(ISLAND,), cut=False)))
    assert "Nothing was cut. No sheet was written, because one thing must change first" in words
    assert words.index("Nothing was cut") < words.index("What was found")
    assert "house#1 would fall out." in words
    assert "layer house · path 'bird' · 93.0 mm from the left, 22.0 mm from the top" in words
    assert "The sheets, from back to front" not in words
    assert "Order of work" not in words
    assert "Take care" in words


def test_rings_bear_the_numbers_of_the_picture(make_build: MakeBuild) -> None:
    other = dataclasses.replace(ISLAND, layer="sky", at_mm=(30.0, 30.0), message="sky#1 would fall out.")
    build = make_build(findings=(ISLAND, other), cut=False)
    root = html.fromstring(page_of(build))
    listed = {
        item.xpath("string(span[@class='ring'])"): "sky#1" in item.text_content()
        for item in root.xpath("//li[@class='ringed']")
    }
    drawn = {group.get("data-finding"): "sky#1" in group.text_content() for group in root.xpath("//*[@data-finding]")}
    assert listed == drawn == {"1": True, "2": False}


def test_findings_come_errors_first_and_are_grouped(make_build: MakeBuild) -> None:
    warnings = tuple(Finding("narrow", "warning", f"thin {n}", "hill") for n in range(NOTES_PER_CODE + 5))
    info = Finding("blend", "info", "a blend")
    words = words_of(page_of(make_build(findings=(info, *warnings, ISLAND), cut=False)))
    assert words.index("house#1") < words.index("thin 0") < words.index("a blend")
    assert words.count("wood narrower than the limit, though") == 1
    assert "and 5 more, all in manifest.json" in words


def test_nothing_found_is_said(make_build: MakeBuild) -> None:
    assert "Nothing wrong and nothing doubtful." in words_of(page_of(make_build()))


def test_names_are_escaped(make_build: MakeBuild) -> None:
    evil = "<script>alert(1)</script>"
    finding = Finding("narrow", "warning", f"thin {evil}", evil, evil)
    page = page_of(
        make_build(names=(evil, "hill", "house"), file=f"{evil.replace('/', '')}.svg", findings=(finding,))
    )
    root = html.fromstring(page)
    assert not root.xpath("//script")
    assert "<script" not in page
    assert root.xpath("string(//tbody/tr[1]/th/b)") == f"1. {evil}"


def test_asks_nothing_of_the_network_and_runs_nothing(make_build: MakeBuild) -> None:
    page = page_of(make_build())
    assert not re.search(r"<(script|link|iframe|img|object|embed)\b", page)
    assert not re.search(r"@import|@font-face|\son\w+=", page)
    addresses = set(re.findall(r"https?://[^\"'\s<]+", page))
    assert addresses == {"http://www.w3.org/2000/svg"}
    assert all(url.startswith("#") for url in re.findall(r"url\(([^)]+)\)", page))


def test_readable_on_a_phone_printable_and_described(make_build: MakeBuild) -> None:
    page = page_of(make_build())
    root = html.fromstring(page)
    assert root.get("lang") == "en"
    assert root.xpath("//meta[@name='viewport']/@content") == ["width=device-width, initial-scale=1"]
    assert "@media print" in page
    picture = root.xpath("//figure/svg")[0]
    assert picture.get("role") == "img"
    assert root.xpath(f"string(//*[@id='{picture.get('aria-labelledby')}'])") == "cottage, the finished stack"
    assert "From back to front: sky, hill, house." in root.xpath("string(//figcaption)")


def test_proof_and_pins_and_spacers_are_said_where_they_are(make_build: MakeBuild) -> None:
    build = make_build()
    words = words_of(page_of(build))
    assert "pins through the three holes" in words
    assert "read back" not in words
    spacer = dataclasses.replace(build.sheets[0], name="spacer", kind="spacer", copies=2)
    panel = dataclasses.replace(build.stack.panel, pins=())
    more = dataclasses.replace(
        build,
        sheets=(*build.sheets, spacer),
        stack=dataclasses.replace(build.stack, panel=panel),
        proof=Proof(0.0, 3, 3),
    )
    words = words_of(page_of(more))
    assert "pins through" not in words
    assert "from 5 sheets" in words
    assert "The spacers go behind sheet 1." in words
    assert "3 of 3 planned pieces come off the bed" in words


def test_same_build_same_page(make_build: MakeBuild) -> None:
    assert page_of(make_build(findings=(ISLAND,))) == page_of(make_build(findings=(ISLAND,)))
