"""The cascade beyond what the reference cases hold, paints, and what is said about what isn't supported."""

from pathlib import Path

import pytest

from layercut.drawing import read_drawing
from layercut.job import load_job
from layercut.model import Drawing

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
ALL_WOOD = load_job(None, ["marks.line_below=0mm"])


def read(body: str, folder: Path) -> Drawing:
    path = folder / "picture.svg"
    path.write_text(f"{HEAD}{body}</svg>", encoding="utf-8")
    return read_drawing(path, ALL_WOOD)


def colours(body: str, folder: Path) -> list[str]:
    return [shape.paint.colour for shape in read(body, folder).layers[0].shapes]


def remarks(body: str, folder: Path) -> list[str]:
    return [finding.message for finding in read(body, folder).findings]


BOX = '<rect class="k" width="10" height="10" {}/>'


@pytest.mark.parametrize(
    ("sheet", "attributes", "colour"),
    [
        ("@media print{rect{fill:#00f}}", "", "#0000ff"),
        ("@media all{@media only print{rect{fill:#00f}}}", "", "#0000ff"),
        (".k{fill:#00f;fill:nonsense}", "", "#0000ff"),
        (".k{fill:#00f} rect{fill:#0f0}", "", "#0000ff"),
        ("rect.k:not(.j){fill:#00f}", "", "#0000ff"),
        ("g>rect:first-child{fill:#00f}", "", "#0000ff"),
        ("circle,.k{fill:#00f}", "", "#0000ff"),
        ("<!-- .k{fill:#00f} -->", "", "#0000ff"),
        (".k{fill:inherit}", 'fill="#f00"', "#123456"),
        (".k{fill:unset}", 'fill="#f00"', "#123456"),
        (".k{fill:initial}", 'fill="#f00"', "#000000"),
        (".k{FILL:#00F}", "", "#0000ff"),
        (".k{fill:red!important}", 'style="fill:#00f!important"', "#0000ff"),
        (".k{color:#00f}", 'fill="currentColor"', "#0000ff"),
        ("", 'style="fill:#f00;;stroke-width:3px;/* c */ fill : #00f"', "#0000ff"),
        ("", 'fill="wrong"', "#123456"),
        ("", 'fill="hsl(240 100% 50%)"', "#0000ff"),
        ("", 'fill="rgb(0%,0%,100%)"', "#0000ff"),
        ("", 'fill="BLUE"', "#0000ff"),
        ("", 'fill="#00f icc-color(a, 1, 2)"', "#0000ff"),
        ("", 'fill="url(#none) #00f"', "#0000ff"),
    ],
)
def test_the_colour_of_a_box(sheet: str, attributes: str, colour: str, tmp_path: Path) -> None:
    styled = sheet.replace("<", "&lt;").replace(">", "&gt;")
    body = f'<style>{styled}</style><g fill="#123456">{BOX.format(attributes)}</g>'
    assert colours(body, tmp_path) == [colour]


@pytest.mark.parametrize("fill", ["none", "transparent", "#00f0", "url(#missing)", "url(#missing) none"])
def test_nothing_painted(fill: str, tmp_path: Path) -> None:
    assert colours(f"<g>{BOX.format(f'fill={fill!r}')}</g>", tmp_path) == []


def test_geometry_may_come_from_css(tmp_path: Path) -> None:
    style = "rect{width:20px;height:5mm;rx:0} circle{r:3px} path{d:path('M50 50h10v10z')}"
    body = f'<style>{style}</style><g><rect/><circle cx="9" cy="50" r="1"/><path d="M0 0h1v1z"/></g>'
    rect, circle, path = (shape.geometry for shape in read(body, tmp_path).layers[0].shapes)
    assert rect.bounds == pytest.approx((0, 0, 20, 5 * 96 / 25.4))
    assert circle.bounds == pytest.approx((6, 47, 12, 53), abs=0.002)
    assert path.bounds == (50, 50, 60, 60)


def test_transform_as_a_property(tmp_path: Path) -> None:
    style = "rect{transform:translate(10px,5px) rotate(90deg);transform-origin:5px 5px}"
    body = f'<style>{style}</style><g><rect width="10" height="4" transform="scale(9)"/></g>'
    (shape,) = read(body, tmp_path).layers[0].shapes
    assert shape.geometry.bounds == pytest.approx((16, 5, 20, 15))


def test_a_pattern_is_what_it_repeats(tmp_path: Path) -> None:
    tile = '<rect width="4" height="4" fill="#fff"/><circle r="1" cx="2" cy="2" fill="#f00"/>'
    pattern = f'<pattern id="p" patternUnits="userSpaceOnUse" width="4" height="4">{tile}</pattern>'
    drawing = read(f'{pattern}<g><rect width="8" height="4" fill="url(#p)"/></g>', tmp_path)
    ground, dots = drawing.layers[0].shapes
    assert [ground.paint.colour, dots.paint.colour] == ["#ffffff", "#ff0000"]
    assert ground.geometry.bounds == (0, 0, 8, 4)
    assert [part.bounds for part in dots.geometry.geoms] == [pytest.approx((1, 1, 3, 3)), pytest.approx((5, 1, 7, 3))]
    assert drawing.findings == ()


@pytest.mark.parametrize(
    ("body", "word"),
    [
        (BOX.format('mask="url(#none)"'), "mask"),
        (BOX.format('style="mask:linear-gradient(#000, #fff)"'), "mask"),
        (BOX.format('filter="url(#f)"'), "filter"),
        (BOX.format('style="mix-blend-mode:multiply"'), "mix-blend-mode"),
        (BOX.format('style="fill:var(--wood)"'), "var()"),
        (BOX.format('style="stroke-width:calc(1px + 2px)"'), "calc()"),
        (BOX.format('style="clip-path:circle(5px)"'), "clip-path"),
        (BOX.format('clip-path="url(#none)"'), "clip path"),
        (BOX.format('style="rotate:10deg"'), "rotate"),
        (BOX.format('style="transform:rotate(10deg);transform-box:fill-box"'), "transform-box"),
        (BOX.format('transform="rotate(10"'), "transform"),
        (BOX.format('fill="url(#none)"'), "refers to nothing"),
        (BOX.format('fill="context-fill"'), "context-fill"),
        ('<path d="M0 0h9v9z" marker-end="url(#m)"/>', "markers"),
        ('<path d="M0 0h9v9zq"/>', "error"),
        ('<text><textPath href="#a">hello</textPath></text>', "text"),
        ("<foreignObject><p/></foreignObject>", "foreignObject"),
        ('<use href="other.svg#leaf"/>', "use"),
        ('<use href="#none"/>', "use"),
        ("<animate/>", "animation"),
        ("<style>@import 'x.css';</style>", "style sheet"),
        ("<style>@media screen{rect{fill:red}}</style>", "screen"),
        ("<style>@supports (x:y){rect{fill:red}}</style>", "supports"),
        ("<style>rect::::x{fill:red}</style>", "selector"),
        ('<style type="text/less">x</style>', "isn't CSS"),
        (
            '<clipPath id="c"><g><rect width="5" height="5"/></g></clipPath>' + BOX.format('clip-path="url(#c)"'),
            "group in a clip",
        ),
    ],
)
def test_what_is_not_supported_is_said(body: str, word: str, tmp_path: Path) -> None:
    drawing = read(f'<g id="hill"><path d="M0 0h1v1z"/>{body}</g>', tmp_path)
    (finding,) = (finding for finding in drawing.findings if finding.code != "layer-empty")
    assert finding.code in ("unsupported", "text-unread")
    assert word in finding.message
    assert finding.message.endswith((".", "more"))


def test_a_style_sheet_outside(tmp_path: Path) -> None:
    path = tmp_path / "picture.svg"
    path.write_text(
        f'<?xml-stylesheet href="x.css"?>{HEAD}<g><rect width="1" height="1"/></g></svg>', encoding="utf-8"
    )
    (finding,) = read_drawing(path, ALL_WOOD).findings
    assert "style sheet" in finding.message


def test_nothing_is_said_about_guides(tmp_path: Path) -> None:
    guide = '<image href="x"/><text>x</text><path filter="url(#f)" d="M0 0q"/>'
    body = f'<g id="a"><rect width="5" height="5"/><g id="guide-photo">{guide}</g></g>'
    assert remarks(body, tmp_path) == []


def test_visibility_is_for_each_shape(tmp_path: Path) -> None:
    box = BOX.format
    body = f'<g visibility="hidden">{box("")}{box("visibility=" + chr(34) + "visible" + chr(34))}<text>x</text></g>'
    drawing = read(body, tmp_path)
    assert len(drawing.layers[0].shapes) == 1
    assert drawing.findings == ()


ODD_SELECTORS = ["[*|href]", ":lang()", ">".join(["g"] * 80), "+".join(["*"] * 400), ":is(", "\\"]


@pytest.mark.parametrize("selector", ODD_SELECTORS, ids=lambda selector: selector[:12])
def test_a_selector_that_is_not_understood_costs_its_rule_only(selector: str, tmp_path: Path) -> None:
    path = tmp_path / "drawing.svg"
    sheet = f"{selector}{{fill:#ff0000}} rect{{fill:#00ff00}}".replace(">", "&gt;")
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><style>{sheet}</style>'
        '<g id="a"><rect width="9" height="9"/></g></svg>'
    )
    drawing = read_drawing(path, load_job(None))
    assert [finding.code for finding in drawing.findings] == ["unsupported"]
    if selector not in (":is(", "\\"):  # those take the rest of the sheet with them, as CSS Syntax 3 has it
        assert drawing.layers[0].shapes[0].paint.colour == "#00ff00"
