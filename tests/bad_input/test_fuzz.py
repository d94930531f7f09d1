"""The fuzz targets of tests/bench/fuzz.py run, and their first seeds find nothing."""

import importlib.util
from pathlib import Path
from random import Random
from types import ModuleType

import pytest
from fuzz_drawings import make_drawing, read_corpus


def load_fuzz() -> ModuleType:
    path = Path(__file__).parents[1] / "bench" / "fuzz.py"
    spec = importlib.util.spec_from_file_location("bench_fuzz", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


FUZZ = load_fuzz()
CORPUS = read_corpus()


@pytest.mark.parametrize(("target", "count"), [("reader", 150), ("compile", 20)])
def test_first_seeds(target: str, count: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # The memory of this process is that of all tests before; the command measures each drawing's own.
    monkeypatch.setattr(FUZZ, "MEGABYTES", 1e9)
    tried = {seed: FUZZ.try_seed(target, seed, CORPUS, tmp_path) for seed in range(count)}
    assert {seed: problem for seed, (_, problem) in tried.items() if problem} == {}
    outcomes = {came for came, _ in tried.values()}
    assert outcomes & {"read", "read with findings", "made"}
    assert any(came.startswith("refused") for came in outcomes)


def test_a_failure_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_path: Path, _chance: Random) -> str:
        raise ZeroDivisionError("by zero")

    monkeypatch.setitem(FUZZ.TARGETS, "reader", broken)
    came, problem = FUZZ.try_seed("reader", 1, CORPUS, tmp_path)
    assert came == "failed"
    assert problem.startswith("ZeroDivisionError: by zero (test_fuzz.py:")


def test_a_seed_is_always_the_same_drawing() -> None:
    drawings = [make_drawing(Random(f"reader {seed}"), CORPUS) for seed in range(50)]
    assert drawings == [make_drawing(Random(f"reader {seed}"), CORPUS) for seed in range(50)]
    assert len(set(drawings)) == 50
