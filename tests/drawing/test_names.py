"""What names decide: what a shape is called, what it is by its name, and how messages name it."""

from pathlib import Path

import pytest
from drawn import roles, shapes
from lxml import etree

from layercut.drawing import read_drawing
from layercut.drawing.names import Places, ordinal
from layercut.errors import DrawingError
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


BOX = '<rect width="20" height="20" {}/>'


@pytest.mark.parametrize(
    "naming",
    [
        '<g data-layercut="{}">{{}}</g>',
        '<g id="{}">{{}}</g>',
        '<g id="{}-3">{{}}</g>',
        '<g label="{} of the door">{{}}</g>',
        "<g><title>{}: door</title>{{}}</g>",
        '<g id="{}_x0020_left"><g id="other">{{}}</g></g>',
        '<g id="opening"><g data-layercut="{}">{{}}</g></g>',
        '<g id="wood" data-layercut="{}">{{}}</g>',
        '<defs><g id="{}1_">{{}}</g></defs><use href="#{}1_"/>',
    ],
)
@pytest.mark.parametrize("word", ["wood", "mark-line", "mark-area", "opening"])
def test_names_decide_what_a_fill_is(naming: str, word: str, tmp_path: Path) -> None:
    body = naming.replace("{}1_", "{}-1").replace("{{}}", BOX.format("")).replace("{}", word)
    assert roles(body, tmp_path) == [word]


@pytest.mark.parametrize("name", ["woody", "openings", "mark-lines", "guided", "my opening", "Wooden"])
def test_names_that_only_look_like_words(name: str, tmp_path: Path) -> None:
    assert roles(f'<g id="{name}">{BOX.format("")}</g>', tmp_path) == ["wood"]


def test_the_innermost_name_wins(tmp_path: Path) -> None:
    box = BOX.format("")
    guide = f'<g id="guide">{box}<g data-layercut="wood">{box}</g></g>'
    body = f'<g id="mark-area"><g id="opening">{box}</g>{box}{guide}</g>'
    assert roles(body, tmp_path) == ["opening", "mark-area", "wood"]


def test_an_unknown_role_is_named(tmp_path: Path) -> None:
    with pytest.raises(DrawingError) as caught:
        shapes('<path id="leaf" data-layercut="engrave" d="M0 0h9v9z"/>', tmp_path)
    assert caught.value.code == "unknown-role"
    assert "engrave" in caught.value.message
    assert (caught.value.layer, caught.value.element) == ("a", "path 'leaf'")


def test_messages_name_by_label_or_id_else_by_place() -> None:
    """Within a layer the place is that among its like in all of the layer, elsewhere among its neighbours."""
    root = etree.fromstring(
        '<svg xmlns="http://www.w3.org/2000/svg"><defs><path/><path/></defs>'
        '<g><g><path/></g><rect/><path id="leaf"/><path label="Far  hills" id="x"/><path/></g></svg>'
    )
    defs, layer = root
    places = Places()
    places.enter(layer)
    assert [places.name(element) for element in layer.iter("{*}path")] == [
        "the 1st path",
        "path 'leaf'",
        "path 'Far hills'",
        "the 4th path",
    ]
    assert places.name(defs[1]) == "the 2nd path"


def test_ordinals() -> None:
    numbers = (1, 2, 3, 4, 11, 12, 13, 21, 22, 103, 111, 112)
    words = "1st 2nd 3rd 4th 11th 12th 13th 21st 22nd 103rd 111th 112th"
    assert " ".join(map(ordinal, numbers)) == words
