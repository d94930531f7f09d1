"""Names of pieces: a choice in the job file stays with its piece, however the drawing around it is edited.

Enters: the layers, and the pieces of wood found in them. Leaves: the name of each piece, as the artist calls it, and
the other names by which it is known. Holds: a name follows from the element that a piece mostly comes from, never
from how many others there are; no two pieces are known by one name.

A piece is called by its element's label or id where that means one part of the drawing only. Where an element has no
name, or several parts have the same one, a digest of the part's outline tells them apart (`leaf#k3f7q2m`), and where
the sheet holds but part of such a part, a digest of that.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, STRtree

from layercut.geometry.precision import AREA_MM2, GRID_MM
from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import Region, as_region, point_on, prepared
from layercut.model import NAMELESS, Called, Island, Layer, Shape
from layercut.stack.digests import as_letters, digest_of, measures_of, parts_together

BARE_WORD = "wood"
"""What a piece is called that comes of no shape."""


@dataclass(frozen=True, slots=True)
class PieceName:
    """How a piece is known: its name, the others, the one in older job files; how a message names its element, and
    the place of that among the layer's shapes."""

    id: str
    aliases: tuple[str, ...] = ()
    old_id: str = ""
    element: str = ""
    place: int = -1


def find_shared_names(layers: Sequence[Layer]) -> tuple[Layer, ...]:
    """The layers with the names and digests that more than one part of the drawing has."""
    counts: Counter[str] = Counter()
    seen: dict[bytes, int] = {}
    shared: set[str] = set()
    for place, layer in enumerate(layers):
        names, parts = _all_parts(layer)
        counts.update(names)
        for measures in {row.tobytes() for row in measures_of(parts)}:
            if seen.setdefault(measures, place) != place:
                shared.add(as_letters(measures))
    del counts[""]
    shared.update(name for name, count in counts.items() if count > 1)
    return tuple(replace(layer, shared=frozenset(shared)) for layer in layers)


def _all_parts(layer: Layer) -> tuple[list[str], list[Polygon]]:
    """Every part of a layer's wood with its name, once for a label and once for an id; nameless ones with none."""
    named = named_shapes(layer)
    alone = [(name, shapes[0].geometry) for name, shapes in named.items() if len(shapes) == 1]
    alone += [("", shape.geometry) for shape in woods_of(layer) if not shape.called.name]
    # Most elements are one shape; those of a whole layer are taken apart at once.
    parts, owner = shapely.get_parts(np.array([shape for _, shape in alone], dtype=object), return_index=True)
    kept = shapely.area(parts) > AREA_MM2
    names = [alone[index][0] for index in owner[kept]]
    several = list(parts[kept])
    for name, shapes in named.items():
        mine = parts_together([shape.geometry for shape in shapes]) if len(shapes) > 1 else []
        names += [name] * len(mine)
        several += mine
    return names, several


def woods_of(layer: Layer) -> list[Shape]:
    """The shapes of a layer that are wood."""
    return [shape for shape in layer.shapes if shape.role == "wood" and not shape.geometry.is_empty]


def named_shapes(layer: Layer) -> dict[str, list[Shape]]:
    """The wood of a layer by each label and each id."""
    found: dict[str, list[Shape]] = {}
    for shape in woods_of(layer):
        for name in own_words(shape.called):
            found.setdefault(name, []).append(shape)
    return found


def own_words(called: Called) -> tuple[str, ...]:
    """Label and id, as far as there are any, each once."""
    return tuple(dict.fromkeys(name for name in (called.label, called.ident) if name))


def name_pieces(layer: Layer, regions: Sequence[Region]) -> list[PieceName]:
    """A name for each piece of a layer's wood. No two of them have the same."""
    if not regions:
        return []
    woods, groups = woods_of(layer), named_shapes(layer)
    places = _owners(woods, regions)
    owners = [woods[place] if place >= 0 else None for place in places]
    old = _old_ids(layer, regions, owners)
    named = []
    for region, owner, place, old_id in zip(regions, owners, places, old, strict=True):
        names = _names_of(layer, region, owner, groups)
        named.append(PieceName(names[0], names[1:], old_id, owner.element if owner else "", place))
    return _made_unique(named)


def _names_of(layer: Layer, region: Region, owner: Shape | None, groups: dict[str, list[Shape]]) -> tuple[str, ...]:
    """All names of a piece, the one for people first."""
    called = owner.called if owner else NAMELESS
    parts = {name: _most_of(groups[name], region) for name in own_words(called)}
    # An id is the narrower of the two; without a name, a shape stands for itself.
    part = parts.get(called.ident) or parts.get(called.label) or _most_of([owner] if owner else [], region)
    digest = part.digest(layer)
    single = [name for name in parts if name not in layer.shared]
    names = [name if parts[name].mostly else f"{name}#{digest}" for name in single]
    if len(parts) == 2 and called.ident in single and part.mostly:
        # The label comes first for people; once another has the same one, the id says which is meant.
        names.insert(called.label in single, f"{called.label}#{called.ident}")
    return tuple(dict.fromkeys((*names, f"{_word_for(called)}#{digest}", f"#{digest}")))


@dataclass(frozen=True, slots=True)
class _Share:
    """The part of a drawing that a piece mostly comes from, and what of it the piece is."""

    part: Region
    piece: Region

    @property
    def mostly(self) -> bool:
        """Whether the piece is most of the part. Only one can be, so that one is called by the part's name."""
        return bool(self.piece.area > self.part.area / 2)

    def digest(self, layer: Layer) -> str:
        """What the piece looks like and where, as drawn."""
        whole = digest_of(self.part)
        if whole in layer.shared:
            whole = digest_of(self.part, layer.name)
        return whole if self.mostly else digest_of(self.piece, whole)


def _most_of(shapes: Sequence[Shape], region: Region) -> _Share:
    """The part of some shapes that has most of a piece; without any, the piece itself."""
    parts = parts_together([shape.geometry for shape in shapes]) if shapes else []
    if not parts:
        return _Share(region, region)
    pieces = shapely.intersection(np.array(parts, dtype=object), region)
    most = int(np.argmax(shapely.area(pieces)))
    return _Share(parts[most], as_region(pieces[most]))


def _word_for(called: Called) -> str:
    """What a piece is called before its digest: by its element's name, else the group's around it, else its kind."""
    return called.name or (called.around[-1] if called.around else called.kind) or BARE_WORD


def _made_unique(named: Sequence[PieceName]) -> list[PieceName]:
    """The same, but where two have one name after all, neither is known by it."""
    counts: dict[str, int] = {}
    for name in (name for one in named for name in (one.id, *one.aliases)):
        counts[name] = counts.get(name, 0) + 1
    apart, used = [], set[str]()
    for one in named:
        names = [name for name in (one.id, *one.aliases) if counts[name] == 1]
        best = names[0] if names and not names[0].startswith("#") else ""
        number = 1
        while not best or best in used:
            number += 1
            best = f"{one.id}+{number}" if f"{one.id}+{number}" not in used else ""
        used.add(best)
        apart.append(replace(one, id=best, aliases=tuple(name for name in names if name != best)))
    return apart


def keep_names(islands: Sequence[Island], before: Sequence[Island]) -> tuple[Island, ...]:
    """The islands of a later check with the names of those at the first, where they are mostly the same wood.

    Ties and cuts change what an island looks like, and how many there are of an element; what was chosen for it still
    counts. Of several that one has become, the largest keeps its name, and the others follow its choice.
    """
    if not islands or not before:
        return tuple(islands)
    origin = _origins(islands, before)
    taken = {name for island in before for name in island.names}
    heirs: dict[int, list[int]] = {}
    for index in sorted(range(len(islands)), key=lambda i: (-islands[i].area_mm2, point_on(islands[i].region))):
        heirs.setdefault(origin[index], []).append(index)
    kept = list(islands)
    for index in heirs.pop(-1, []):
        if taken.intersection(islands[index].names):
            # It isn't the piece that bore the name at first, so it must not have what was chosen for that one.
            name = f"{BARE_WORD}#{digest_of(islands[index].region)}"
            kept[index] = replace(islands[index], id=name, aliases=(), old_id="")
    for source, indices in heirs.items():
        for number, index in enumerate(indices, start=1):
            kept[index] = _heir(kept[index], before[source], number)
    return tuple(kept)


def _heir(island: Island, first: Island, number: int) -> Island:
    """An island that an earlier one has become, alone or among several."""
    name, more = (first.id, first.aliases) if number == 1 else (f"{first.id}+{number}", (first.id, *first.aliases))
    return replace(island, id=name, aliases=more, old_id=first.old_id, element=first.element)


def _origins(islands: Sequence[Island], before: Sequence[Island]) -> list[int]:
    """For each island the place of the earlier one that has more than half of it; -1 for none."""
    regions = np.array([island.region for island in islands], dtype=object)
    earlier = np.array([island.region for island in before], dtype=object)
    mine, theirs = STRtree(earlier).query(regions, predicate="intersects")
    shares = shapely.area(shapely.intersection(regions[mine], earlier[theirs]))
    origin = [-1] * len(islands)
    for index, source, share in zip(mine.tolist(), theirs.tolist(), shares.tolist(), strict=True):
        if share > islands[index].area_mm2 / 2:
            origin[index] = source
    return origin


def _old_ids(layer: Layer, regions: Sequence[Region], owners: Sequence[Shape | None]) -> list[str]:
    """The names that job files of earlier versions have: the layer, and the place of the element in it.

    An element's second piece was `garden#12b`, and so on from the top left.
    """
    place = {element: i for i, element in enumerate(dict.fromkeys(shape.element for shape in layer.shapes), start=1)}
    elements = [owner.element if owner else "" for owner in owners]
    found: dict[str, list[tuple[float, float, int]]] = {}
    for index, (region, element) in enumerate(zip(regions, elements, strict=True)):
        x, y = point_on(region)
        found.setdefault(element, []).append((y, x, index))
    old = [""] * len(regions)
    for element, pieces in found.items():
        for number, (_, _, index) in enumerate(sorted(pieces)):
            old[index] = f"{layer.name}#{place.get(element, 0)}{_suffix(number)}"
    return old


def _suffix(number: int) -> str:
    """Nothing for the first, then b, c, ... z, -27, -28, ..."""
    if number == 0:
        return ""
    return chr(ord("a") + number) if number < 26 else f"-{number + 1}"


def _owners(woods: Sequence[Shape], regions: Sequence[Region]) -> list[int]:
    """For each region the place of the shape that has most of it; -1 where none has any."""
    tree = STRtree([shape.geometry for shape in woods])
    owners = []
    for region in regions:
        near = np.sort(tree.query(region, predicate="intersects"))
        most = _most_shared(region, tree.geometries[near]) if len(near) else -1
        owners.append(int(near[most]) if most >= 0 else -1)
    return owners


def _most_shared(region: Region, shapes: NDArray[np.object_]) -> int:
    """Which of some shapes, (n,), shares most with a region; of equal ones the first, and -1 if all only touch it."""
    shared = shapely.area(shapes)
    whole = shapely.covers(prepared(region), shapes)
    # A shape that isn't larger than one that lies in the region as a whole can't share more.
    larger = ~whole & (shared > np.max(shared[whole], initial=0.0))
    shared[~whole] = 0.0
    shared[larger] = shapely.area(QuadtreeRegion(region).shared_with_each(shapes[larger]))
    most = int(np.argmax(shared))
    return most if shared[most] > 0 else -1


def is_known_as(island: Island, key: str) -> bool:
    """Whether a key of the job file means an island, if no better one does."""
    return any(key == name or (name.startswith("#") and key.endswith(name)) for name in island.names)


def digests_of(layer: Layer) -> dict[str, list[Polygon]]:
    """The parts of a layer's wood by their digests, such as `#k3f7q2m`."""
    found: dict[str, list[Polygon]] = {}
    _, parts = _all_parts(layer)
    for part, measures in zip(parts, measures_of(parts), strict=True):
        found.setdefault(f"#{as_letters(measures.tobytes())}", []).append(part)
    return found


def held_by(strips: Sequence[Region], islands: Sequence[Island]) -> list[str]:
    """For each tie the name of the island that it holds: of several the one that it touches most; empty for none."""
    regions = np.array([island.region for island in islands], dtype=object)
    grown = shapely.buffer(np.array(strips, dtype=object), GRID_MM)
    strip, island = STRtree(regions).query(grown, predicate="intersects")
    touched = shapely.area(shapely.intersection(grown[strip], regions[island]))
    held = [""] * len(strips)
    # The one that is touched most comes last, and of equal ones the first.
    for place in np.lexsort((-island, touched)):
        if touched[place] > 0:
            held[strip[place]] = islands[island[place]].id
    return held
