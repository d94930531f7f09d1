"""What was chosen for pieces that would fall out, as the traveller lists it.

Enters: a `Build`. Leaves: rows, and what the prices are made of in words. Holds: every piece of the list is in the
manifest too; what the maker said himself is listed without a price.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass

from layercut.model import Choice, Planned

MOST_ROWS = 60
"""So many pieces are listed; the rest are in manifest.json."""

DONE = {"tie": "tied", "loose": "cut free, glued on", "behind": "painted behind", "out": "left out"}
"""What is done about a piece, in words."""


@dataclass(frozen=True, slots=True)
class ChoiceRow:
    """A piece as the page lists it: what is done, what that costs, what came next, the line that overrules it."""

    name: str
    sheet: str
    done: str
    price: str
    after: str
    line: str


def choice_rows(build: Planned) -> tuple[ChoiceRow, ...]:
    """The pieces that something is done about, from the back sheet forwards, the dearest of a sheet first."""
    return tuple(_rows(build))[:MOST_ROWS]


def more_choices(build: Planned) -> int:
    """How many pieces the list leaves out."""
    return max(sum(1 for _ in _rows(build)) - MOST_ROWS, 0)


def _rows(build: Planned) -> Iterator[ChoiceRow]:
    for layer in build.stack.layers:
        made = [choice for choice in layer.choices if choice.chosen is not None]
        for choice in sorted(made, key=lambda choice: -(choice.price_mm2 or 0.0)):
            yield _row(choice, layer.name, build)


def _row(choice: Choice, sheet: str, build: Planned) -> ChoiceRow:
    done = DONE[choice.chosen or "out"]
    layers = build.stack.layers
    homes = [one.home for one in layers[choice.layer].given if one.id == choice.id and one.home is not None]
    if homes:
        done = f"painted on {' and '.join(layers[home].name for home in homes)}"
    after = choice.runner_up
    return ChoiceRow(
        name=choice.id,
        sheet=sheet,
        done=f"{done}, as the job says" if choice.own else done,
        price=_mm2(choice.price_mm2),
        after=f"{DONE[after.policy]}, {_mm2(after.mm2)}" if after else "",
        line=f'{json.dumps(choice.id, ensure_ascii=False)} = "{after.policy}"' if after else "",
    )


def _mm2(value: float | None) -> str:
    return "" if value is None else f"{value:.1f} mm²"


def price_words(build: Planned) -> str:
    """The weights of the prices, in one sentence; empty where nothing was weighed."""
    if not any(choice.ways for layer in build.stack.layers for choice in layer.choices):
        return ""
    prices = build.job.prices
    return (
        f"A price is in mm² of what a viewer sees wrong. A mm² of tie counts {prices.sky:g} over open ground and "
        f"{prices.blending:g} in the colour of what it crosses, {prices.along:g} of that along a line, "
        f"{prices.strange:g} times that in a colour of neither end, {prices.frame:g} times that at the frame, and "
        f"more by its length beyond three widths; a mm² painted behind {prices.flat:g} for each sheet of depth; a "
        f"mm² left out {prices.missing:g}; a glued piece {prices.gluing:g}, and its outline times {prices.astray:g} "
        "mm. [prices] in the job file sets them."
    )
