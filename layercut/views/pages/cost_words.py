"""What wood and machine cost, in words.

Enters: a finished build. Leaves: a line each, name and words; none where the job says no price.
"""

from collections.abc import Iterator

from layercut.model import Made
from layercut.views.durations import in_words
from layercut.views.pages.card_rows import machine_seconds


def cost_lines(build: Made) -> Iterator[tuple[str, str]]:
    """Wood, machine time and both together, as far as their prices are known."""
    cost, job = build.work.cost, build.job
    if cost is None:
        return
    money = cost.currency
    if job.material.price is not None:
        yield "Cost of wood", _wood(job.material.price.amount, build)
    if job.machine.rate is not None and cost.machine is not None:
        rate = money.told(job.machine.rate.amount)
        yield (
            "Cost of machine time",
            f"{money.told(cost.machine)}: {in_words(machine_seconds(build))} at {rate} an hour",
        )
    if cost.wood is not None and cost.machine is not None:
        yield "Cost together", f"{money.told(cost.total)}, an estimate; paint, glue and your own hours come on top"


def _wood(price: float, build: Made) -> str:
    cost = build.work.cost
    assert cost is not None
    each = cost.currency.told(price)
    if cost.boards is None or cost.wood is None:
        return f"{each} a board; how many it takes is known once the job says their size (material.stock_width)"
    return f"{cost.currency.told(cost.wood)}: {cost.boards} {'board' if cost.boards == 1 else 'boards'} at {each}"
