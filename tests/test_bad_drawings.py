"""Every finding code has a known-bad drawing that shows it, named by the code: tests/bad_drawings/CODE.svg.

A second one for the same code may carry a suffix, `CODE.more.svg`; a job of the same stem goes with it.
"""

from pathlib import Path

import pytest

from layercut import check_drawing, load_job
from layercut.findings import CODES

DRAWINGS = sorted((Path(__file__).parent / "bad_drawings").glob("*.svg"))


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_bad_drawing_reports_its_code(path: Path) -> None:
    job_file = path.with_suffix(".toml")
    findings = check_drawing(path, load_job(job_file if job_file.exists() else None))
    code = path.name.split(".")[0]
    mine = [finding for finding in findings if finding.code == code]
    assert mine, [finding.code for finding in findings]
    for finding in mine:
        assert finding.message.rstrip().endswith((".", "!"))
        assert finding.layer or finding.element


@pytest.mark.parametrize("code", sorted(CODES))
def test_every_code_has_a_bad_drawing(code: str) -> None:
    assert any(path.name.split(".")[0] == code for path in DRAWINGS), f"tests/bad_drawings/{code}.svg is missing"
