"""Each folder in tests/cases/ is a drawing, maybe a job, and the manifest that it must give.

`pytest tests/test_cases.py --update-gold` writes the manifests anew; read the difference before committing it.
"""

import json
from pathlib import Path

import pytest

from layercut import compile_drawing, load_job
from layercut.output.manifest import manifest_text

CASES = sorted(path.parent for path in (Path(__file__).parent / "cases").glob("*/drawing.svg"))


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.name)
def test_case_gives_its_manifest(case: Path, update_gold: bool) -> None:
    job_file = case / "job.toml"
    build = compile_drawing(case / "drawing.svg", load_job(job_file if job_file.exists() else None))
    text = manifest_text(build)
    expected = case / "expected.json"
    if update_gold:
        expected.write_text(text, encoding="utf-8")
    assert json.loads(text) == json.loads(expected.read_text(encoding="utf-8"))


def test_there_are_cases() -> None:
    assert len(CASES) >= 6
