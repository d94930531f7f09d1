"""Imports point one way, as pyproject.toml's contracts say, and nothing heavy is imported to show the help."""

import subprocess
import sys
from pathlib import Path

import pytest
from importlinter.cli import lint_imports

ROOT = Path(__file__).parents[1]


def test_imports_point_one_way(capsys: pytest.CaptureFixture[str]) -> None:
    code = lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)
    assert code == 0, capsys.readouterr().out


def test_the_commands_import_nothing_heavy_before_they_run() -> None:
    heavy = {"shapely", "numpy", "lxml", "pydantic", "networkx", "jinja2", "rich", "svgelements"}
    words = f"import sys, layercut.cli; print(sorted({heavy!r} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", words], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
