"""What wood and machine cost, as far as the job says their prices.

Enters: the job, the boards if there are any, and the times. Leaves: a `Cost`, None where the job says no price. It is
arithmetic on estimates: boards times price, hours times rate.
"""

from layercut.job import Job
from layercut.model import Boards
from layercut.workplan import Cost, TimePlan

SECONDS_PER_HOUR = 3600


def plan_cost(job: Job, boards: Boards | None, times: TimePlan) -> Cost | None:
    """The cost of a job; the wood's is unknown while no boards are laid out. None where the job says no price."""
    price, rate = job.material.price, job.machine.rate
    currency = price or rate
    if currency is None:
        return None
    seconds = times.total.total_s if boards is None else sum(one.total_s for one in boards.times)
    count = None if boards is None else len(boards.plan.boards)
    return Cost(
        currency=currency,
        boards=count,
        wood=price.amount * count if price and count is not None else None,
        seconds=seconds,
        machine=rate.amount * seconds / SECONDS_PER_HOUR if rate else None,
    )
