"""The traveller page: what it says, what it never does, and its contrast."""

import dataclasses
import itertools
import re
from collections.abc import Callable
from pathlib import Path

import pytest
import shapely
from elements import all_text, elements, only, string, strings
from lxml import html

from layercut.colour.bare import PLYWOOD
from layercut.findings import Finding
from layercut.job import Job
from layercut.model import Build, Made, Planned, Proof
from layercut.sheets.smoothing import smooth_sheets
from layercut.views.pages import traveller
from layercut.views.pages.traveller import COLOURS, TEXT_PAIRS, traveller_html
from layercut.views.pages.traveller_notes import NOTES_PER_CODE, QUIET_RING
from layercut.views.pages.traveller_order import MOST_PASSES, order_words, passes_of
from layercut.views.picture.stack_svg import RING, compose_svg

MakeBuild = Callable[..., Made]
PlanBuild = Callable[..., Planned]

ISLAND = Finding("island", "error", "house#1 would fall out.", "house", "path 'bird'", (93.0, 22.0), (6.0, 4.0))


def page_of(build: Build) -> str:
    return traveller_html(build, compose_svg(build))


def words_of(page: str) -> str:
    root = html.fromstring(page)
    for unread in root.iter("style", "script"):
        unread.text = ""
    return " ".join(all_text(root).split())


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    channels = [value / 255 for value in bytes.fromhex(colour.removeprefix("#"))]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first: str, second: str) -> float:
    """The contrast ratio as WCAG 2.2 defines it."""
    lighter, darker = sorted((luminance(first), luminance(second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_as_published() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)  # WebAIM's example of a pass


@pytest.mark.parametrize(("text", "ground"), TEXT_PAIRS)
def test_text_stands_out(text: str, ground: str) -> None:
    assert contrast(COLOURS[text], COLOURS[ground]) >= 4.5


@pytest.mark.parametrize("drawn", [COLOURS["mark"], COLOURS["ink"], COLOURS["stop"]])
def test_lines_on_wood_stand_out(drawn: str) -> None:
    # WCAG 2.2, 1.4.11: what one must see to understand a graphic has 3 to 1.
    assert contrast(drawn, PLYWOOD) >= 3


def test_rings_and_controls_stand_out() -> None:
    assert COLOURS["accent"] == QUIET_RING
    assert min(contrast(colour, "#ffffff") for colour in (QUIET_RING, RING)) >= 3
    assert contrast(COLOURS["accent"], COLOURS["paper"]) >= 3


@pytest.mark.parametrize(
    "name",
    ["views/pages/traveller.css", "watching/page.css", "views/picture/stack_svg.py", "views/pages/map_notes.py"],
)
def test_no_typeface_is_named_but_generic_ones(name: str) -> None:
    """Style sheets and pictures take whatever the reader's machine has of a kind."""
    text = (Path(traveller.__file__).parents[2] / name).read_text(encoding="utf-8")
    families = re.findall(r"font-family[:=]\s*[\"']?([^;\"']+)|\bfont: \S*em\S* ([^;]+);", text)
    assert families
    named = {family.strip() for pair in families for family in (pair[0] or pair[1]).split(",")}
    assert named <= {"serif", "sans-serif", "ui-monospace", "monospace"}


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
    rows = elements(html.fromstring(page), "//table[@class='pictured']/tbody/tr")
    assert [string(row, "string(th/b)") for row in rows] == ["1. sky", "2. hill", "3. house"]
    # 90, 180 and 270 s, of parts that are rounded one by one: 40 + 40 + 9, 81 + 81 + 18, 121 + 121 + 28.
    assert [string(row, "string(td[@data-name='Time of one, min:s'])") for row in rows] == ["1:29", "3:00", "4:30"]
    assert [string(row, "string(td[1]/svg/g/use/@href)") for row in rows] == ["#wood-1", "#wood-2", "#wood-3"]
    assert "about 8 min 59 s at the machine (an estimate)" in words
    assert "Nothing was cut" not in words
    assert words.index("Engrave and cut") < words.index("Paint before gluing") < words.index("Glue from the back")


def test_every_reference_has_its_target(make_build: MakeBuild, plan_build: PlanBuild) -> None:
    for build in (make_build(), plan_build(findings=(ISLAND,))):
        page = page_of(build)
        ids = re.findall(r'\sid="([^"]+)"', page)
        assert len(ids) == len(set(ids))
        assert set(re.findall(r'href="#([^"]+)"', page)) | set(re.findall(r"url\(#([^)]+)\)", page)) <= set(ids)


def test_the_order_shows_every_mark_and_contour(make_build: MakeBuild) -> None:
    build = make_build()
    root = html.fromstring(page_of(build))
    for place, sheet in enumerate(build.sheets, start=1):
        passes = elements(
            root, f"//section[@aria-labelledby='sheet-name-{place}']//path[starts-with(@class, 'pass')]"
        )
        assert [path.get("class") for path in passes] == [
            *(["pass lines"] if sheet.mark_lines else []),
            "pass openings",
            "pass rim",
        ]
        assert passes[-1].get("data-words") == "The rim, last of all"
    assert order_words(build.sheets[2]) == "1 marked line, then 1 opening, and the rim last."


def test_passes_are_few_and_keep_the_order(make_build: MakeBuild) -> None:
    openings = tuple(shapely.box(n, 0, n + 0.5, 0.5) for n in range(1000))
    (sheet,) = smooth_sheets([dataclasses.replace(make_build().sheets[0], openings=openings)], Job())
    cuts = [part for part in passes_of(sheet) if part.kind == "openings"]
    assert len(cuts) == MOST_PASSES["openings"]
    starts = [float(x) for part in cuts for x in re.findall(r"M([\d.]+) ", part.path)]
    assert len(starts) == 1000
    assert starts == sorted(starts)
    counted = [tuple(map(int, re.findall(r"\d+", part.words))) for part in cuts]
    assert counted[0][0] == 1
    assert counted[-1][1:] == (1000, 1000)
    assert all(before[1] + 1 == after[0] for before, after in itertools.pairwise(counted))


def test_the_stack_has_every_layer_from_the_back(make_build: MakeBuild, plan_build: PlanBuild) -> None:
    for build in (make_build(), plan_build(findings=(ISLAND,))):
        leaves = strings(html.fromstring(page_of(build)), "//div[@class='leaf']//use[1]/@href")
        assert [href for href in leaves if "sheet" in href] == ["#sheet-1", "#sheet-2", "#sheet-3"]


def test_what_is_worth_a_look_is_on_the_map(make_build: MakeBuild, plan_build: PlanBuild) -> None:
    warnings = tuple(Finding("narrow", "warning", f"thin {n}", "hill", at_mm=(10.0 * n, 50.0)) for n in (1, 2))
    placeless = Finding("narrow", "warning", "thin somewhere", "hill")
    root = html.fromstring(page_of(make_build(findings=(*warnings, placeless))))
    section = only(root, "//*[@id='found']")
    listed = {
        string(item, "string(span[starts-with(@class, 'ring')])"): all_text(item).split()[1]
        for item in elements(section, ".//li[@class='ringed']")
    }
    drawn = {
        ring.get("data-finding"): ring.get("transform")
        for ring in elements(section, ".//div[@class='map']//*[@data-finding]")
    }
    assert drawn == {"1": "translate(10 50)", "2": "translate(20 50)"}
    assert set(listed) == {"1", "2"}
    assert not elements(html.fromstring(page_of(plan_build(findings=(ISLAND,)))), "//div[@class='map']")


def test_headings_are_in_order_and_landmarks_there(make_build: MakeBuild, plan_build: PlanBuild) -> None:
    for build in (make_build(), plan_build(findings=(ISLAND,))):
        root = html.fromstring(page_of(build))
        levels = [int(str(heading.tag)[1]) for heading in elements(root, "//h1|//h2|//h3|//h4")]
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
        assert [len(elements(root, f"//{name}")) for name in ("header", "nav", "main", "footer")] == [1, 1, 1, 1]
        assert string(root, "string(//body/a[1]/@href)") == "#content"
        assert {href[1:] for href in strings(root, "//nav//a/@href")} <= set(strings(root, "//main//section/@id"))
        for picture in elements(root, "//main//svg[not(ancestor::svg)]"):
            hidden = elements(picture, "ancestor-or-self::*[@aria-hidden='true']")
            assert hidden or picture.get("aria-label") or picture.get("aria-labelledby")


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


def test_what_cannot_be_made_says_so_first(plan_build: PlanBuild) -> None:
    words = words_of(page_of(plan_build(findings=(ISLAND,))))
    assert "Nothing was cut. No sheet was written, because one thing must change first" in words
    assert words.index("Nothing was cut") < words.index("What was found")
    assert "house#1 would fall out." in words
    assert "layer house · path 'bird' · 93.0 mm from the left, 22.0 mm from the top" in words
    assert "The sheets, from back to front" not in words
    assert "Order of work" not in words
    assert "Take care" in words


def test_rings_bear_the_numbers_of_the_picture(plan_build: PlanBuild) -> None:
    other = dataclasses.replace(ISLAND, layer="sky", at_mm=(30.0, 30.0), text="sky#1 would fall out.")
    build = plan_build(findings=(ISLAND, other))
    root = html.fromstring(page_of(build))
    listed = {
        string(item, "string(span[starts-with(@class, 'ring')])"): "sky#1" in all_text(item)
        for item in elements(root, "//li[@class='ringed']")
    }
    drawn = {group.get("data-finding"): "sky#1" in all_text(group) for group in elements(root, "//*[@data-finding]")}
    assert listed == drawn == {"1": True, "2": False}


def test_findings_come_errors_first_and_are_grouped(plan_build: PlanBuild) -> None:
    warnings = tuple(Finding("narrow", "warning", f"thin {n}", "hill") for n in range(NOTES_PER_CODE + 5))
    info = Finding("blend", "info", "a blend")
    words = words_of(page_of(plan_build(findings=(info, *warnings, ISLAND))))
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
    assert page.count("<script") == 1  # the page's own
    assert string(root, "string(//table[@class='pictured']/tbody/tr[1]/th/b)") == f"1. {evil}"


def test_asks_nothing_of_the_network(make_build: MakeBuild) -> None:
    page = page_of(make_build())
    assert not re.search(r"<(link|iframe|img|object|embed)\b", page)
    assert page.count("<script>") == 1
    assert not re.search(
        r"fetch|XMLHttp|import|WebSocket|sendBeacon|\bsrc\b", re.findall(r"<script>.*?</script>", page, re.S)[0]
    )
    assert not re.search(r"@import|@font-face|\son\w+=", page)
    addresses = set(re.findall(r"https?://[^\"'\s<]+", page))
    assert addresses == {"http://www.w3.org/2000/svg"}
    assert all(url.startswith("#") for url in re.findall(r"url\(([^)]+)\)", page))


def test_readable_on_a_phone_printable_and_described(make_build: MakeBuild) -> None:
    page = page_of(make_build())
    root = html.fromstring(page)
    assert root.get("lang") == "en"
    assert strings(root, "//meta[@name='viewport']/@content") == ["width=device-width, initial-scale=1"]
    assert "@media print" in page
    picture = elements(root, "//figure/svg")[0]
    assert picture.get("role") == "img"
    assert string(root, f"string(//*[@id='{picture.get('aria-labelledby')}'])") == "cottage, the finished stack"
    assert "From back to front: sky, hill, house." in string(root, "string(//figcaption)")


def test_proof_and_pins_and_spacers_are_said_where_they_are(make_build: MakeBuild) -> None:
    build = make_build()
    words = words_of(page_of(build))
    assert "pins through the three holes" in words
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
