"""What the artist calls things comes with every shape, whatever messages call them."""

from pathlib import Path

from layercut.drawing import read_drawing
from layercut.job import Job
from layercut.model import Called

RECT = '<rect {} width="50" height="40" fill="#864"/>'


def _called(body: str, folder: Path) -> list[Called]:
    path = folder / "drawing.svg"
    head = 'xmlns="http://www.w3.org/2000/svg" xmlns:e="urn:example" width="100mm" height="80mm" viewBox="0 0 100 80"'
    path.write_text(f'<svg {head}><g id="sky">{RECT.format("")}</g><g id="wall">{body}</g></svg>')
    _, layer = read_drawing(path, Job()).layers
    return [shape.called for shape in layer.shapes]


def test_label_id_and_kind(tmp_path: Path) -> None:
    body = RECT.format('e:label="Sun  dial" id="a_x0020_b"') + RECT.format("")
    assert _called(body, tmp_path) == [Called("rect", "Sun dial", "a b", ("Sun dial", "a b")), Called("rect")]


def test_every_group_around_counts_but_not_the_layer(tmp_path: Path) -> None:
    body = f'<g id="inn"><a><g><title>Name board</title>{RECT.format("")}</g></a></g>'
    (called,) = _called(body, tmp_path)
    assert called == Called("rect", around=("inn", "Name board"))


def test_a_copy_is_called_as_the_use_and_its_original_counts_as_around_it(tmp_path: Path) -> None:
    original = f'<defs><g id="rose"><g id="heart">{RECT.format("")}</g></g></defs>'
    uses = '<g id="bush"><use id="first" href="#rose"/><use href="#rose"/></g>'
    first, second = _called(original + uses, tmp_path)
    assert first == Called("use", ident="first", around=("bush", "first", "rose", "heart"))
    assert second == Called("use", around=("bush", "rose", "heart"))


def test_fill_and_stroke_of_one_element_are_called_the_same(tmp_path: Path) -> None:
    fill, stroke = _called(RECT.format('id="sill" stroke="#000" stroke-width="3"'), tmp_path)
    assert fill == stroke == Called("rect", ident="sill", around=("sill",))


def test_text_is_called_too(tmp_path: Path) -> None:
    text = '<text id="sign" x="10" y="30" font-family="sans-serif" font-size="9">INN</text>'
    called = _called(RECT.format("") + text, tmp_path)
    assert called[-1].ident == "sign"
