"""Sheets that a machine would take for others, or that hold what layercut never writes: each is told.

Each slip is told by the last stage of a compile and by `layercut verify` alike.
"""

from pathlib import Path

import pytest
import tampering as t
from slips import HILL, Honest, Slip, assert_told, slips

COLOURS = [
    *slips(
        "role-differs",
        HILL,
        (
            "marks and openings in each other's colour",
            t.exchange("#CC79A7", "#009E73"),
            "mark-line so that it has the stroke #009E73, the colour of cut-opening",
        ),
        (
            "openings without a stroke",
            t.paint("cut-opening", "stroke", "none"),
            "cut-opening so that it has no stroke",
        ),
        (
            "openings whose stroke is gone",
            t.paint("cut-opening", "stroke", None),
            "cut-opening so that it has no stroke",
        ),
        ("openings in no role's colour", t.paint("cut-opening", "stroke", "#123456"), "#123456, which is no role's"),
        (
            "openings in the marks' colour, in words of CSS",
            t.paint("cut-opening", "stroke", "rgb(204 121 167)"),
            "the colour of mark-line",
        ),
        (
            "openings in the marks' colour, as a hue",
            t.paint("cut-opening", "stroke", "hsl(326.7, 44.9%, 63.7%)"),
            "the colour of mark-line",
        ),
        (
            "openings in the colour of what is around them",
            t.paint("cut-opening", "stroke", "currentColor"),
            "no plain colour",
        ),
        ("openings half clear", t.paint("cut-opening", "stroke", "#009E7380"), "no plain colour"),
        ("one opening without a stroke", t.on_path("cut-opening", 'stroke="none"'), "path 1 of cut-opening, at "),
        (
            "one opening in the marks' colour",
            t.on_path("cut-opening", 'stroke="#CC79A7"', 1),
            "path 2 of cut-opening, at ",
        ),
        ("one opening filled", t.on_path("cut-opening", 'fill="#56B4E9"'), "fill #56B4E9 beside its stroke"),
        (
            "a rim with a fill",
            t.paint("cut-outline", "fill", "#ffffff"),
            "cut-outline so that it has the fill #ffffff",
        ),
        (
            "a rim whose fill isn't said",
            t.paint("cut-outline", "fill", None),
            "cut-outline so that it has the fill black",
        ),
        (
            "letters with the cut's stroke",
            t.paint("mark-area", "stroke", "#009E73"),
            "mark-area so that it has the stroke #009E73",
        ),
        ("one letter with the cut's stroke", t.on_path("mark-area", 'stroke="#009E73"'), "path 1 of mark-area, at "),
        ("letters under the other fill rule", t.paint("mark-area", "fill-rule", "nonzero"), "fill rule nonzero"),
        ("letters under no fill rule", t.paint("mark-area", "fill-rule", None), "fill rule nonzero"),
        ("letters without a fill", t.paint("mark-area", "fill", "none"), "mark-area so that it has no fill"),
        ("letters in the colour of lines", t.paint("mark-area", "fill", "#CC79A7"), "the colour of mark-line"),
        (
            "lines as broad as areas",
            t.paint("mark-line", "stroke-width", "5"),
            "mark-line so that it has lines 5 wide",
        ),
        ("lines of no width", t.paint("cut-opening", "stroke-width", "0"), "cut-opening so that it has lines 0 wide"),
        (
            "colours of the rim said above all groups",
            lambda s: t.paint("cut-opening", "stroke", None)(s).replace("<svg ", '<svg stroke="#E69F00" ', 1),
            "the colour of cut-outline",
        ),
    ),
    *slips(
        "sheet-damaged",
        HILL,
        ("a fill on the root that changes nothing", t.swap("<svg ", '<svg fill="none" '), "'fill' on its <svg>"),
        (
            "a path's own stroke that changes nothing",
            t.on_path("cut-opening", 'stroke="#009e73"'),
            "'stroke' on path 1 of cut-opening",
        ),
    ),
]

DOCTYPE = '<!DOCTYPE svg [<!ATTLIST g transform CDATA "translate(30)">]>\n<svg'
FOREIGN = "http://example.org/editor"

DOCUMENT = [
    *slips(
        "sheet-damaged",
        HILL,
        ("a DOCTYPE that shifts all groups", t.swap("<svg", DOCTYPE), "DOCTYPE"),
        ("a DOCTYPE that does nothing", t.swap("<svg", "<!DOCTYPE svg>\n<svg"), "DOCTYPE"),
        (
            "an entity",
            lambda s: t.in_group("cut-opening", t.swap(">\n", ">&x;\n"))(s).replace(
                "<svg", '<!DOCTYPE svg [<!ENTITY x "y">]><svg', 1
            ),
            "DOCTYPE",
        ),
        (
            "a style sheet inside",
            t.swap("</title>", "</title><style>g{stroke:red}</style>"),
            "<style> in the document",
        ),
        ("a style sheet beside", t.swap("<svg", '<?xml-stylesheet href="x.css"?><svg'), "processing instruction"),
        ("an instruction behind", lambda s: s + "<?cut twice?>", "processing instruction"),
        (
            "an instruction in a group",
            t.in_group("cut-opening", t.swap("\n<path", "\n<?cut twice?><path")),
            "processing instruction in cut-opening",
        ),
        ("a declared encoding", t.swap("<svg", '<?xml version="1.0" encoding="latin-1"?>\n<svg'), "XML declaration"),
        ("a styled group", t.on_group("cut-opening", 'style="stroke:#CC79A7"'), "'style' on the <g> of cut-opening"),
        (
            "a styled path",
            t.on_path("cut-opening", 'style="stroke:none"'),
            "'style' on the <path> of path 1 of cut-opening",
        ),
        ("a class", t.on_group("cut-opening", 'class="x"'), "'class' on the <g> of cut-opening"),
        (
            "a moved group",
            t.on_group("mark-line", 'transform="translate(30)"'),
            "'transform' on the <g> of mark-line",
        ),
        ("a moved path", t.on_path("cut-opening", 'transform="translate(30)"'), "'transform' on the <path>"),
        ("a moved document", t.swap("<svg ", '<svg transform="scale(2)" '), "'transform' on the <svg>"),
        (
            "a hidden group",
            t.on_group("cut-opening", 'visibility="hidden"'),
            "'visibility' on the <g> of cut-opening",
        ),
        (
            "a group that isn't shown",
            t.on_group("cut-opening", 'display="none"'),
            "'display' on the <g> of cut-opening",
        ),
        ("a pale group", t.on_group("mark-area", 'opacity="0.1"'), "'opacity' on the <g> of mark-area"),
        ("dashes", t.on_group("cut-opening", 'stroke-dasharray="1 1"'), "'stroke-dasharray'"),
        ("something clipped", t.on_group("cut-opening", 'clip-path="url(#x)"'), "'clip-path'"),
        ("something used", t.swap("</svg>", '<use href="#x"/></svg>'), "<use> in the document"),
        ("definitions", t.swap("</title>", "</title><defs/>"), "<defs> in the document"),
        (
            "a rectangle",
            t.in_group("cut-opening", t.swap("\n<path", '\n<rect width="9" height="9"/><path')),
            "<rect> in path 1 of cut-opening",
        ),
        ("a picture", t.swap("</svg>", '<image width="9" height="9"/></svg>'), "<image> in the document"),
        ("a script", t.swap("</svg>", "<script>1</script></svg>"), "<script> in the document"),
        (
            "words of an editor's own",
            t.swap("<svg ", f'<svg xmlns:e="{FOREIGN}" e:label="x" '),
            "'label' on the <svg>",
        ),
        ("an editor's namespace", t.swap("<svg ", f'<svg xmlns:e="{FOREIGN}" '), "foreign namespace, 'e'"),
        ("an editor's element", t.swap("</title>", f'</title><view xmlns="{FOREIGN}"/>'), "<view> in the document"),
        (
            "words between paths",
            t.in_group("cut-opening", t.swap("\n<path", "\nM0 0<path")),
            "the words 'M0 0' in cut-opening",
        ),
        (
            "a path within a path",
            t.in_group("cut-opening", t.swap("/>", '><animate attributeName="d"/></path>')),
            "inside a path of cut-opening",
        ),
        ("a title with more than words", t.swap("</title>", "<path/></title>"), "<title>"),
        (
            "a group twice",
            t.swap("</svg>", '<g data-role="cut-opening" fill="none" stroke="#009E73" stroke-width="0.1"/></svg>'),
            "each once",
        ),
        ("a group of no role", t.swap('"cut-outline"', '"cut-rim"'), "cut-rim"),
        (
            "a group within a group",
            t.in_group(
                "cut-opening", lambda g: g.replace("\n<path", "\n<g><path", 1).replace("\n</g>", "</g>\n</g>", 1)
            ),
            "<g> in path 1 of cut-opening",
        ),
        ("another unit", t.swap('width="120mm"', 'width="120in"'), "size in mm"),
        ("another scale", t.swap('viewBox="0 0 120 100"', 'viewBox="0 0 240 200"'), "viewBox"),
        ("another place on the page", t.swap('viewBox="0 0 120 100"', 'viewBox="30 0 120 100"'), "viewBox"),
        ("another way to fit", t.swap("<svg ", '<svg preserveAspectRatio="none" '), "'preserveAspectRatio'"),
        ("a rim out of sight", t.swap('overflow="visible"', 'overflow="hidden"'), "'overflow'"),
        ("half a file", lambda s: s[: len(s) // 2], "is not a sheet"),
        ("an empty file", lambda _s: "", "is not a sheet"),
        ("a curve of another kind", t.with_path("cut-opening", "M1 1A5 5 0 0 1 9 9Z"), "M, L, C and Z"),
        (
            "a contour that isn't closed",
            t.with_path("cut-opening", "M20 70L24 70L24 74"),
            "path 1 of cut-opening at 20, 70",
        ),
        (
            "a coordinate that is no place",
            t.with_path("mark-line", "M0 0L9e9 0"),
            "no place on a sheet, in mark-line",
        ),
    ),
]


@pytest.mark.parametrize("slip", [*COLOURS, *DOCUMENT], ids=lambda slip: slip.name)
def test_it_is_told(slip: Slip, honest: Honest, folder: Path) -> None:
    assert_told(slip, honest, folder)
