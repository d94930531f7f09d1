"""A picture in a drawing's guide layer, byte by byte; guides as editors write them: test_rectify.py."""

import base64

import pytest

from layercut.errors import DrawingError
from layercut.setup.underlay import PHOTO_ID, find_guide, image_element, lay_picture, matrix_text

HEAD = '<svg xmlns="http://www.w3.org/2000/svg">'
IMAGE = f'<image id="{PHOTO_ID}" x="1"/>'.encode()


def drawing(body: str) -> bytes:
    return f"{HEAD}{body}</svg>".encode()


@pytest.mark.parametrize(
    ("guide", "laid"),
    [
        ('<g id="guide"><path/></g>', b'<g id="guide">\n@<path/></g>'),
        ('<g id="guide"/>', b'<g id="guide">\n@\n</g>'),
        ("<g id='guide' data-a='>'  />", b"<g id='guide' data-a='>'  >\n@\n</g>"),
    ],
)
def test_the_picture_comes_first_and_no_other_byte_changes(guide: str, laid: bytes) -> None:
    data = drawing(f'<g id="sky"/>{guide}<!-- > -->')
    done = lay_picture(data, find_guide(data, "a.svg"), IMAGE)
    assert done == data.replace(guide.encode(), laid.replace(b"@", IMAGE))


@pytest.mark.parametrize("end", ["/>", "></image>", ">\n <title>a</title>\n</image >"])
def test_an_earlier_picture_gives_way(end: str) -> None:
    data = drawing(f'<g id="guide"><path/><image id="{PHOTO_ID}" x=">"{end}<path/></g>')
    done = lay_picture(data, find_guide(data, "a.svg"), IMAGE)
    assert done == drawing('<g id="guide"><path/>@<path/></g>').replace(b"@", IMAGE)


def test_of_several_the_outermost_and_first() -> None:
    data = drawing('<g id="page"><g id="guide-2"/></g><g id="guide-b"/><g id="guide-a"/>')
    assert find_guide(data, "a.svg").attributes["id"] == "guide-b"


@pytest.mark.parametrize(
    "body", ["", '<g id="sky"/>', '<path id="guide"/>', '<defs><g id="guide"/></defs>', '<g id="my guide"/>']
)
def test_what_is_no_guide_layer(body: str) -> None:
    with pytest.raises(DrawingError) as caught:
        find_guide(drawing(body), "a.svg")
    assert caught.value.code == "no-guide"


@pytest.mark.parametrize("data", [b"\x1f\x8b00", b"\xff\xfe<\0", b"<svg", b"<svg><g></svg>"])
def test_what_cannot_be_followed_byte_by_byte(data: bytes) -> None:
    with pytest.raises(DrawingError) as caught:
        find_guide(data, "a.svg")
    assert caught.value.code == "not-xml"


def test_a_picture_stands_on_the_ground_in_the_middle_of_the_walls_or_of_the_page() -> None:
    data = drawing('<g id="guide" data-layercut-scale="48" data-layercut-walls="30 50 200 100"/>')
    guide = find_guide(data, "a.svg")
    assert (guide.ratio, guide.walls_mm) == (48, (30, 50, 200, 100))
    assert guide.standing_mm((100, 40), (300, 200)) == (80, 150)
    plain = find_guide(drawing('<g id="guide" data-layercut-scale="-1" data-layercut-walls="30 fifty"/>'), "a.svg")
    assert (plain.ratio, plain.walls_mm) == (None, None)
    assert plain.standing_mm((100, 40), (300, 200)) == (100, 120)


def test_the_element_holds_the_very_bytes() -> None:
    element = image_element(b"\x89PNG", (1.5, 2.0, 30.12346, 40.0), "")
    assert base64.b64encode(b"\x89PNG") in element
    assert b'x="1.5" y="2" width="30.1235" height="40"' in element
    assert b"transform" not in element
    assert b'transform="matrix(2 0 0 2 1 0)"' in image_element(b"", (0, 0, 1, 1), matrix_text((2, 0, 0, 2, 1, 0)))
    assert matrix_text((1, 0, 0, 1, 0, 1e-10)) == ""
