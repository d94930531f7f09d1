"""What a verdict means for a run: a blemish that is only told, a piece too fine to be cut free, or a proof that
fails.

Enters: a `Verdict` and the names of its sheets. Leaves: findings for the maker, and the problem for which nothing may
be written. Holds: `layercut verify` weighs nothing; whatever differs from what a folder says is told there.
"""

from collections.abc import Mapping

from layercut.errors import InternalError
from layercut.findings import Finding
from layercut.proof.failures import ProofFailure, Verdict
from layercut.units import said_mm2, said_place

BLEMISH_MM2 = 1.0
"""So much of the picture may show wrong at one place, mm2, before nothing is written: a scratch, not a fault of the
piece. It is told all the same, in the manifest, on the traveller and by `layercut verify`."""

CRUMB_MM2 = 0.1
"""A piece smaller than this that comes loose is dust, not wood that falls out, mm2."""

FINE_MM2 = 0.25
"""A loose piece smaller than this, mm2, may be too fine for the beam: what it lies in closes up around it."""


def unparted_pieces(verdict: Verdict, names: Mapping[str, str]) -> tuple[Finding, ...]:
    """A finding for each piece that was to be cut free and is too fine for that; only the proof can tell.

    `names` are the sheets' names by their files.
    """
    return tuple(
        Finding(
            "island",
            "error",
            f"a piece of {said_mm2(problem.size, '.2f')} can't be cut free: the gaps around it are narrower than the "
            "beam. Draw it larger, tie it, or leave it out.",
            names[problem.file],
            at_mm=problem.at_mm,
        )
        for problem in verdict.failures
        if problem.code == "piece-missing" and problem.size is not None and problem.size < FINE_MM2
    )


def require_proof(verdict: Verdict, drawing: str) -> None:
    """The law that every run checks: what the files make is what was planned, but for blemishes.

    `drawing` is the drawing's file, for the message. Raises InternalError with the first problem.
    """
    problems = [problem for problem in verdict.failures if not _is_blemish(problem)]
    if not problems:
        return
    first, *rest = problems
    place = f" at {said_place(*first.at_mm, 'g')}" if first.at_mm else ""
    more = f" ({len(rest)} more like it)" if rest else ""
    raise InternalError(
        "proof-failed",
        f"nothing was written, because {first.file}{place} {first.text.rstrip('.')}{more}.",
        "Please report it with the drawing.",
        file=drawing,
    )


def _is_blemish(problem: ProofFailure) -> bool:
    limits = {"picture-differs": BLEMISH_MM2, "piece-loose": CRUMB_MM2}
    return problem.code in limits and problem.size is not None and problem.size <= limits[problem.code]
