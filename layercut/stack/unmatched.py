"""Names in the job file that mean nothing in the drawing, or no longer what they meant.

Enters: the layers, the islands as drawn, the job. Leaves: findings. Holds: a choice that reaches no piece is told.
"""

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from layercut.findings import Finding, nearest_names
from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import as_region, union
from layercut.job import Job
from layercut.job_tables import IslandsJob
from layercut.model import Island, Layer
from layercut.stack.naming import digests_of, is_known_as, own_words

MOST_SHOWN = 5
"""So many pieces are named in one message."""

_WITH_DIGEST = re.compile(r"(.*)(#[a-z2-7]{7})")


@dataclass(frozen=True, slots=True)
class _KeyedIsland:
    """An island with its layer, and the key of the job file that decides about it, if any."""

    layer: str
    island: Island
    key: str | None


def unmatched_findings(layers: Sequence[Layer], found: Sequence[Sequence[Island]], job: Job) -> Iterator[Finding]:
    """All keys of the job file that name no layer or no piece; `found` holds the islands of each layer, as drawn."""
    names = [layer.name for layer in layers]
    yield from (_no_layer("layers", name, names) for name in job.layers if name not in names)
    yield from (_no_layer("islands.layers", name, names) for name in job.islands.layers if name not in names)
    pieces = [
        _KeyedIsland(layer.name, island, job.islands.choice_for(island.names))
        for layer, islands in zip(layers, found, strict=True)
        for island in islands
    ]
    by_key = {piece.key: piece for piece in pieces if piece.key is not None}
    for key in job.islands.pieces:
        if key not in by_key:
            yield _idle_choice(key, layers, pieces, job.islands)
        elif key == by_key[key].island.old_id:
            yield _old_name(by_key[key])


def _no_layer(table: str, name: str, names: Sequence[str]) -> Finding:
    message = f"[{table}] names {_quoted(name)}, but the drawing has no such layer. {nearest_names(name, names)}"
    return Finding("name-unmatched", "warning", message, element=name)


def _old_name(piece: _KeyedIsland) -> Finding:
    """A choice that counts by the place of its element in the layer."""
    island = piece.island
    message = (
        f"{_quoted(island.old_id)} is an old name: it counts the layer's elements, so with one more drawn before it, "
        f"it means another piece. Today it means {_quoted(island.id)}; write that under [islands.pieces] instead."
    )
    return Finding("name-old", "warning", message, piece.layer, island.element, island.at_mm)


def _idle_choice(key: str, layers: Sequence[Layer], pieces: Sequence[_KeyedIsland], islands: IslandsJob) -> Finding:
    """A choice that decides about no piece: its piece holds, or another key decides, or nothing is called so."""
    twin = next((piece for piece in pieces if is_known_as(piece.island, key)), None)
    if twin is not None:
        return _unmatched(
            key, islands, f"{_quoted(twin.key or '')} decides about the same piece. Take one of the two lines out."
        )
    drawn = _drawn(key, layers)
    if drawn is None:
        free = [piece.island.id for piece in pieces if piece.key is None]
        others = free or [piece.island.id for piece in pieces] or _all_names(layers)
        return _unmatched(key, islands, f"no piece is called so. {nearest_names(key, others, MOST_SHOWN)}".rstrip())
    touched = [piece.island.id for piece in pieces if _touches(piece, drawn)]
    if len(touched) == 1:
        return _unmatched(
            key, islands, f"what is called so belongs to the piece {_listed(touched)}. Write that instead."
        )
    if touched:
        return _unmatched(
            key, islands, f"it could mean {_listed(touched)}, so it means none. Write the one that you mean."
        )
    message = f"{_line(key, islands)} is not needed now: as drawn, what is called so hangs together with its sheet."
    return Finding("choice-idle", "info", message, element=key)


def _drawn(key: str, layers: Sequence[Layer]) -> dict[str, shapely.Geometry] | None:
    """By layer, what the drawing has of that name or of that digest; None where it has nothing."""
    split = _WITH_DIGEST.fullmatch(key)
    name = split[1] if split else key
    shapes = {
        layer.name: [shape.geometry for shape in layer.shapes if name in own_words(shape.called)] for layer in layers
    }
    if not any(shapes.values()) and split:
        shapes = {layer.name: digests_of(layer).get(split[2], []) for layer in layers}
    if not any(shapes.values()):
        return None
    return {layer: union(map(as_region, geometries)) for layer, geometries in shapes.items() if geometries}


def _touches(piece: _KeyedIsland, drawn: dict[str, shapely.Geometry]) -> bool:
    mine = drawn.get(piece.layer)
    return mine is not None and shapely.intersection(piece.island.region, mine).area > AREA_MM2


def _all_names(layers: Sequence[Layer]) -> list[str]:
    return list(dict.fromkeys(name for layer in layers for shape in layer.shapes for name in own_words(shape.called)))


def _unmatched(key: str, islands: IslandsJob, why: str) -> Finding:
    return Finding("name-unmatched", "warning", f"{_line(key, islands)}: {why}", element=key)


def _line(key: str, islands: IslandsJob) -> str:
    return f"[islands.pieces] {_quoted(key)} = {_quoted(islands.pieces[key])}"


def _quoted(name: str) -> str:
    return json.dumps(name, ensure_ascii=False)  # as TOML writes it


def _listed(names: Sequence[str]) -> str:
    shown = [_quoted(name) for name in names[:MOST_SHOWN]]
    more = [f"{len(names) - MOST_SHOWN} more"] if len(names) > MOST_SHOWN else []
    *first, last = [*shown, *more]
    return f"{', '.join(first)} and {last}" if first else last
