"""What is stained instead of painted: layers, groups and elements, by name.

Enters: the drawing and the job. Leaves: the stained wood of a layer, and a finding for each name that means nothing.
"""

import json
import re
from collections.abc import Iterator, Sequence

import shapely

from layercut.findings import Finding, nearest_names
from layercut.geometry.regions import EMPTY, Region, as_region, union
from layercut.model import Drawing, Layer, Shape

_WORD_END = re.compile(r"(?<=[^\W_])(?![^\W_])")


def is_stained(layer: Layer, stain: Sequence[str]) -> bool:
    """Whether all of a layer is among what is stained, by its name."""
    return is_called(layer.name, stain)


def stained_part(layer: Layer, stain: Sequence[str]) -> Region:
    """What of a layer is stained where the layer as a whole isn't; what is drawn over it isn't. Empty for nothing."""
    stained: Region = EMPTY
    for shape in layer.shapes:
        if shape.role != "wood":
            continue
        if any(is_called(name, stain) for name in names_of(shape)):
            stained = union((stained, as_region(shape.geometry)))
        elif not stained.is_empty and shapely.intersects(stained, shape.geometry):
            stained = as_region(shapely.difference(stained, shape.geometry))
    return stained


def stained_wood(layer: Layer, stain: Sequence[str]) -> Region:
    """All that is stained of a layer: all its wood, what of it is stained, or nothing."""
    if is_stained(layer, stain):
        return union(as_region(shape.geometry) for shape in layer.shapes if shape.role == "wood")
    return stained_part(layer, stain) if stain else EMPTY


def stain_findings(drawing: Drawing, stain: Sequence[str]) -> Iterator[Finding]:
    """A warning for each name that the job stains and that no layer, group or element with wood has."""
    if not stain:
        return
    known = [layer.name for layer in drawing.layers]
    known += [
        name for layer in drawing.layers for shape in layer.shapes if shape.role == "wood" for name in names_of(shape)
    ]
    known = list(dict.fromkeys(known))
    for wanted in stain:
        if not any(is_called(name, (wanted,)) for name in known):
            line = (
                f"paint.stain names {json.dumps(wanted, ensure_ascii=False)}, but no layer, group or element of wood"
            )
            yield Finding(
                "name-unmatched", "warning", f"{line} is called so. {nearest_names(wanted, known)}", element=wanted
            )


def names_of(shape: Shape) -> tuple[str, ...]:
    """All names that count for a shape, from the outside in, each once; not its layer's."""
    called = shape.called
    return tuple(dict.fromkeys(name for name in (*called.around, called.label, called.ident) if name))


def is_called(name: str, wanted_names: Sequence[str]) -> bool:
    """Whether a name is one of those that are wanted, or one of them with more words behind it, as in
    `Name-Board 2`; capitals, spaces and hyphens don't matter."""
    wanted = {letters for letters in map(_letters, wanted_names) if letters}
    return bool(wanted) and any(_letters(name[: end.start()]) in wanted for end in _WORD_END.finditer(name))


def _letters(name: str) -> str:
    return "".join(char for char in name.lower() if char.isalnum())
