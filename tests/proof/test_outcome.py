"""What a compile makes of its proof: blemishes pass, a piece too fine is a finding, all else is a fault of ours."""

import pytest

from layercut.errors import InternalError
from layercut.proof.failures import FAILURES, ProofFailure, Verdict
from layercut.proof.outcome import BLEMISH_MM2, CRUMB_MM2, FINE_MM2, require_proof, unparted_pieces

FILE = "sheets/02-hill.svg"


def verdict_of(*failures: ProofFailure) -> Verdict:
    return Verdict((), failures, 0.0, 0)


def test_nothing_wrong_passes() -> None:
    require_proof(verdict_of(), "house.svg")


@pytest.mark.parametrize(("code", "most"), [("picture-differs", BLEMISH_MM2), ("piece-loose", CRUMB_MM2)])
def test_a_blemish_passes_and_what_is_larger_or_unmeasured_does_not(code: str, most: float) -> None:
    require_proof(verdict_of(ProofFailure(code, "is wrong.", FILE, size=most)), "house.svg")
    for size in (most * 1.001, None):
        with pytest.raises(InternalError):
            require_proof(verdict_of(ProofFailure(code, "is wrong.", FILE, size=size)), "house.svg")


@pytest.mark.parametrize("code", sorted({*FAILURES} - {"picture-differs", "piece-loose"}))
def test_no_other_problem_is_small_enough(code: str) -> None:
    with pytest.raises(InternalError):
        require_proof(verdict_of(ProofFailure(code, "is wrong.", FILE, size=0.0)), "house.svg")


def test_the_first_problem_that_counts_is_told_with_its_place_and_how_many_follow() -> None:
    dust = ProofFailure("picture-differs", "is dusty.", FILE, (1.0, 1.0), 0.1)
    wrong = ProofFailure("mark-in-air", "runs on.", FILE, (12.5, 3.0), 9.0)
    with pytest.raises(InternalError) as caught:
        require_proof(verdict_of(dust, wrong, wrong), "house.svg")
    assert caught.value.code == "proof-failed"
    assert f"{FILE} at 12.5, 3 mm runs on (1 more like it)" in caught.value.sentence()


def test_a_piece_too_fine_to_be_cut_free_is_the_drawing_s_matter() -> None:
    fine = ProofFailure("piece-missing", "doesn't come loose.", FILE, (5.0, 6.0), FINE_MM2 * 0.9)
    large = ProofFailure("piece-missing", "doesn't come loose.", FILE, (5.0, 6.0), FINE_MM2)
    (finding,) = unparted_pieces(verdict_of(fine, large), {FILE: "hill"})
    assert (finding.code, finding.severity, finding.layer, finding.at_mm) == ("island", "error", "hill", (5.0, 6.0))
