"""Values that no maker means, files in other encodings, and references that lead out of the file.

The drawings of `FOUND` were found by tests/bench/fuzz.py, made small.
"""

import codecs
import socket
from pathlib import Path

import pytest
from builds import made_of

from layercut.drawing import read_drawing
from layercut.errors import DrawingError
from layercut.job import Job
from layercut.model import Drawing
from layercut.pipeline import compile_drawing

SVG = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
HEAD = f'<svg {SVG} width="90mm" height="90mm" viewBox="0 0 90 90">'
GOOD = '<rect id="good" width="9" height="9"/>'


def read(folder: Path, body: str | bytes) -> Drawing:
    path = folder / "drawing.svg"
    path.write_bytes(f'{HEAD}<g id="a">{body}</g></svg>'.encode() if isinstance(body, str) else body)
    return read_drawing(path, Job())


def refused(folder: Path, body: str | bytes) -> DrawingError:
    with pytest.raises(DrawingError) as caught:
        read(folder, body)
    assert "\n" not in caught.value.sentence()
    return caught.value


FAR = [
    '<path d="M0 0H90" stroke="red" stroke-width="1e300"/>',
    '<path d="M0 0H90" stroke="red" stroke-width="1e6"/>',
    '<path d="M9 9l30 .0001 -30 0" fill="none" stroke="red" stroke-width="9" stroke-miterlimit="1e300"/>',
    '<path d="M0 0L9 9" stroke="red" stroke-width="5" transform="matrix(1e200 1e100 0 1e-200 0 0)"/>',
    '<svg width="9" height="1e300"><rect width="5" height="5"/></svg>',
    '<symbol id="s"><rect width="5" height="5"/></symbol><use href="#s" width="1e200" height="9"/>',
    '<rect width="5" height="5" transform="translate(1e308) translate(1e308)"/>',
    '<rect width="5" height="5" transform="scale(1e154)"/>',
    '<path d="M1e300 1e300h1v1z"/>',
    '<rect x="1e300" width="1e300" height="5"/>',
    '<circle r="1e38"/>',
    '<polygon points="0,0 1e200,0 5,1e200"/>',
    '<path pathLength="3" d="M0 0H1e300V5z" stroke="red" stroke-dasharray="1 2"/>',
    '<path pathLength="3" d="M0 0h1e308h1e308z" stroke="red" stroke-dasharray="1 2"/>',
]


@pytest.mark.parametrize("shape", FAR)
def test_far_away_is_refused(shape: str, tmp_path: Path) -> None:
    error = refused(tmp_path, shape)
    assert error.code == "coordinate"
    assert error.layer == "a"
    assert error.element


NOTHING = [
    '<rect width="0" height="5"/>',
    '<rect width="5" height="0"/>',
    '<circle r="0"/>',
    '<ellipse rx="5" ry="0"/>',
    '<rect width="5" height="5" transform="scale(0)"/>',
    '<rect width="5" height="5" transform="scale(0 1)"/>',
    '<rect width="5" height="5" transform="matrix(1 2 2 4 0 0)"/>',
    '<path d="M0 0H9" stroke="red" stroke-width="5" transform="matrix(1 2 2 4 0 0)"/>',
    '<g transform="scale(1 0)"><g transform="scale(1 1e300)"><rect width="5" height="5"/></g></g>',
    '<svg width="0" height="5"><rect width="5" height="5"/></svg>',
    '<svg width="5" height="5" viewBox="0 0 0 9"><rect width="5" height="5"/></svg>',
    '<path d="M3 3z"/>',
    '<path d="M3 3L3 3"/>',
    '<polygon points="3,3"/>',
    '<path d=""/>',
]


@pytest.mark.parametrize("shape", NOTHING)
def test_what_has_no_size_draws_nothing(shape: str, tmp_path: Path) -> None:
    """As the standard has it, without a word: a flattened shape isn't drawn (SVG 2, 8.5 and the basic shapes)."""
    (layer,) = read(tmp_path, shape + GOOD).layers
    assert [drawn.element for drawn in layer.shapes] == ["rect 'good'"]


NEGATIVE = [
    '<rect width="-5" height="5"/>',
    '<circle r="-5"/>',
]


@pytest.mark.parametrize("shape", NEGATIVE)
def test_negative_sizes_are_told(shape: str, tmp_path: Path) -> None:
    drawing = read(tmp_path, shape + GOOD)
    assert [drawn.element for drawn in drawing.layers[0].shapes] == ["rect 'good'"]
    assert [finding.code for finding in drawing.findings] == ["unsupported"]


@pytest.mark.parametrize(
    ("shape", "same"),
    [
        ('<ellipse cx="50" cy="50" rx="-5" ry="5"/>', '<circle cx="50" cy="50" r="5"/>'),
        ('<ellipse cx="50" cy="50" rx="5" ry="-9"/>', '<circle cx="50" cy="50" r="5"/>'),
        ('<rect width="40" height="30" rx="8" ry="-2"/>', '<rect width="40" height="30" rx="8" ry="8"/>'),
        ('<rect width="40" height="30" rx="-2" ry="8"/>', '<rect width="40" height="30" rx="8" ry="8"/>'),
        ('<rect width="40" height="30" rx="-2" ry="-2"/>', '<rect width="40" height="30"/>'),
    ],
)
def test_a_negative_radius_counts_as_not_given(shape: str, same: str, tmp_path: Path) -> None:
    """SVG 2, 10.2 and 10.4: rx and ry are `auto` then, and the one takes the other's value."""
    (found,) = read(tmp_path, shape).layers[0].shapes
    (right,) = read(tmp_path, same).layers[0].shapes
    assert found.geometry.symmetric_difference(right.geometry).area < 1e-3


@pytest.mark.parametrize(
    "page", ['width="1e-9" height="90"', 'width="1e-300mm" height="1e-300mm"', 'viewBox="0 0 9 1e-9"']
)
def test_a_page_too_small_to_cut_is_refused(page: str, tmp_path: Path) -> None:
    assert refused(tmp_path, f'<svg {SVG} {page}><g id="a">{GOOD}</g></svg>'.encode()).code == "size"


@pytest.mark.parametrize("width", ["500", "501px", "101.5625", "26.8716mm", "3.3333in", "700pt"])
def test_any_page_is_a_panel(width: str, tmp_path: Path) -> None:
    """A page's millimetres are rounded to the last digit that a sheet is written with."""
    path = tmp_path / "drawing.svg"
    path.write_text(f'<svg {SVG} width="{width}" height="400"><g><rect width="100%" height="300"/></g></svg>')
    build = made_of(compile_drawing(path, Job()))
    assert build.proof.stack_mismatch_mm2 == 0


FOUND = {
    "a mitre that turns straight back": '<path d="M9 9H50H9" fill="none" stroke="red" stroke-width="5" '
    'stroke-miterlimit="1e300"/>',
    "dashes counted in a path's own length, drawn tiny": '<path d="M0 0H1e8V1e8" transform="scale(1e-7)" fill="none" '
    'stroke="red" stroke-width="1e7" pathLength="10" stroke-dasharray="1"/>',
}


@pytest.mark.parametrize("name", FOUND)
def test_found_by_fuzzing(name: str, tmp_path: Path) -> None:
    (layer,) = read(tmp_path, FOUND[name]).layers
    assert layer.shapes
    assert all(shape.geometry.is_valid for shape in layer.shapes)


NAMES = {"utf-8-sig": "utf-8", "utf-16-be": "utf-16", "utf-16-le": "utf-16", "latin-1": "iso-8859-1"}
"""What a declaration calls an encoding, where that isn't the codec's own name."""

MARKS = {"utf-16-be": codecs.BOM_UTF16_BE, "utf-16-le": codecs.BOM_UTF16_LE}


def encoded(encoding: str, *, declared: bool) -> bytes:
    declaration = f'<?xml version="1.0" encoding="{NAMES.get(encoding, encoding)}"?>' if declared else ""
    text = f'{declaration}{HEAD}<g id="Häuser"><title>Häuser</title>{GOOD}</g></svg>'
    return MARKS.get(encoding, b"") + text.encode(encoding)


@pytest.mark.parametrize(
    ("encoding", "declared"),
    [
        *((name, declared) for name in ("utf-8", "utf-8-sig", "utf-16", *MARKS) for declared in (True, False)),
        *((name, True) for name in ("latin-1", "cp1252")),
    ],
)
def test_encodings_are_read(encoding: str, declared: bool, tmp_path: Path) -> None:
    assert read(tmp_path, encoded(encoding, declared=declared)).layers[0].name == "Häuser"


@pytest.mark.parametrize("encoding", ["latin-1", "cp1252"])
def test_letters_in_an_encoding_that_is_not_declared_are_refused(encoding: str, tmp_path: Path) -> None:
    """Without a declaration XML is UTF-8; guessing would give other letters."""
    assert refused(tmp_path, encoded(encoding, declared=False)).code == "not-xml"


@pytest.mark.parametrize("declared", ["utf-8", "ascii", "utf-16", "nonsense"])
def test_a_wrong_declaration_is_refused(declared: str, tmp_path: Path) -> None:
    text = f'<?xml version="1.0" encoding="{declared}"?>{HEAD}<g id="a"><title>caf\xe9</title>{GOOD}</g></svg>'
    assert refused(tmp_path, text.encode("latin-1")).code == "not-xml"


def test_nothing_outside_the_file_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither files nor the network: every reference out of the drawing is a finding, and nothing is opened."""
    other = tmp_path / "other.svg"
    other.write_text(f'<svg {SVG}><rect id="x" width="50" height="50"/></svg>')
    opened: list[str] = []
    real = Path.open

    def note(self: Path, *arguments: object, **named: object) -> object:
        opened.append(self.name)
        return real(self, *arguments, **named)  # type: ignore[call-overload]

    def deny(*_arguments: object, **_named: object) -> None:
        raise AssertionError("the network was asked")

    monkeypatch.setattr(Path, "open", note)
    monkeypatch.setattr(socket, "getaddrinfo", deny)
    monkeypatch.setattr(socket.socket, "connect", deny)
    addresses = (
        other.as_uri(),
        other.name,
        "http://invalid.invalid/x.svg",
        "//invalid.invalid/x",
        "data:text/xml,<x/>",
    )
    body = "".join(
        f'<use href="{address}#x"/><image href="{address}" width="9" height="9"/>'
        f'<rect width="9" height="9" fill="url({address}#x) red" clip-path="url({address}#x)"/>'
        for address in (text.replace("<", "&lt;") for text in addresses)
    )
    imports = f'@import "{other.name}"; @import url(http://invalid.invalid/a.css);'
    sheet = f"<style>{imports} rect{{fill:url({other.name}#x)}}</style>"
    include = f'<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="{other.name}"/>'
    outside = f'<?xml-stylesheet href="{other.name}" type="text/css"?>'
    drawing = read(tmp_path, f'{outside}{HEAD}<g id="a">{sheet}{include}{body}{GOOD}</g></svg>'.encode())
    assert opened.count("drawing.svg") >= 1
    assert set(opened) == {"drawing.svg"}
    said = " ".join(finding.message for finding in drawing.findings)
    for word in ("use refers to nothing", "style sheet outside the file", "clip path", "picture"):
        assert word in said
    assert len(drawing.layers[0].shapes) <= len(addresses) + 1


def test_references_in_longer_circles(tmp_path: Path) -> None:
    """Clip paths and uses that lead back to themselves over several steps."""
    body = (
        '<clipPath id="c1"><rect width="50" height="50" clip-path="url(#c2)"/></clipPath>'
        '<clipPath id="c2"><use href="#r" clip-path="url(#c3)"/></clipPath>'
        '<clipPath id="c3" clip-path="url(#c1)"><rect width="40" height="40"/></clipPath>'
        '<rect id="r" width="60" height="60" clip-path="url(#c1)"/>'
        '<symbol id="s"><use href="#t"/></symbol><symbol id="t"><g><use href="#s"/></g></symbol><use href="#s"/>'
    )
    drawing = read(tmp_path, body + GOOD)
    assert any("itself" in finding.message for finding in drawing.findings)
    assert "rect 'good'" in [shape.element for shape in drawing.layers[0].shapes]


def test_a_drawing_behind_a_link_is_read(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "real" / "house.svg").write_text(f'{HEAD}<g id="a">{GOOD}</g></svg>')
    (tmp_path / "link.svg").symlink_to("real/house.svg")
    assert read_drawing(tmp_path / "link.svg", Job()).file == "link.svg"
    (tmp_path / "broken.svg").symlink_to("nowhere.svg")
    (tmp_path / "loop.svg").symlink_to("loop.svg")
    for name, code in (("broken.svg", "not-found"), ("loop.svg", "unreadable")):
        with pytest.raises(DrawingError) as caught:
            read_drawing(tmp_path / name, Job())
        assert caught.value.code == code
