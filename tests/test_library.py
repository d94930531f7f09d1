"""The front door: its page's example runs as it is printed, and its names are what they say."""

import importlib
import re
import subprocess
import sys
from pathlib import Path

import pytest

import layercut
from layercut.errors import OutputError

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "docs" / "library.md").read_text(encoding="utf-8")
HARBOUR = ROOT / "samples" / "harbour" / "harbour.svg"


UNTOLD = {"check_folder", "check_picture", "manifest_text", "verdict_text", "write_folder"}
"""Functions that the page needn't name: parts of others that it does."""


def functions() -> set[str]:
    return {name for name in layercut.__all__ if name[0].islower()}


def test_the_example_of_its_page_runs(tmp_path: Path) -> None:
    (example,) = re.findall(r"```python\n(.*?)```", PAGE, re.DOTALL)
    job = HARBOUR.with_suffix(".toml")
    paths = f"from pathlib import Path\nDRAWING, JOB = Path({str(HARBOUR)!r}), Path({str(job)!r})\n"
    done = subprocess.run(
        [sys.executable, "-c", paths + example], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert re.search(r"^\d+ sheets, \d+ minutes$", done.stdout, re.MULTILINE)
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {"house.svg", "house.toml", "coupon.svg", "sheets", "apart.png"}
    assert 'kerf = "0.180mm"' in (tmp_path / "house.toml").read_text(encoding="utf-8")


def test_every_name_is_there_and_the_page_has_every_function() -> None:
    for name in layercut.__all__:
        assert getattr(layercut, name) is not None
    table = PAGE[PAGE.index("| function") :].partition("\n\n")[0]
    told = set(re.findall(r"`([a-z_]+)(?:\([^`]*\))?`", table))
    assert functions() - UNTOLD <= told


def test_the_package_imports_nothing_until_it_is_asked() -> None:
    words = "import sys, layercut; print([m for m in sys.modules if m.startswith('layercut.')])"
    done = subprocess.run([sys.executable, "-c", words], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_name_that_is_none_is_told() -> None:
    with pytest.raises(AttributeError, match="no attribute 'compile_drawings'"):
        importlib.import_module("layercut").compile_drawings  # noqa: B018


def test_a_starter_drawing_is_written_over_only_if_nobody_changed_it(tmp_path: Path) -> None:
    plan = layercut.plan_start("mill", layercut.describe_house(layercut.Measure(9000.0)), (200.0, 150.0))
    started = layercut.write_start(plan, tmp_path, "mill")
    layercut.write_start(plan, tmp_path, "mill")
    started.drawing.write_text(started.drawing.read_text() + "<!-- mine -->")
    with pytest.raises(OutputError) as caught:
        layercut.write_start(plan, tmp_path, "mill")
    assert caught.value.code == "file-exists"
    layercut.write_start(plan, tmp_path, "mill", force=True)
