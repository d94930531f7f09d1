"""What is painted in a drawing once pieces have left their sheets.

Enters: the faces, the coats of all layers, and what each sheet gives away. Leaves: both as they lie then. Holds: a
piece that is painted behind shows there what it would have shown on its own sheet, with all that shines through it
and lies upon it; of one that is left out nothing is painted, and nothing that lay upon it on its own sheet.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.geometry.noding import on_grid
from layercut.geometry.regions import Region, as_region, joined, prepared, spread_union
from layercut.model import Guest
from layercut.stack.coats import Coats
from layercut.stack.faces import Face
from layercut.stack.painted_behind import paint_guests

Given = Sequence[Sequence[Guest]]
"""What each sheet gives away, back to front."""


def move_faces(faces: Sequence[Face], given: Given) -> tuple[Face, ...]:
    """The faces as they are painted: without what is given away, with the guests of sheets in front."""
    if not any(given):
        return tuple(faces)
    regions = [face.region for face in faces]
    for index, home, moved in _moves(given):
        regions[index] = as_region(shapely.difference(regions[index], moved))
        if home is not None:
            regions[home] = joined(regions[home], moved)
    parts = zip(faces, regions, paint_guests(faces, given), strict=True)
    return tuple(replace(face, region=region, painted=painted) for face, region, painted in parts)


def move_coats(coats: Coats, given: Given) -> Coats:
    """The coats as they lie: those of a guest, and all that shines through it, lie on the sheet that shows it.

    A coat that reaches beyond the guest is parted. The order in which they were drawn stays.
    """
    for index, home, moved in _moves(given):
        away = (coats.sheet == index) if home is None else (coats.sheet > home) & (coats.sheet <= index)
        coats = _part(coats, np.flatnonzero(away), moved, home)
    return coats


def _moves(given: Given) -> Iterator[tuple[int, int | None, Region]]:
    """From which sheet what goes to which other, in the order in which it goes; None where it is left out."""
    for index in reversed(range(len(given))):
        homes = {guest.home for guest in given[index]}
        for home in sorted(homes, key=lambda home: -1 if home is None else home):
            yield index, home, spread_union(guest.region for guest in given[index] if guest.home == home)


def _part(coats: Coats, some: NDArray[np.int64], moved: Region, home: int | None) -> Coats:
    """Part some coats along a region: what lies in it goes to another sheet, or nowhere."""
    met = some[shapely.intersects(prepared(moved), coats.regions[some])]
    if not len(met):
        return coats
    stays = _cut(coats, met, moved, inside=False)
    if home is None:
        return stays
    goes = _cut(coats, met, moved, inside=True)
    order = np.argsort(np.concatenate([np.arange(len(coats.coats)), met]), kind="stable")
    sheets = np.concatenate([coats.sheet, np.full(len(met), home)])
    return Coats(
        tuple((*coats.coats, *(coats.coats[one] for one in met))[place] for place in order),
        np.concatenate([stays.regions, goes.regions[met]])[order],
        np.concatenate([stays.glazes, goes.glazes[met]])[order],
        np.concatenate([coats.layer, coats.layer[met]])[order],
        sheets[order],
        np.concatenate([coats.opaque, coats.opaque[met]])[order],
        np.concatenate([coats.opening, coats.opening[met]])[order],
    )


def _cut(coats: Coats, some: NDArray[np.int64], moved: Region, inside: bool) -> Coats:
    """The coats, some of them only as far as they lie in a region, or outside of it."""
    cut = shapely.intersection if inside else shapely.difference
    whole = np.array([coats.regions[one] is coats.glazes[one] for one in some], dtype=np.bool_)
    regions, glazes = coats.regions.copy(), coats.glazes.copy()
    regions[some] = on_grid(_areas(cut(coats.regions[some], moved)))
    glazes[some] = on_grid(_areas(cut(coats.glazes[some], moved)))
    # That they are one and the same tells that no part of the coat is wood.
    glazes[some[whole]] = regions[some[whole]]
    return replace(coats, regions=regions, glazes=glazes)


def _areas(shapes: NDArray[np.object_]) -> NDArray[np.object_]:
    found = np.empty(len(shapes), dtype=object)
    found[:] = [as_region(shape) for shape in shapes]
    return found
