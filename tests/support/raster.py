"""The end-to-end check, by an independent renderer.

Each layer of the drawing is rendered alone; the front-most at each pixel is what should show (the painter's order:
SVG 2, chapter "Rendering Model"). The written sheets are rendered as even-odd fills and stacked; what shows
there must be the same, away from edges. The method is our own; the pixels are resvg's.
"""

import copy
import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import resvg_py
import shapely
from elements import value
from lxml import etree
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

SVG = "{http://www.w3.org/2000/svg}"
NEAR_EDGE_PX = 2

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Comparison:
    """How many pixels were compared, and how many differ away from the drawing's edges."""

    compared: int
    different: int
    at_px: tuple[int, int] | None


def compare(
    drawing: str,
    sheets: list[str],
    frame_mm: float,
    corner_mm: float,
    px_per_mm: float = 6,
    *,
    added: Sequence[BaseGeometry] = (),
    given: Sequence[tuple[int, int | None, BaseGeometry]] = (),
) -> Comparison:
    """Compare a drawing with its written sheets, back to front.

    `added` is what each layer has beside what is drawn: its ties, mm. `given` is what layers gave to others: from
    which, to which (None where it was left out), and where. With them the stack must be the drawing again.
    """
    width_mm, height_mm = _size(sheets[0])
    width_px = round(width_mm * px_per_mm)
    alphas = [_alpha(layer, width_px) for layer in layers_alone(drawing)]
    for source, home, region in given:
        moved = _alpha(region_svg(region, width_mm, height_mm), width_px)
        # What of the sheets between was drawn there lay hidden behind it, and is opened for it.
        for place in range(source if home is None else home + 1, source + 1):
            alphas[place] = np.minimum(alphas[place], 255 - moved)
        if home is not None:
            alphas[home] = np.maximum(alphas[home], moved)
    for index, region in enumerate(added):
        alphas[index] = np.maximum(alphas[index], _alpha(region_svg(region, width_mm, height_mm), width_px))
    drawn = _front_most([alpha > 127 for alpha in alphas])
    stacked = _front_most([_alpha(_filled(sheet), width_px) > 127 for sheet in sheets])
    inside = _interior(drawn.shape, width_mm, height_mm, frame_mm, corner_mm)
    near_edge = _near_edge(drawn, alphas)
    wrong = (drawn != stacked) & inside & ~near_edge
    spots = np.argwhere(wrong)
    at = (int(spots[0][1]), int(spots[0][0])) if len(spots) else None
    return Comparison(int((inside & ~near_edge).sum()), int(wrong.sum()), at)


def repainted(drawing: str, maps: Sequence[str], region: BaseGeometry, px_per_mm: float = 6) -> int:
    """Pixels in a region, away from edges of colour, where the paint maps have another colour than the drawing."""
    width_mm, height_mm = _size(drawing)
    width_px = round(width_mm * px_per_mm)
    drawn = _colours(drawing, width_px)
    told = np.zeros_like(drawn)
    for text in maps:
        shown = _colours(text, width_px)[: drawn.shape[0]]
        told[shown[..., 3] > 127] = shown[shown[..., 3] > 127]
    reach = 2 * NEAR_EDGE_PX + 1
    plain = ndimage.maximum_filter(drawn, (reach, reach, 1)) == ndimage.minimum_filter(drawn, (reach, reach, 1))
    inside = _alpha(region_svg(region, width_mm, height_mm), width_px) > 127
    inside &= plain.all(axis=2)
    return int((np.abs(drawn.astype(int) - told.astype(int))[..., :3].max(axis=2)[inside] > 2).sum())


def bare_map(text: str) -> str:
    """A paint map with its paints only: without legend, numbers and outlines."""
    root = etree.fromstring(text.encode())
    legend_mm = float(root.get("data-legend-mm", "0"))
    width_mm, height_mm = _size(text)
    size = f'width="{width_mm}mm" height="{height_mm - legend_mm}mm" viewBox="0 0 {width_mm} {height_mm - legend_mm}"'
    paints = [path for path in root if path.get("data-paint") is not None]
    paths = "".join(f'<path fill="{path.get("fill")}" fill-rule="evenodd" d="{path.get("d")}"/>' for path in paints)
    return f'<svg xmlns="{SVG[1:-1]}" {size}>{paths}</svg>'


def region_svg(region: BaseGeometry, width_mm: float, height_mm: float) -> str:
    """A region as an even-odd fill on a page of a size, mm."""
    rings = shapely.get_rings(shapely.get_parts(region))
    paths = "".join(
        "M" + "L".join(f"{x:.4f},{y:.4f}" for x, y in shapely.get_coordinates(ring)) + "Z" for ring in rings
    )
    size = f'width="{width_mm}mm" height="{height_mm}mm" viewBox="0 0 {width_mm} {height_mm}"'
    return f'<svg xmlns="{SVG[1:-1]}" {size}><path fill-rule="evenodd" d="{paths}"/></svg>'


def _near_edge(drawn: NDArray[np.int16], alphas: list[NDArray[np.uint8]]) -> Mask:
    """Pixels near an edge: where another layer shows within reach, or where the alpha of a layer that isn't covered
    changes, as at a tip too thin to fill a pixel."""
    reach = 2 * NEAR_EDGE_PX + 1
    near: Mask = ndimage.maximum_filter(drawn, reach) != ndimage.minimum_filter(drawn, reach)
    covered = np.zeros(drawn.shape, dtype=bool)
    for alpha in reversed(alphas):
        change = ndimage.maximum_filter(alpha, reach).astype(int) - ndimage.minimum_filter(alpha, reach)
        near |= (change > 25) & ~covered
        covered |= alpha > 250
    return near


def layers_alone(drawing: str) -> list[str]:
    """One drawing for each layer, the other layers moved to where they can be referred to but don't show."""
    root = etree.fromstring(drawing.encode())
    groups = [child for child in root if child.tag == SVG + "g" and _is_layer(child)]
    alone = []
    for index in range(len(groups)):
        tree = copy.deepcopy(root)
        tops = [child for child in tree if child.tag == SVG + "g"]
        keep = [child for child in tops if _is_layer(child)][index]
        for child in tops:
            if child is not keep:
                hidden = etree.Element(SVG + "defs")
                child.addprevious(hidden)
                hidden.append(child)
        alone.append(etree.tostring(tree, encoding="unicode"))
    return alone


def _is_layer(group: etree._Element) -> bool:
    title = group.find(SVG + "title")
    name = (title.text if title is not None else group.get("id")) or ""
    return not name.startswith("guide") and "display:none" not in group.get("style", "") + (
        "display:none" if group.get("display") == "none" else ""
    )


def _filled(sheet: str) -> str:
    """A sheet's cut contours as one even-odd fill."""
    root = etree.fromstring(sheet.encode())
    cuts = [path.get("d", "") for group in root if (group.get("data-role") or "").startswith("cut") for path in group]
    size = f'width="{root.get("width")}" height="{root.get("height")}" viewBox="{root.get("viewBox")}"'
    return f'<svg xmlns="{SVG[1:-1]}" {size}><path fill-rule="evenodd" d="{"".join(cuts)}"/></svg>'


def _alpha(svg: str, width_px: int) -> NDArray[np.uint8]:
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg, width=width_px, dpi=96))
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))[:, :, 3]


def _colours(svg: str, width_px: int) -> NDArray[np.uint8]:
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg, width=width_px, dpi=96))
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))


def _front_most(masks: list[Mask]) -> NDArray[np.int16]:
    """For each pixel the index of the last mask over it; where there is none, the back sheet shows."""
    owner = np.zeros(masks[0].shape, dtype=np.int16)
    for index, mask in enumerate(masks):
        owner[mask] = index
    return owner


def _size(sheet: str) -> tuple[float, float]:
    root = etree.fromstring(sheet.encode())
    width, height = (float(value(root, name).removesuffix("mm")) for name in ("width", "height"))
    return width, height


def _interior(shape: tuple[int, ...], width: float, height: float, frame: float, corner: float) -> Mask:
    """Pixels inside the frame by a safe quarter of a millimetre, by the distance to a rounded box."""
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]]
    x = np.abs((x + 0.5) * width / shape[1] - width / 2)
    y = np.abs((y + 0.5) * height / shape[0] - height / 2)
    radius = max(corner - frame, 0.0)
    qx, qy = x - (width / 2 - frame - radius), y - (height / 2 - frame - radius)
    outside = np.hypot(np.maximum(qx, 0), np.maximum(qy, 0)) + np.minimum(np.maximum(qx, qy), 0) - radius
    well_inside: Mask = outside < -0.25
    return well_inside
