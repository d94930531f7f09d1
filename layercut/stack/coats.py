"""All that is painted in a drawing, from the bottom of the back layer to the top of the front one.

Enters: the layers. Leaves: `Coats`, in paint order, with what tells what a viewer sees through them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.colour.coats import Coat
from layercut.colour.folding import is_opaque
from layercut.colour.washes import FlatWash
from layercut.geometry.noding import on_grid
from layercut.geometry.regions import EMPTY, as_region
from layercut.model import Layer, Shape

_CLEAR = FlatWash((0.0, 0.0, 0.0), 0.0)


@dataclass(frozen=True, slots=True)
class Coats:
    """Coats in paint order, n of them, and for each: its region and that part of it which is no wood (both on the
    grid, and one and the same where no part is), its layer, the sheet on which it lies (its layer's, or one behind on
    which a piece is painted), whether nothing shines through it, and whether it is an opening, which takes away what
    its own layer has under it."""

    coats: tuple[Coat, ...]
    regions: NDArray[np.object_]
    glazes: NDArray[np.object_]
    layer: NDArray[np.int64]
    sheet: NDArray[np.int64]
    opaque: NDArray[np.bool_]
    opening: NDArray[np.bool_]


def gather_coats(layers: Sequence[Layer]) -> Coats | None:
    """The coats of all layers; None where nothing shines through any, so that faces tell all there is to see."""
    if not any(shape.coat is not None for layer in layers for shape in layer.shapes):
        return None
    shapes = [
        (index, shape)
        for index, layer in enumerate(layers)
        for shape in layer.shapes
        if shape.role in ("wood", "glaze", "opening") and not _region_of(shape).is_empty
    ]
    coats = tuple(_coat_of(shape) for _, shape in shapes)
    regions = on_grid(np.array([coat.region for coat in coats], dtype=object))
    glazes = on_grid(np.array([_glaze_of(shape) for _, shape in shapes], dtype=object))
    whole = np.array([shape.role == "glaze" for _, shape in shapes])
    # The same object, not only an equal one: that is how later steps know a coat that is nowhere wood.
    glazes[whole] = regions[whole]
    layer_of = np.array([index for index, _ in shapes], dtype=np.int64)
    return Coats(
        coats,
        regions,
        glazes,
        layer_of,
        layer_of,
        np.array([not coat.veils and is_opaque(coat.wash) for coat in coats]),
        np.array([shape.role == "opening" for _, shape in shapes]),
    )


def _region_of(shape: Shape) -> shapely.Geometry:
    return shape.geometry if shape.coat is None else shape.coat.region


def _coat_of(shape: Shape) -> Coat:
    if shape.role == "opening":
        return Coat(as_region(shape.geometry), _CLEAR)
    return shape.coat or Coat(as_region(shape.geometry), shape.paint.wash)


def _glaze_of(shape: Shape) -> shapely.Geometry:
    """The part of a wooden shape's coat that is no wood; empty where all of it is."""
    if shape.coat is None or shape.role != "wood" or shape.geometry is shape.coat.region:
        return EMPTY
    return as_region(shapely.difference(shape.coat.region, shape.geometry))
