from pathlib import Path

import pytest

from layercut.drawing import read_drawing
from layercut.errors import DrawingError
from layercut.job import load_job
from layercut.model import Drawing

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:e="urn:an-editor" '
HEAD += 'width="100mm" height="50mm" viewBox="0 0 100 50">'
BOX = '<rect width="10" height="10"/>'


def read(body: str, folder: Path, *settings: str) -> Drawing:
    path = folder / "picture.svg"
    path.write_text(f"{HEAD}{body}</svg>", encoding="utf-8")
    return read_drawing(path, load_job(None, settings))


def names(drawing: Drawing) -> list[str]:
    return [layer.name for layer in drawing.layers]


def codes(drawing: Drawing) -> list[str]:
    return [finding.code for finding in drawing.findings]


def refused(body: str, folder: Path, *settings: str) -> DrawingError:
    with pytest.raises(DrawingError) as caught:
        read(body, folder, *settings)
    assert caught.value.file == "picture.svg"
    return caught.value


def test_a_drawing(tmp_path: Path) -> None:
    drawing = read(f'<g id="sky">{BOX}</g><g id="house">{BOX}{BOX}</g>', tmp_path)
    assert (drawing.file, drawing.width_mm, drawing.height_mm) == ("picture.svg", 100, 50)
    assert names(drawing) == ["sky", "house"]
    assert [len(layer.shapes) for layer in drawing.layers] == [1, 2]
    assert len(drawing.sha256) == 64
    assert drawing.findings == ()
    shape = drawing.layers[1].shapes[1]
    assert (shape.role, shape.paint.colour, shape.element) == ("wood", "#000000", "the 2nd rect")
    assert shape.geometry.bounds == (0, 0, 10, 10)


@pytest.mark.parametrize(
    ("attributes", "title", "name"),
    [
        ('id="a"', "", "a"),
        ('id="a" e:label="Far hills"', "", "Far hills"),
        ('id="a" label="Near"', "<title>no</title>", "Near"),
        ('id="a" e:label=" "', "<title> The  sea\n</title>", "The sea"),
        ('id="front_x0020_door"', "", "front door"),
        ('id="_x0031_st_x1F333_"', "", "1st\N{DECIDUOUS TREE}"),
        ("", "", "layer 1"),
        ('id="wood shed"', "", "wood shed"),
    ],
)
def test_names(attributes: str, title: str, name: str, tmp_path: Path) -> None:
    drawing = read(f"<g {attributes}>{title}{BOX}</g>", tmp_path)
    assert names(drawing) == [name]
    assert drawing.layers[0].shapes[0].role == "wood"


def test_unnamed_layers_are_numbered_by_their_place(tmp_path: Path) -> None:
    drawing = read(f'<g>{BOX}</g><g display="none">{BOX}</g><g>{BOX}</g>', tmp_path)
    assert names(drawing) == ["layer 1", "layer 3"]


def test_repeated_names(tmp_path: Path) -> None:
    layers = "".join(f'<g e:label="tree">{BOX}</g>' for _ in range(3)) + f'<g e:label="tree 2">{BOX}</g>'
    drawing = read(layers, tmp_path)
    assert names(drawing) == ["tree", "tree 3", "tree 4", "tree 2"]
    assert codes(drawing) == ["name-repeated"] * 2


@pytest.mark.parametrize(
    "layer",
    [
        f'<g display="none">{BOX}</g>',
        f'<g style="display:none">{BOX}</g>',
        f'<g id="guides and boxes">{BOX}</g>',
        f'<g e:label="Guide">{BOX}<text>hello</text><image href="x.png"/></g>',
        f'<g data-layercut="guide">{BOX}</g>',
        f'<g systemLanguage="xx">{BOX}</g>',
    ],
)
def test_layers_that_do_not_exist(layer: str, tmp_path: Path) -> None:
    drawing = read(f'{layer}<g id="sky">{BOX}</g>', tmp_path)
    assert names(drawing) == ["sky"]
    assert drawing.findings == ()


def test_hiding_a_layer_does_not_turn_the_other_into_a_wrapper(tmp_path: Path) -> None:
    drawing = read(f'<g display="none">{BOX}</g><g id="house"><g id="roof">{BOX}</g><g>{BOX}</g></g>', tmp_path)
    assert names(drawing) == ["house"]


@pytest.mark.parametrize(
    "wrapped",
    [
        "<g transform='translate(3 4)'>{}</g>",
        "<g transform='translate(1 1)'><g transform='translate(2 3)'>{}</g></g>",
        "<switch transform='translate(3 4)'><foreignObject requiredExtensions='urn:x'/><g>{}</g></switch>",
        "<svg x='3' y='4' width='90' height='40'>{}</svg>",
        "<a transform='translate(3 4)'>{}</a>",
        "<defs/><e:view/><g transform='translate(3 4)'>{}</g><image href='photo.jpg'/>",
    ],
)
def test_a_lone_wrapper_is_looked_through(wrapped: str, tmp_path: Path) -> None:
    drawing = read(wrapped.format(f'<g id="sky">{BOX}</g><g id="sea" fill="#00f">{BOX}</g>'), tmp_path)
    assert names(drawing) == ["sky", "sea"]
    assert drawing.layers[1].shapes[0].geometry.bounds == pytest.approx((3, 4, 13, 14))


def test_a_wrapper_gives_its_style_clip_and_opacity(tmp_path: Path) -> None:
    clip = '<clipPath id="c"><rect width="5" height="50"/></clipPath>'
    body = f'{clip}<g fill="#0f0" clip-path="url(#c)" opacity=".6"><g>{BOX}</g><g opacity=".7">{BOX}</g></g>'
    drawing = read(body, tmp_path)
    shape = drawing.layers[0].shapes[0]
    assert shape.geometry.bounds == (0, 0, 5, 10)
    assert shape.paint.colour == "#00ff00"
    # Both lie in one group: what the wrapper lets through counts once where they are over each other.
    (glaze,) = drawing.layers[1].shapes
    assert glaze.role == "glaze"
    assert glaze.coat is not None
    assert shape.coat is not None
    assert [veil.opacity for veil in glaze.coat.veils] == [0.6, 0.7]
    assert glaze.coat.veils[0] == shape.coat.veils[0]
    assert codes(drawing) == ["glaze", "layer-empty"]


def test_what_may_stand_beside_layers(tmp_path: Path) -> None:
    body = (
        "<title>t</title><desc>d</desc><metadata><e:x/></metadata><style>g rect{fill:red}</style><e:view/>"
        '<defs><rect id="r" width="3" height="3"/></defs><symbol id="s"><path d="M0 0h9v9z"/></symbol>'
        '<linearGradient id="g"/><clipPath id="c"><rect width="1" height="1"/></clipPath><script>1</script>'
        '<rect width="100" height="50" fill="none"/><rect width="100" height="50" display="none"/>'
        '<image href="photo.jpg" width="9" height="9"/>'
    )
    drawing = read(f'{body}<g id="a">{BOX}</g>', tmp_path)
    assert names(drawing) == ["a"]
    assert codes(drawing) == ["picture"]
    assert drawing.layers[0].shapes[0].paint.colour == "#ff0000"


@pytest.mark.parametrize(
    ("stray", "element"),
    [
        ('<path id="leaf" d="M0 0h9v9z"/>', "path 'leaf'"),
        ('<rect e:label="big box" width="5" height="5"/>', "rect 'big box'"),
        (f'<use href="#b"/><defs><g id="b">{BOX}</g></defs>', "the 1st use"),
        ('<text x="5" y="5">hello</text>', "the 1st text"),
        (f"<a>{BOX}</a>", "the 1st a"),
        ('<line x2="9" stroke="#000"/>', "the 1st line"),
    ],
)
def test_shapes_outside_layers(stray: str, element: str, tmp_path: Path) -> None:
    error = refused(f'<g id="a">{BOX}</g>{stray}', tmp_path)
    assert error.code == "outside-layers"
    assert error.element == element
    assert "group" in error.hint


@pytest.mark.parametrize(
    "body",
    ["", "<defs/>", BOX, f'<g id="guide">{BOX}</g>', f'<g display="none">{BOX}</g>', f"<defs><g>{BOX}</g></defs>"],
)
def test_no_layers(body: str, tmp_path: Path) -> None:
    assert refused(body, tmp_path).code == "no-layers"


@pytest.mark.parametrize(
    "content", ["", '<path d=""/>', '<rect width="0" height="5"/>', '<path fill="none" d="M0 0h9v9"/>']
)
def test_empty_layers_exist(content: str, tmp_path: Path) -> None:
    drawing = read(f'<g id="a">{content}</g><g id="b">{BOX}</g>', tmp_path)
    assert names(drawing) == ["a", "b"]
    (finding,) = drawing.findings
    assert (finding.code, finding.layer) == ("layer-empty", "a")


def test_layers_may_be_named_after_a_role(tmp_path: Path) -> None:
    drawing = read(f'<g id="opening">{BOX}</g><g id="mark-line">{BOX}</g>', tmp_path)
    assert [layer.shapes[0].role for layer in drawing.layers] == ["wood", "wood"]
    drawing = read(f'<g data-layercut="mark-area">{BOX}</g>', tmp_path)
    assert drawing.layers[0].shapes[0].role == "mark-area"


def test_reading_twice_gives_the_same(tmp_path: Path) -> None:
    body = f'<g id="a" stroke="#123456" stroke-width="2">{BOX}<circle r="4" cx="30" cy="20"/></g>'
    assert read(body, tmp_path) == read(body, tmp_path)
