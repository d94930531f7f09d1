"""Files that are no drawing, or are built to exhaust the reader: each gives one clear sentence, and soon."""

import gzip
import os
import time
from pathlib import Path

import pytest

from layercut.drawing import read_drawing
from layercut.errors import DrawingError
from layercut.job import Job

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="90mm" height="90mm">'
)
LAYER = '<g id="a"><rect width="9" height="9"/></g>'


def refused(path: Path) -> DrawingError:
    """The error that reading gives, checked to be one sentence for people, given within ten seconds."""
    start = time.monotonic()
    with pytest.raises(DrawingError) as caught:
        read_drawing(path, Job())
    assert time.monotonic() - start < 10
    error = caught.value
    assert error.message.endswith(".")
    assert "\n" not in error.sentence()
    assert "Traceback" not in error.sentence()
    assert len(error.sentence()) < 400
    assert path.name in error.file
    return error


def write(folder: Path, content: str | bytes) -> Path:
    path = folder / "drawing.svg"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def test_missing_file(tmp_path: Path) -> None:
    assert refused(tmp_path / "nothing.svg").code == "not-found"
    assert refused(write(tmp_path, HEAD) / "within.svg").code == "not-found"


def test_folder(tmp_path: Path) -> None:
    assert refused(tmp_path).code == "not-a-file"


def test_pipe(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.svg")
    assert refused(tmp_path / "pipe.svg").code == "not-a-file"


def test_impossible_names(tmp_path: Path) -> None:
    assert refused(tmp_path / ("n" * 260 + ".svg")).code == "unreadable"
    with pytest.raises(DrawingError) as caught:
        read_drawing(Path("a\0b.svg"), Job())
    assert caught.value.code == "unreadable"


def test_unreadable(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def deny(*_args: object, **_kwargs: object) -> None:
        raise PermissionError(13, "Permission denied")

    path = write(tmp_path, HEAD + LAYER + "</svg>")
    monkeypatch.setattr("layercut.reading.os.open", deny)  # permissions don't bind root, under which tests may run
    error = refused(path)
    assert error.code == "unreadable"
    assert "ermission" in error.message


@pytest.mark.parametrize("content", ["", "   \n\t "])
def test_empty(content: str, tmp_path: Path) -> None:
    assert refused(write(tmp_path, content)).code == "empty-file"


@pytest.mark.parametrize(
    "content",
    [
        "a shopping list",
        HEAD + "<g></svg>",
        HEAD + LAYER,
        HEAD + '<g id="a" id="b"/></svg>',
        HEAD + "<g>&nothing;</g></svg>",
        b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
        b'<?xml version="1.0" encoding="nonsense"?><svg/>',
        HEAD.encode() + b"<title>\xff\xfe</title></svg>",
        '{"svg": 1}',
    ],
)
def test_not_xml(content: str | bytes, tmp_path: Path) -> None:
    assert refused(write(tmp_path, content)).code == "not-xml"


@pytest.mark.parametrize(
    "content",
    ["<html><body/></html>", '<svg xmlns="http://www.w3.org/1999/xhtml"/>', '<x:svg xmlns:x="urn:x"/>'],
)
def test_not_svg(content: str, tmp_path: Path) -> None:
    assert refused(write(tmp_path, content)).code == "not-svg"


def test_namespace_forgotten_is_read(tmp_path: Path) -> None:
    drawing = read_drawing(write(tmp_path, f'<svg width="9mm" height="9mm">{LAYER}</svg>'), Job())
    assert len(drawing.layers[0].shapes) == 1


def test_too_large(tmp_path: Path) -> None:
    path = tmp_path / "large.svg"
    with path.open("wb") as stream:
        stream.truncate(64 * 1024 * 1024 + 1)
    assert refused(path).code == "too-large"


def test_compressed(tmp_path: Path) -> None:
    plain = (HEAD + LAYER + "</svg>").encode()
    drawing = read_drawing(write(tmp_path, gzip.compress(plain)), Job())
    assert drawing.width_mm == 90
    assert refused(write(tmp_path, gzip.compress(plain)[:-9])).code == "unreadable"
    assert refused(write(tmp_path, b"\x1f\x8b" + b"junk" * 9)).code == "unreadable"
    assert refused(write(tmp_path, gzip.compress(b" " * (65 * 1024 * 1024)))).code == "too-large"


@pytest.mark.parametrize("depth", [250, 3_000, 200_000])
def test_too_deep(depth: int, tmp_path: Path) -> None:
    assert refused(write(tmp_path, HEAD + "<g>" * depth + "</g>" * depth + "</svg>")).code == "too-deep"


def test_deep_enough_is_read(tmp_path: Path) -> None:
    content = HEAD + "<g>" * 190 + '<rect width="9" height="9"/>' + "</g>" * 190 + "</svg>"
    assert len(read_drawing(write(tmp_path, content), Job()).layers[0].shapes) == 1


def test_uses_nested_too_deep(tmp_path: Path) -> None:
    chain = "".join(f'<g id="u{n}"><use href="#u{n + 1}"/></g>' for n in range(300))
    content = f'{HEAD}<defs>{chain}<rect id="u300" width="1" height="1"/></defs><g><use href="#u0"/></g></svg>'
    assert refused(write(tmp_path, content)).code == "too-deep"


def entity_bomb(kind: str) -> str:
    levels = "".join(f'<!ENTITY e{n} "' + f"&e{n - 1};" * 10 + '">' for n in range(1, 10))
    body = "<title>&e9;</title>" if kind == "text" else '<g id="&e9;"/>'
    return f'<!DOCTYPE svg [<!ENTITY e0 "{"x" * 50}">{levels}]>{HEAD}{body}</svg>'


@pytest.mark.parametrize("kind", ["text", "attribute"])
def test_entity_bomb(kind: str, tmp_path: Path) -> None:
    assert refused(write(tmp_path, entity_bomb(kind))).code == "entities"
    assert refused(write(tmp_path, entity_bomb(kind).encode("utf-16"))).code == "entities"


def test_long_entity_used_often(tmp_path: Path) -> None:
    content = f'<!DOCTYPE svg [<!ENTITY e "{"x" * 100_000}">]>{HEAD}<title>{"&e;" * 20_000}</title></svg>'
    assert refused(write(tmp_path, content)).code == "entities"


def test_outside_entities_are_never_fetched(tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("the secret")
    entity = f'<!DOCTYPE svg [<!ENTITY e SYSTEM "{secret.as_uri()}">]>'
    error = refused(write(tmp_path, f'{entity}{HEAD}<g id="a"><title>&e;</title></g></svg>'))
    assert error.code == "entities"
    assert "secret" not in error.message


def test_outside_doctype_is_not_fetched(tmp_path: Path) -> None:
    doctype = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://invalid.invalid/svg11.dtd">'
    assert read_drawing(write(tmp_path, doctype + HEAD + LAYER + "</svg>"), Job()).layers


def test_harmless_entities_are_read(tmp_path: Path) -> None:
    doctype = '<!DOCTYPE svg [<!ENTITY ns_svg "http://www.w3.org/2000/svg"><!ENTITY red "#f00">]>'
    shape = '<g><rect width="9" height="9" fill="&red;"/></g>'
    content = f'{doctype}<svg xmlns="&ns_svg;" width="9mm" height="9mm">{shape}</svg>'
    (layer,) = read_drawing(write(tmp_path, content), Job()).layers
    assert layer.shapes[0].paint.colour == "#ff0000"


def test_a_large_embedded_picture_is_read(tmp_path: Path) -> None:
    picture = f'<image href="data:image/png;base64,{"A" * 11_000_000}" width="9" height="9"/>'
    drawing = read_drawing(write(tmp_path, f"{HEAD}{picture}{LAYER}</svg>"), Job())
    assert [finding.code for finding in drawing.findings] == ["picture"]


def test_uses_that_multiply(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("layercut.drawing.walk.MAX_ELEMENTS", 20_000)  # of a hundred million
    levels = "".join(f'<g id="l{n}">' + f'<use href="#l{n - 1}"/>' * 10 + "</g>" for n in range(1, 9))
    for leaf in ('<path id="l0" d="M0 0h1v1z"/>', '<g id="l0"/>'):
        content = f'{HEAD}<defs>{leaf}{levels}</defs><g id="top"><use href="#l8"/></g></svg>'
        assert refused(write(tmp_path, content)).code == "too-many-elements"


@pytest.mark.parametrize(
    "body",
    [
        '<g id="a"><use href="#a"/><rect width="9" height="9"/></g>',
        '<defs><g id="x"><use href="#y"/></g><g id="y"><use href="#x"/></g></defs><g><use href="#x"/></g>',
        '<clipPath id="c" clip-path="url(#c)"><rect width="5" height="5"/></clipPath>'
        '<g clip-path="url(#c)"><rect width="9" height="9"/></g>',
        '<clipPath id="c"><rect width="5" height="5" clip-path="url(#c)"/></clipPath>'
        '<g clip-path="url(#c)"><rect width="9" height="9"/></g>',
    ],
)
def test_references_in_a_circle(body: str, tmp_path: Path) -> None:
    drawing = read_drawing(write(tmp_path, HEAD + body + "</svg>"), Job())
    assert any(finding.code == "unsupported" and "itself" in finding.message for finding in drawing.findings)


def test_gradients_and_patterns_in_a_circle(tmp_path: Path) -> None:
    servers = '<linearGradient id="a" href="#b"/><linearGradient id="b" href="#a"/><pattern id="p" href="#p"/>'
    shapes = '<g><rect width="9" height="9" fill="url(#a) red"/><rect width="5" height="5" fill="url(#p)"/></g>'
    (layer,) = read_drawing(write(tmp_path, f"{HEAD}{servers}{shapes}</svg>"), Job()).layers
    assert layer.shapes == ()


@pytest.mark.parametrize(
    ("shape", "code"),
    [
        ('<path d="M0 0L1e99 0 5 5z"/>', "coordinate"),
        ('<path d="M0 0L400000 0 5 5z"/>', "coordinate"),
        ('<rect width="1e12" height="5"/>', "coordinate"),
        ('<rect width="5" height="5" transform="scale(1e200) scale(1e200)"/>', "coordinate"),
        ('<rect width="5" height="5" transform="skewX(90)"/>', "coordinate"),
        ('<path d="M0 0A1e300 1e300 0 0 1 1e300 5z"/>', "coordinate"),
    ],
)
def test_absurd_coordinates(shape: str, code: str, tmp_path: Path) -> None:
    error = refused(write(tmp_path, f'{HEAD}<g id="hills">{shape}</g></svg>'))
    assert error.code == code
    assert error.layer == "hills"
    assert error.element.startswith("the 1st")


@pytest.mark.parametrize(
    "shape",
    [
        '<path d="M0 0L1e999 0 5 5z"/>',
        '<path d="M0 0L nan nan 5 5z"/>',
        '<path d="M0 0h5v5h1e400z"/>',
        '<path d="L5 5"/>',
        '<polygon points="0,0 5,0 inf,5"/>',
        '<rect width="-5" height="5"/>',
    ],
)
def test_numbers_that_are_none(shape: str, tmp_path: Path) -> None:
    drawing = read_drawing(write(tmp_path, f'{HEAD}<g id="a">{shape}<rect width="1" height="1"/></g></svg>'), Job())
    assert any(finding.code == "unsupported" and "error" in finding.message for finding in drawing.findings)


def test_curves_beyond_counting(tmp_path: Path) -> None:
    curve = "M0 0" + "C300000 0 0 300000 1 1" * 40_000
    assert refused(write(tmp_path, f'{HEAD}<g id="a"><path d="{curve}"/></g></svg>')).code == "too-detailed"


def test_dashes_beyond_counting(tmp_path: Path) -> None:
    line = '<path d="M0 0H90" stroke="#000" stroke-width="5" stroke-dasharray="1e-7"/>'
    drawing = read_drawing(write(tmp_path, f'{HEAD}<g id="a">{line}</g></svg>'), Job())
    assert len(drawing.layers[0].shapes) == 1
    assert any("dash" in finding.message for finding in drawing.findings)


def test_hostile_styles(tmp_path: Path) -> None:
    style = "rect{fill:red" + "{" * 3000 + "a" * 10 + " :is(" * 300 + "}</style>"
    drawing = read_drawing(
        write(tmp_path, f'{HEAD}<style>{style}<g id="a"><rect width="1" height="1"/></g></svg>'), Job()
    )
    assert len(drawing.layers) == 1


def test_many_like_elements_give_few_findings(tmp_path: Path) -> None:
    rects = '<rect width="1" height="1" mask="url(#m)" opacity=".3"/>' * 3000
    drawing = read_drawing(write(tmp_path, f'{HEAD}<g id="a">{rects}</g></svg>'), Job())
    assert len(drawing.findings) <= 4
    assert any("2999 more" in finding.message for finding in drawing.findings)
