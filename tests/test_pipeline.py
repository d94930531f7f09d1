"""What a run makes of the proof: dust is told, what is too fine is the drawing's fault, all else our own."""

from pathlib import Path

import pytest

import layercut.pipeline
from layercut import compile_drawing, load_job
from layercut.errors import InternalError
from layercut.model import Build, Cut, Made
from layercut.proof.failures import ProofFailure, Verdict

GARDEN = Path(__file__).parents[1] / "samples" / "garden" / "garden.svg"
FRONT = "sheets/03-roses.svg"


def compiled_with(problem: ProofFailure, monkeypatch: pytest.MonkeyPatch) -> Build:
    """The garden, loose, as if the proof had found a problem."""
    verdict = Verdict((), (problem,), 0.0, 0)
    monkeypatch.setattr(layercut.pipeline, "check_sheets", lambda _texts, _plan: verdict)
    return compile_drawing(GARDEN, load_job(None, ["islands.policy=loose"]))


def test_a_piece_too_fine_to_be_parted_is_a_finding(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = ProofFailure("piece-missing", "doesn't let roses#1 come loose.", FRONT, (12.0, 34.0), 0.09)
    build = compiled_with(problem, monkeypatch)
    assert not build.makeable
    assert not isinstance(build, Cut)
    (error,) = [finding for finding in build.findings if finding.severity == "error"]
    assert (error.code, error.layer, error.at_mm) == ("island", "roses", (12.0, 34.0))
    assert "0.09 mm²" in error.message


@pytest.mark.parametrize(
    "problem",
    [
        ProofFailure("piece-missing", "doesn't let roses#1 come loose.", FRONT, (12.0, 34.0), 30.0),
        ProofFailure("picture-differs", "lacks 3 mm2 of wood that should be seen.", FRONT, (12.0, 34.0), 3.0),
        ProofFailure("order-roles", "burns cut-outline, mark-line, in that order.", FRONT),
    ],
    ids=lambda problem: problem.code,
)
def test_any_other_problem_is_a_fault_of_our_own(problem: ProofFailure, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(InternalError) as caught:
        compiled_with(problem, monkeypatch)
    assert caught.value.code == "proof-failed"


def test_dust_is_told_and_no_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    build = compiled_with(ProofFailure("piece-loose", "lets dust come loose.", FRONT, (1.0, 2.0), 0.02), monkeypatch)
    assert isinstance(build, Made)
    assert len(build.sheets) == 3
