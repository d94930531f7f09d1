"""What was chosen for pieces that would fall out, as the traveller lists it.

Enters: a `Build`. Leaves: rows, and what the prices are made of in words. Holds: every piece of the list is in the
manifest too; what the maker said himself is listed without a price.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass

from layercut.model import Choice, Planned
from layercut.units import Units, said_mm, said_number2

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
    after, units = choice.runner_up, build.job.units
    return ChoiceRow(
        name=choice.id,
        sheet=sheet,
        done=f"{done}, as the job says" if choice.own else done,
        price=_price(choice.price_mm2, units),
        after=f"{DONE[after.policy]}, {_price(after.mm2, units)}" if after else "",
        line=f'{json.dumps(choice.id, ensure_ascii=False)} = "{after.policy}"' if after else "",
    )


def _price(mm2: float | None, units: Units) -> str:
    return "" if mm2 is None else units.small_area(mm2, 1)


def price_words(build: Planned) -> str:
    """The weights of the prices, in one sentence; empty where nothing was weighed."""
    if not any(choice.ways for layer in build.stack.layers for choice in layer.choices):
        return ""
    prices, units = build.job.prices, build.job.units
    area, gluing = f"{units.name}²", units.told(said_number2(prices.gluing, "g"))
    # Of an inch of outline times a length in inches, as of a mm times a length in mm, comes an area.
    astray = units.told(said_mm(prices.astray, "g"))
    return (
        f"A price is in {area} of what a viewer sees wrong. A {area} of tie counts {prices.sky:g} over open ground "
        f"and {prices.blending:g} in the colour of what it crosses, {prices.along:g} of that along a line, "
        f"{prices.strange:g} times that in a colour of neither end, {prices.frame:g} times that at the frame, and "
        f"more by its length beyond three widths; a {area} painted behind {prices.flat:g} for each sheet of depth; a "
        f"{area} left out {prices.missing:g}; a glued piece {gluing}, and its outline times {astray}. [prices] in "
        "the job file sets them."
    )
