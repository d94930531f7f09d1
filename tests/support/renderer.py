"""An independent renderer's picture (resvg) against what the reader made of the same drawing.

Regions are asked at pixel centres. Pixels within about one pixel of an edge may differ: resvg mixes colours
there.
"""

import io

import numpy as np
import resvg_py
import shapely
from PIL import Image

from layercut.model import Drawing

EDGE_PX = 1.0
COLOUR_STEP = 3


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
    """How many pixels away from every edge differ in whether they are painted, and in their colour where it is a
    plain one that nothing shines through; painted.py compares the rest."""
    x, y = pixel_grid(drawing, picture.shape[:2])
    shapes = [shape for layer in drawing.layers for shape in layer.shapes if shape.role != "glaze"]
    top = np.full(len(x), -1)
    for index, shape in enumerate(shapes):
        shapely.prepare(shape.geometry)
        top[shapely.contains_xy(shape.geometry, x, y)] = index
    pixels = picture.reshape(-1, 4).astype(int)
    painted = pixels[:, 3] > 127
    colours = np.array(
        [[int(shape.paint.colour[i : i + 2], 16) for i in (1, 3, 5)] for shape in shapes] or [[0, 0, 0]]
    )
    plain = np.array([not shape.paint.washes and shape.coat is None for shape in shapes] or [True])
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
