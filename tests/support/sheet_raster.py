"""What really comes off the bed, by an independent renderer: a sheet's contours filled even-odd, the kerf taken away.

Pieces are counted on the picture (scipy.ndimage.label), where pixels hang together by their sides
(4-connected, its default). The method is our own; the pixels are resvg's.
"""

import io
import re
from collections.abc import Sequence

import numpy as np
import resvg_py
from lxml import etree
from numpy.typing import NDArray
from PIL import Image
from raster import region_svg
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

SVG = "http://www.w3.org/2000/svg"
DUST_MM2 = 0.3
"""Pieces smaller than this, mm2, are a few pixels only and are not counted."""

Labels = NDArray[np.int32]


def cut_pieces(sheet: str, kerf_mm: float, px_per_mm: float) -> Labels:
    """A picture in which each piece that a written sheet leaves has a number of its own, and everything else 0."""
    root = etree.fromstring(sheet.encode())
    cuts = [path.get("d", "") for group in root if (group.get("data-role") or "").startswith("cut") for path in group]
    d = "".join(cuts)
    size = f'width="{root.get("width")}" height="{root.get("height")}" viewBox="{root.get("viewBox")}"'
    svg = (
        f'<svg xmlns="{SVG}" {size}><rect width="100%" height="100%" fill="#fff"/>'
        f'<path fill-rule="evenodd" d="{d}"/><path fill="none" stroke="#fff" stroke-width="{kerf_mm}" d="{d}"/></svg>'
    )
    return _labelled(svg, px_per_mm)


def planned_pieces(wood: BaseGeometry, width_mm: float, height_mm: float, px_per_mm: float) -> Labels:
    """The same for planned wood, without the kerf."""
    svg = region_svg(wood, width_mm, height_mm)
    return _labelled(re.sub("<path", '<rect width="100%" height="100%" fill="#fff"/><path', svg, count=1), px_per_mm)


def piece_at(labels: Labels, at_mm: Sequence[float], px_per_mm: float) -> int:
    """The number of the piece at a place, or next to it; 0 where there is none."""
    x, y = (int(value * px_per_mm) for value in at_mm)
    around = labels[max(y - 1, 0) : y + 2, max(x - 1, 0) : x + 2]
    return int(labels[y, x] or around.max())


def _labelled(svg: str, px_per_mm: float) -> Labels:
    width = round(float(re.search(r'width="([\d.]+)mm"', svg)[1]) * px_per_mm)  # type: ignore[index]
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg, width=width, dpi=96))
    picture = np.asarray(Image.open(io.BytesIO(png)).convert("LA"))
    dark = (picture[..., 0] < 128) & (picture[..., 1] > 127)  # a last row in part beyond the page is see-through
    labels: Labels
    labels, count = ndimage.label(dark)
    sizes = np.bincount(labels.ravel(), minlength=count + 1) / px_per_mm**2
    small = np.flatnonzero(sizes < DUST_MM2)
    labels[np.isin(labels, small)] = 0
    return labels


def count(labels: Labels) -> int:
    """How many pieces a picture shows."""
    return len(np.unique(labels[labels > 0]))
