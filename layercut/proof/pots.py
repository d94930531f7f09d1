"""Whether the colours that share a pot are as near to each other as the job and the manifest say.

Enters: the plan. Leaves: problems. Differences are reckoned by an independent library, not by the code that planned.
"""

from collections.abc import Iterator

from layercut.proof.failures import ProofFailure
from layercut.proof.ledger import NAME
from layercut.proof.plan import Plan, PlannedMerge

DIGITS = 0.02
"""Differences agree to this: they are told with two decimals, and sRGB's primaries have various digits in print."""


def check_pots(plan: Plan) -> Iterator[ProofFailure]:
    """Each colour that another stands for, whether it differs as it is said to, and by no more than it may.

    Where the job counts its pots, colours may be as far as that makes them; what is said is held against what is.
    """
    if not plan.merges:
        return
    into = {merge.into for merge in plan.merges}
    if chained := sorted(merge.colour for merge in plan.merges if merge.colour in into):
        yield _failure(f"paints {chained[0]} as another colour, and others as {chained[0]}.")
    if plan.most_pots is not None and len(into) > plan.most_pots:
        yield _failure(f"shares {len(into)} pots, where the job has {plan.most_pots}.")
    for merge in plan.merges:
        found = _difference(merge)
        what = f"paints {merge.colour} as {merge.into}, which differs by {found:.2f} (CIEDE2000)"
        if abs(found - merge.difference) > DIGITS:
            yield _failure(f"{what}, where {merge.difference:.2f} is said.")
        elif plan.most_pots is None and found > plan.merge_limit + DIGITS:
            yield _failure(f"{what}, where {plan.merge_limit:g} may be.")


def _failure(message: str) -> ProofFailure:
    return ProofFailure("pots-differ", message, NAME)


def _difference(merge: PlannedMerge) -> float:
    """CIEDE2000 of a colour and the one that stands for it (Sharma, Wu and Dalal 2005), by coloraide."""
    from coloraide import Color  # noqa: PLC0415 - a tenth of a second, only where pots are shared

    return float(Color(merge.colour).delta_e(Color(merge.into), method="2000"))
