"""What the tests of the watch share: a small drawing with an island, and the command as a process of its own."""

import re
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

HARBOUR = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">
<g id="sky"><rect width="100" height="80" fill="#88aacc"/></g>
<g id="quay"><rect y="55" width="100" height="25" fill="#996644"/>
<circle id="buoy" cx="50" cy="25" r="8" fill="#cc3333"/></g>
</svg>
"""

JOB = """# The harbour, for the hall.
[material]
kerf = "0.15mm"  # measured on the birch

[islands]
policy = "refuse"  # not yet decided
"""


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    """A drawing whose layer `quay` holds one island, the circle `buoy`, and no job file."""
    path = tmp_path / "harbour.svg"
    path.write_text(HARBOUR)
    return path


@pytest.fixture
def job_text() -> str:
    """A job file with comments."""
    return JOB


class Running:
    """A watch that runs, the address of its page, and the files that it watches."""

    def __init__(self, drawing: Path, words: tuple[str, ...]) -> None:
        self.drawing, self.job = drawing, drawing.with_suffix(".toml")
        command = [sys.executable, "-m", "layercut", "watch", "--no-open", str(drawing), *words]
        self.process = subprocess.Popen(
            command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, encoding="utf-8"
        )
        assert self.process.stdout is not None
        self.address = self.process.stdout.readline().strip()
        found = re.fullmatch(r"http://127\.0\.0\.1:(\d+)/", self.address)
        assert found is not None, self.address
        self.port = int(found[1])

    def interrupt(self) -> int:
        """Ctrl-C; returns the exit code."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(20)

    def end(self) -> None:
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        self.process.communicate(timeout=20)


@pytest.fixture
def watching() -> Iterator[Callable[..., Running]]:
    """Starts `layercut watch` for a drawing; every one is ended after the test."""
    yield from _watches()


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """One watch for all tests of a module that change nothing."""
    drawing = tmp_path_factory.mktemp("shared") / "harbour.svg"
    drawing.write_text(HARBOUR)
    drawing.with_suffix(".toml").write_text(JOB)
    for start in _watches():
        yield start(drawing)


def _watches() -> Iterator[Callable[..., Running]]:
    running: list[Running] = []

    def start(drawing: Path, *words: str) -> Running:
        running.append(Running(drawing, words))
        return running[-1]

    yield start
    for one in running:
        one.end()
