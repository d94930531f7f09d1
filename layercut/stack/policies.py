"""What the job leaves to an island: the questions that several steps ask of its policy, each asked in one way.

Enters: the job's section on islands, a layer, an island. Leaves: policies and ways out.
"""

from layercut.job_tables import IslandsJob, LimitsJob
from layercut.job_values import PiecePolicy
from layercut.model import Island, Layer, WayOut

ALL_WAYS: tuple[WayOut, ...] = ("tie", "loose", "behind", "out")

LEAVING: tuple[WayOut, ...] = ("behind", "out")
"""The ways out by which a piece leaves its sheet."""

LEAST_TIE_MM = 1.5
"""Width of a tie where the job sets neither a width nor a limit, mm: what the limit is unless the job changes it."""


def policy_of(islands: IslandsJob, layer: Layer, island: Island) -> PiecePolicy:
    """The policy of an island: its own, else its layer's, else the job's."""
    return islands.policy_for(layer.name, island.names)


def is_left_to_us(islands: IslandsJob, layer: Layer, island: Island) -> bool:
    """Whether the job leaves it to layercut what is done about an island."""
    return policy_of(islands, layer, island) == "auto"


def may_be_tied(islands: IslandsJob, layer: Layer, island: Island) -> bool:
    """Whether strips are searched for an island: it is to be tied, or may be."""
    return "tie" in allowed_ways(islands, layer, island)


def allowed_ways(islands: IslandsJob, layer: Layer, island: Island) -> tuple[WayOut, ...]:
    """The ways that the job leaves to an island: all under `auto`, none under `refuse`, else the one it says."""
    policy = policy_of(islands, layer, island)
    if policy == "auto":
        return ALL_WAYS
    return () if policy == "refuse" else (policy,)


def sheets_depend_on_each_other(islands: IslandsJob) -> bool:
    """Whether any policy may change the sheets behind an island's own: visible ties cover what lies behind them, and
    what leaves its sheet opens or paints those. Pieces that nothing is decided about yet change none."""
    policies = {islands.policy, *islands.pieces.values(), *(layer.policy for layer in islands.layers.values())}
    return not policies <= {"auto", "refuse", "loose"}


def tie_width_mm(islands: IslandsJob, limits: LimitsJob) -> float:
    """How wide ties are, mm: never narrower than wood must be that carries something."""
    return max(islands.tie_width or 0.0, limits.neck) or LEAST_TIE_MM
