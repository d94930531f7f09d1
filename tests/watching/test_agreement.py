"""The watch page and `layercut compile` say the same of every known-bad drawing and of every problem of a proof."""

from collections.abc import Callable
from pathlib import Path

import pytest

import layercut.pipeline
from layercut import LayercutError, compile_drawing, load_job
from layercut.model import Made
from layercut.proof.failures import FAILURES, ProofFailure, Verdict
from layercut.watching.messages import Broken, CompileRequest, Concluded, Event, News, SheetsKnown, StackKnown
from layercut.watching.view_model import SHOWN_FINDINGS
from layercut.watching.worker import carry_out

TESTS = Path(__file__).parents[1]
BAD = sorted((TESTS / "bad_drawings").glob("*.svg"))
FRONT = "sheets/02-quay.svg"
SIZES = (None, 0.02, 0.2, 3.0)


def said_by_compile(drawing: Path, settings: tuple[str, ...] = ()) -> tuple[bool, object]:
    """Whether it can be made, and the error's sentence, or the findings."""
    job = drawing.with_suffix(".toml")
    try:
        build = compile_drawing(drawing, load_job(job if job.exists() else None, settings))
    except LayercutError as error:
        return False, error.sentence()
    told = [(finding.code, finding.severity, finding.message, finding.at_mm) for finding in build.findings]
    return isinstance(build, Made), told[:SHOWN_FINDINGS]


def said_by_the_page(drawing: Path, settings: tuple[str, ...] = ()) -> tuple[bool, object]:
    """The same of the last that the page is told."""
    job = drawing.with_suffix(".toml")
    heard: list[Event] = []
    carry_out(CompileRequest(1, drawing, job if job.exists() else None, settings), heard.append)
    last: News = [one.news for one in heard if isinstance(one.news, StackKnown | SheetsKnown | Concluded | Broken)][
        -1
    ]
    if isinstance(last, Broken):
        return False, last.sentence
    assert isinstance(last, StackKnown | Concluded)
    told = [(finding.code, finding.severity, finding.message, finding.at) for finding in last.findings.listed]
    return last.outcome.startswith("It can be made"), told


def done_once(stage: Callable[..., object]) -> Callable[..., object]:
    """A stage that gives what it gave the first time."""
    given: list[object] = []

    def again(*arguments: object) -> object:
        if not given:
            given.append(stage(*arguments))
        return given[0]

    return again


@pytest.mark.parametrize("drawing", BAD, ids=lambda path: path.stem)
def test_of_every_known_bad_drawing(drawing: Path) -> None:
    assert said_by_the_page(drawing) == said_by_compile(drawing)


@pytest.mark.parametrize("units", ["in", "mm"])
@pytest.mark.parametrize("setting", ["panel.frame=90mm", "machine.bed_width=10mm", "hanging.screw=200mm"])
def test_of_a_job_that_does_not_go_with_the_drawing(setting: str, units: str) -> None:
    """In the units of the job, wherever it comes to light."""
    settings = (setting, f"page.units={units}")
    made, sentence = said_by_the_page(TESTS / "bad_drawings" / "slip.svg", settings)
    assert (made, sentence) == said_by_compile(TESTS / "bad_drawings" / "slip.svg", settings)
    assert f" {units}" in str(sentence)
    assert (" mm" in str(sentence)) == (units == "mm")


@pytest.mark.parametrize("size", SIZES)
def test_of_every_problem_of_a_proof(size: float | None, drawing: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A drawing that can be made, as if its proof had found each problem, small and large. All that comes before the
    proof is the same each time, so it is done once."""
    for stage in ("plan_drawing", "cut_stack", "plan_work"):
        monkeypatch.setattr(layercut.pipeline, stage, done_once(getattr(layercut.pipeline, stage)))
    found: list[Verdict] = []
    monkeypatch.setattr(layercut.pipeline, "check_sheets", lambda _texts, _plan: found[-1])
    said = set()
    for code in FAILURES:
        found.append(Verdict((), (ProofFailure(code, "is wrong.", FRONT, (12.0, 34.0), size),), 0.0, 0))
        compiled = said_by_compile(drawing)
        assert said_by_the_page(drawing) == compiled
        said.add(compiled[0])
    # Dust and scratches can be made; whatever is larger, or has no size, can't.
    assert said == ({True, False} if size in (0.02, 0.2) else {False})
