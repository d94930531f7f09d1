"""An honest folder, and copies of it to tamper with."""

import shutil
from pathlib import Path

import pytest
from slips import Honest, compile_garden


@pytest.fixture(scope="session")
def honest(tmp_path_factory: pytest.TempPathFactory) -> Honest:
    """A compiled drawing with everything that a folder can hold."""
    return compile_garden(tmp_path_factory.mktemp("garden"))


@pytest.fixture
def folder(honest: Honest, tmp_path: Path) -> Path:
    """A copy to tamper with."""
    return Path(shutil.copytree(honest.folder, tmp_path / "garden"))
