"""What was chosen for pieces, in sentences: what is done, what it costs, what came next, how to overrule it.

Enters: the layers and the choices. Leaves: findings. Holds: only what layercut chose is told; what the maker said
himself needs no word, but for a loose piece that is too small to handle.
"""

import json
from collections.abc import Iterator, Sequence

from layercut.findings import Finding, Severity
from layercut.geometry.regions import box_size, point_on
from layercut.model import Choice, LoosePiece, Price, StackLayer
from layercut.units import said_apart, said_mm, said_mm2, said_number, said_size

DONE = {
    "tie": "tied",
    "loose": "cut free, to be glued on",
    "behind": "painted behind",
    "out": "left out",
}
"""What is done about a piece, in words."""

AS_GOOD = 1e-6
"""What no other choice could undercut by this share is as good as it gets: rounding."""


def choice_findings(parts: Sequence[StackLayer], mm2: float, bound_mm2: float) -> Iterator[Finding]:
    """A word for each piece that layercut chose for, and one for all where a better choice might exist."""
    names = [part.name for part in parts]
    chosen = [(part.name, choice) for part in parts for choice in part.choices if choice.chosen and not choice.own]
    for layer, choice in chosen:
        if choice.price_mm2 is not None:
            yield _chosen(layer, choice, parts[choice.layer], names)
    if chosen and bound_mm2 < mm2 * (1 - AS_GOOD):
        message = (
            f"all choices together make {said_mm2(mm2)} of the picture wrong. Not every combination was tried, "
            f"and no other one can do with less than {said_mm2(bound_mm2)}."
        )
        yield Finding("chosen", "info", message, chosen[0][0])


def _chosen(layer: str, choice: Choice, part: StackLayer, names: Sequence[str]) -> Finding:
    width, height = box_size(choice.region)
    message = (
        f"{choice.id}, {said_size(width, height)} of wood that would fall out, is {_done(choice, part, names)}: "
        f"{_mm2(choice.price_mm2)} of what a viewer sees. {_otherwise(choice)}"
    )
    severity: Severity = "warning" if choice.chosen == "out" else "info"
    return Finding("chosen", severity, message, layer, choice.name, point_on(choice.region), (width, height))


def _done(choice: Choice, part: StackLayer, names: Sequence[str]) -> str:
    if choice.chosen == "behind":
        homes = [names[guest.home] for guest in part.given if guest.id == choice.id and guest.home is not None]
        return f"painted on {' and '.join(homes)} behind it" if homes else DONE["behind"]
    if choice.chosen == "tie":
        lengths = sorted(tie.length_mm for tie in part.ties if tie.holds == choice.id)
        if lengths:
            strips = "a strip" if len(lengths) == 1 else f"{len(lengths)} strips"
            *others, last = lengths
            long = " and ".join([*(said_number(length, ".1f") for length in others), said_mm(last, ".1f")])
            return f"tied by {strips} {long} long"
    return DONE[choice.chosen or "out"]


def _otherwise(choice: Choice) -> str:
    """The runner-up, and the line for the job file that takes it."""
    name = json.dumps(choice.id, ensure_ascii=False)
    best = choice.runner_up
    if best is None:
        return f'There is no other way; draw it otherwise, or refuse it: [islands.pieces] {name} = "refuse".'
    return f'Next best is {_way(best)}; to have that, write [islands.pieces] {name} = "{best.policy}".'


def _way(price: Price) -> str:
    return f"{DONE[price.policy]}, {_mm2(price.mm2)}"


def _mm2(value: float | None) -> str:
    return said_mm2(value or 0.0)


def small_findings(
    layer: str, pieces: Sequence[LoosePiece], choices: Sequence[Choice], least_mm: float
) -> Iterator[Finding]:
    """A warning for each piece that the maker wants loose although it is too small to handle, with its risers."""
    for piece in pieces:
        if piece.width_mm < least_mm and (piece.riser or _is_own(piece, choices)):
            what = "kept to carry a piece in front, is" if piece.riser else "is"
            wide, least = said_apart(piece.width_mm, ".1f", least_mm)
            message = (
                f"{piece.id} {what} {wide} across; limits.piece is {least}. It may "
                "fall through the bed: lay a plate under it, tie it, or paint it behind."
            )
            yield Finding("piece-small", "warning", message, layer, at_mm=piece.at_mm, size_mm=box_size(piece.region))


def _is_own(piece: LoosePiece, choices: Sequence[Choice]) -> bool:
    return any(choice.own for choice in choices if choice.id == piece.id)
