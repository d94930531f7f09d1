"""Drawings made by chance for the fuzz targets: structured ones, and damaged copies of real ones.

Enters: one source of chance. Leaves: a file's bytes. The same seed and the same corpus give the same bytes.
"""

import gzip
import re
from collections.abc import Callable
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
CORPUS_LIMIT = 60_000
"""Bytes of the largest drawing that is taken for damaging; a run should take a second, not a minute."""

SVG_NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:e="urn:editor"'

NUMBERS = (
    *("0", "-0", "1", "-1", "0.5", ".5", "5", "10", "30", "45", "90", "100", "-20", "1e-9", "1e-300", "1e3", "1e5"),
    *("4e5", "1e9", "1e38", "1e154", "1e300", "1e308", "-1e308", "1e309", "1e999", "nan", "inf", "", " ", "+", "."),
    *("0x10", "1,5", "5 5", "1e", "--3", "5mm", "1in", "50%", "-10%", "2em", "3ex", "1q", "7pt", "99px", "5 mm"),
)
COLOURS = (
    *(
        "red",
        "#c03",
        "#00aa00",
        "none",
        "currentColor",
        "transparent",
        "rgb(10,20,30)",
        "rgba(0,0,0,.3)",
        "hsl(9 9% 9%)",
    ),
    *(
        "url(#g0)",
        "url(#g1) blue",
        "url(#nothing)",
        "url(#p0)",
        "url(#c0)",
        "url(#l0)",
        "url(",
        "var(--x)",
        "inherit",
    ),
    *(
        "context-fill",
        "color(display-p3 1 0 0)",
        "oklch(50% .2 30)",
        "#ggg",
        "",
        "rgb(nan,1e400,-5)",
        "lab(50% 999 -9)",
    ),
)
TRANSFORMS = (
    *(
        "translate(10 5)",
        "rotate(30)",
        "scale(1 -1)",
        "scale(0)",
        "scale(0 1)",
        "skewX(45)",
        "skewX(90)",
        "rotate(45 9 9)",
    ),
    *(
        "matrix(1 0 0 1 5 5)",
        "matrix(1 2 2 4 0 0)",
        "matrix(1e200 0 0 1e200 0 0)",
        "scale(1e-200)",
        "scale(1e-8 1e8)",
    ),
    *(
        "translate(1e308) translate(1e308)",
        "rotate(1e300)",
        "rotate(",
        "nonsense(3)",
        "matrix(nan 0 0 1 0 0)",
        "none",
        "",
    ),
    *(
        "scale(1e-300) scale(1e-300)",
        "scale(1e154)",
        "rotate(90) scale(3 .001)",
        "translate(5mm 1in)",
        "skewY(89.99999)",
    ),
)
WORDS = (
    "wood",
    "mark-line",
    "mark-area",
    "opening",
    "guide",
    "leaf",
    "",
    "guide x",
    "openings",
    "wood-1",
    "a\u2028b",
    "é",
)
STYLES = (
    *(
        "fill:red",
        "fill:url(#g0)",
        "stroke:#000;stroke-width:3",
        "stroke-dasharray:3 1",
        "stroke-dasharray:1e-9",
        "d:none",
    ),
    *(
        "fill:red !important",
        "display:none",
        "display:inline",
        "visibility:hidden",
        "opacity:.2",
        "opacity:nan",
        "fill:var(--a)",
    ),
    *(
        "transform:rotate(20deg)",
        "transform:scale(0)",
        "transform-origin:50% 50%",
        "translate:3px",
        "clip-path:url(#c0)",
    ),
    *(
        "clip-path:circle(3px)",
        "mask:url(#m)",
        "filter:blur(3px)",
        "marker-end:url(#k)",
        "font-size:1e300px",
        "font-size:0",
    ),
    *(
        "stroke-width:calc(1px + 2px)",
        "stroke-width:1e300",
        "stroke-width:-1",
        "paint-order:stroke",
        "vector-effect:non-scaling-stroke",
    ),
    *(
        "stroke-linejoin:round",
        "stroke-linecap:square",
        "stroke-miterlimit:1e300",
        "fill-rule:evenodd",
        "}",
        "/*",
        "a:b:c;;",
        "\\",
    ),
)
SELECTORS = (
    *(
        "rect",
        "g > *",
        ".k",
        "#a0",
        "*",
        "g g g",
        ":first-child",
        ":nth-child(2n+1)",
        "rect + path",
        "[fill]",
        "g:not(.k)",
    ),
    *(
        ":is(rect,path)",
        "::before",
        "a:hover",
        "svg|rect",
        "@media print",
        "@import 'x'",
        "@supports (a:b)",
        ":has(g)",
        ">",
        "",
        "🐝",
    ),
)
SHAPES = ("rect", "circle", "ellipse", "line", "polyline", "polygon", "path", "path", "path", "rect")
OTHERS = (
    "text",
    "image",
    "foreignObject",
    "switch",
    "a",
    "svg",
    "symbol",
    "animate",
    "title",
    "desc",
    "defs",
    "style",
    "x",
)
GEOMETRY = ("x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "x1", "y1", "x2", "y2")
PAINTING = (
    *(
        "fill",
        "stroke",
        "stroke-width",
        "stroke-dasharray",
        "stroke-dashoffset",
        "opacity",
        "fill-opacity",
        "stroke-opacity",
    ),
    *(
        "pathLength",
        "fill-rule",
        "clip-rule",
        "stroke-linecap",
        "stroke-linejoin",
        "stroke-miterlimit",
        "color",
        "display",
    ),
    *(
        "visibility",
        "transform-origin",
        "font-size",
        "overflow",
        "paint-order",
        "vector-effect",
        "preserveAspectRatio",
        "viewBox",
    ),
)


def make_drawing(chance: Random, corpus: list[bytes]) -> bytes:
    """A structured drawing, a damaged one, or a damaged copy of a drawing of the corpus."""
    kind = chance.random()
    if kind < 0.45:
        data = structured(chance).encode("utf-8", "surrogatepass")
    elif kind < 0.6:
        data = damaged(chance, structured(chance).encode("utf-8", "surrogatepass"), corpus)
    else:
        data = damaged(chance, chance.choice(corpus), corpus)
    return gzip.compress(data, mtime=0) if chance.random() < 0.02 else data


def read_corpus() -> list[bytes]:
    """The project's own small drawings, in a fixed order."""
    folders = ("tests/bad_drawings", "tests/cases", "samples")
    files = sorted(path for folder in folders for path in (ROOT / folder).rglob("*.svg"))
    found = [path.read_bytes() for path in files if path.stat().st_size <= CORPUS_LIMIT]
    if not found:
        raise FileNotFoundError("there are no drawings to damage")
    return found


def structured(chance: Random) -> str:
    """A drawing with a style sheet, definitions and layers, whose values are mostly right and now and then absurd."""
    page = chance.choice(('width="100mm" height="80mm"', 'width="100mm" height="80mm" viewBox="0 0 100 80"'))
    if chance.random() < 0.15:
        page = " ".join(f'{name}="{_number(chance, 0.5)}"' for name in ("width", "height"))
        page += f' viewBox="0 0 {_number(chance, 0.5)} {_number(chance, 0.5)}"'
    parts = [f"<svg {SVG_NS} {page}>", _sheet(chance), _definitions(chance)]
    if chance.random() < 0.7:
        parts.append('<g id="back"><rect width="100%" height="100%" fill="#cde"/></g>')
    parts += [_group(chance, 0, layer=number) for number in range(chance.randint(1, 4))]
    if chance.random() < 0.05:
        parts.append(_element(chance, 0))
    return "".join([*parts, "</svg>"])


def damaged(chance: Random, data: bytes, corpus: list[bytes]) -> bytes:
    """The bytes after one to four damages."""
    for _ in range(chance.randint(1, 4)):
        data = chance.choice(_DAMAGES)(chance, data, corpus)
    return data[: 4 * CORPUS_LIMIT]


def _number(chance: Random, absurd: float = 0.06) -> str:
    if chance.random() < absurd:
        return chance.choice(NUMBERS)
    return f"{chance.choice((chance.randint(0, 100), round(chance.uniform(-20, 110), 3)))}"


def _sheet(chance: Random) -> str:
    if chance.random() < 0.5:
        return ""
    rules = "".join(
        f"{chance.choice(SELECTORS)}{{{';'.join(chance.choices(STYLES, k=chance.randint(0, 3)))}}}"
        for _ in range(chance.randint(0, 5))
    )
    return f"<style>{rules.replace('<', '').replace('&', '')}</style>"


def _definitions(chance: Random) -> str:
    stops = "".join(
        f'<stop offset="{_number(chance, 0.2)}" stop-color="{_colour(chance)}"/>' for _ in range(chance.randint(0, 3))
    )
    link = f'href="#g{chance.randint(0, 2)}"'
    clips = "".join(
        f'<clipPath id="c{n}" {_attributes(chance, ("clip-path", "clipPathUnits", "transform"))}>'
        f"{''.join(_element(chance, 3) for _ in range(chance.randint(0, 2)))}</clipPath>"
        for n in range(2)
    )
    return (
        f'<defs><linearGradient id="g0" {link}>{stops}</linearGradient><radialGradient id="g1" {link}/>'
        f'<pattern id="p0" width="9" height="9" href="#p0">{_element(chance, 2)}</pattern>{clips}'
        f'<symbol id="s0" viewBox="0 0 {_number(chance)} 50">{_element(chance, 2)}</symbol>'
        f'<g id="d0">{_element(chance, 2)}</g></defs>'
    )


def _group(chance: Random, depth: int, layer: int = -1) -> str:
    name = f'id="a{layer}"' if layer >= 0 else ""
    if chance.random() < 0.2:
        name += f' e:label="{chance.choice(WORDS)}"'
    inside = "".join(_element(chance, depth + 1) for _ in range(chance.randint(0, 6)))
    return (
        f"<g {name} {_attributes(chance, ('transform', 'clip-path', 'style', 'class', 'opacity'), 0.15)}>{inside}</g>"
    )


def _element(chance: Random, depth: int) -> str:
    kind = chance.random()
    if kind < 0.12 and depth < 4:
        return _group(chance, depth)
    if kind < 0.2:
        target = chance.choice(("s0", "d0", "a0", "a1", "c0", "e1", "nothing"))
        size = f'width="{_number(chance)}" height="{_number(chance)}"' if chance.random() < 0.5 else ""
        return f'<use href="#{target}" x="{_number(chance)}" y="{_number(chance)}" {size} {_attributes(chance)}/>'
    if kind < 0.27:
        tag = chance.choice(OTHERS)
        inside = _element(chance, depth + 1) if depth < 4 else "words"
        place = f'x="{_number(chance)}" width="50" height="{_number(chance)}"'
        return f"<{tag} {place} {_attributes(chance)}>{inside}</{tag}>"
    tag = chance.choice(SHAPES)
    own = f'id="e{chance.randint(0, 9)}"' if chance.random() < 0.3 else ""
    return f"<{tag} {own} {_geometry(chance, tag)} {_attributes(chance, PAINTING, 0.12)}/>"


def _geometry(chance: Random, tag: str) -> str:
    if tag == "path":
        return f'd="{_path(chance)}"'
    if tag in ("polyline", "polygon"):
        points = " ".join(f"{_number(chance, 0.01)},{_number(chance, 0.01)}" for _ in range(chance.randint(0, 9)))
        return f'points="{points}"'
    return " ".join(f'{name}="{_number(chance, 0.04)}"' for name in GEOMETRY)


def _path(chance: Random) -> str:
    sizes = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "Z": 0}
    absurd = 0.05 if chance.random() < 0.1 else 0.0
    parts = [f"M{_number(chance, absurd)} {_number(chance, absurd)}"]
    for _ in range(chance.randint(0, 12)):
        command = chance.choice((*"LLCCQHVSTZMA", "l", "c", "a", "m", "z"))
        if command in "Aa":
            numbers = [_number(chance, absurd) for _ in range(3)]
            numbers += [chance.choice("01"), chance.choice("01"), _number(chance, absurd), _number(chance, absurd)]
        else:
            numbers = [_number(chance, absurd) for _ in range(sizes[command.upper()])]
        parts.append(command + " ".join(numbers))
    return "".join(parts)


def _colour(chance: Random) -> str:
    return chance.choice(COLOURS)


def _attributes(chance: Random, names: tuple[str, ...] = (), share: float = 0.1) -> str:
    """Some of the names, with values that go with them or don't."""
    chosen = [name for name in (*names, "transform", "style", "fill", "data-layercut") if chance.random() < share]
    return " ".join(f'{name}="{_value(chance, name)}"' for name in dict.fromkeys(chosen))


def _value(chance: Random, name: str) -> str:
    pools: dict[str, tuple[str, ...]] = {
        "transform": TRANSFORMS,
        "fill": COLOURS,
        "stroke": COLOURS,
        "color": COLOURS,
        "data-layercut": WORDS[:6],
        "clip-path": ("url(#c0)", "url(#c1)", "none", "circle()", "url(#nothing)"),
        "clipPathUnits": ("objectBoundingBox", "userSpaceOnUse"),
        "class": ("k", "k j", ""),
        "viewBox": ("0 0 10 10", "0 0 0 0", "5 5 1e300 1", "a", "0 0 -5 5"),
        "preserveAspectRatio": ("none", "xMinYMax slice", "junk"),
        "stroke-linecap": ("butt", "round", "square"),
        "stroke-linejoin": ("miter", "round", "bevel"),
        "fill-rule": ("evenodd", "nonzero"),
    }
    if name == "style":
        return ";".join(chance.choices(STYLES, k=chance.randint(1, 3)))
    if name == "stroke-dasharray":
        return " ".join(_number(chance) for _ in range(chance.randint(1, 4)))
    return chance.choice(pools[name]) if name in pools and chance.random() < 0.95 else _number(chance, 0.3)


def _tear(chance: Random, data: bytes, corpus: list[bytes]) -> bytes:
    """Damage to the bytes themselves, which mostly ends in a file that is no XML."""
    return chance.choice((_flip, _cut_out, _repeat, _recode))(chance, data, corpus)


def _repeat_element(chance: Random, data: bytes, _corpus: list[bytes]) -> bytes:
    """A whole element, several times over: coinciding edges, repeated ids."""
    found = list(re.finditer(rb"<(?:path|rect|circle|use|polygon)[^>]*/>", data))
    if not found:
        return data
    match = chance.choice(found)
    return data[: match.end()] + match[0] * chance.randint(1, 3) + data[match.end() :]


def _flip(chance: Random, data: bytes, _corpus: list[bytes]) -> bytes:
    changed = bytearray(data)
    for _ in range(chance.randint(1, 8)):
        if changed:
            changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def _cut_out(chance: Random, data: bytes, _corpus: list[bytes]) -> bytes:
    begin, end = sorted(chance.randrange(len(data) + 1) for _ in range(2))
    return data[:begin] + data[min(end, begin + 200) :]


def _repeat(chance: Random, data: bytes, _corpus: list[bytes]) -> bytes:
    begin = chance.randrange(len(data) + 1)
    piece = data[begin : begin + chance.randint(1, 300)]
    return data[:begin] + piece * chance.randint(2, 5) + data[begin:]


def _change_value(chance: Random, data: bytes, _corpus: list[bytes]) -> bytes:
    """One attribute's value becomes one of its kind, or any other."""
    found = list(re.finditer(rb'([\w:-]+)="([^"<]*)"', data))
    if not found:
        return data
    match = chance.choice(found)
    pool = (NUMBERS, COLOURS, TRANSFORMS, STYLES, WORDS)
    value = _value(chance, match[1].decode("ascii", "replace")) if chance.random() < 0.6 else None
    value = chance.choice(chance.choice(pool)) if value is None else value
    return data[: match.start(2)] + value.encode() + data[match.end(2) :]


def _change_number(chance: Random, data: bytes, _corpus: list[bytes]) -> bytes:
    found = list(re.finditer(rb"-?\d+\.?\d*", data))
    if not found:
        return data
    match = chance.choice(found)
    return data[: match.start()] + chance.choice(NUMBERS).encode() + data[match.end() :]


def _add_attribute(chance: Random, data: bytes, _corpus: list[bytes]) -> bytes:
    found = list(re.finditer(rb"<[a-zA-Z]+([^<>]*)", data))
    if not found:
        return data
    tag = chance.choice(found)
    name = chance.choice(
        (*PAINTING, *GEOMETRY, "transform", "style", "clip-path", "data-layercut", "href", "id", "class")
    )
    if f" {name}=".encode() in tag[1]:  # twice the same attribute is no XML, and nothing but that would be tried
        return data
    at = tag.start(1)
    return data[:at] + f' {name}="{_value(chance, name)}"'.encode() + data[at:]


def _add_element(chance: Random, data: bytes, _corpus: list[bytes]) -> bytes:
    found = list(re.finditer(rb"(?<=[\"a-z])>", data))
    at = chance.choice(found).end() if found else 0
    return data[:at] + _element(chance, 0).encode() + data[at:]


def _splice(chance: Random, data: bytes, corpus: list[bytes]) -> bytes:
    """A whole element of another drawing, put in after any tag."""
    found: list[bytes] = re.findall(rb"<(?:path|rect|circle|g|use|text)[^>]*/>", chance.choice(corpus))
    places = list(re.finditer(rb">", data))
    if not found or not places:
        return data
    at = chance.choice(places).end()
    return data[:at] + chance.choice(found) + data[at:]


def _recode(chance: Random, data: bytes, _corpus: list[bytes]) -> bytes:
    text = data.decode("utf-8", "replace")
    return text.encode(chance.choice(("utf-16", "utf-8-sig", "latin-1", "utf-16-be", "utf-32")), "replace")


_Damage = Callable[[Random, bytes, list[bytes]], bytes]
_DAMAGES: tuple[_Damage, ...] = (
    *(_change_value, _change_value, _change_value, _change_value, _change_number, _change_number, _change_number),
    *(_add_attribute, _add_attribute, _add_attribute, _add_element, _add_element, _splice, _splice, _repeat_element),
    *(_repeat_element, _tear),
)
