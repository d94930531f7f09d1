"""Pipes, devices and files without end in the place of what a maker names: refused at once, never waited for.

Each is tried in a process of its own, which would hang or fill the memory otherwise.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from layercut.reading import NotPlainError, TooLargeError, read_plain

pytestmark = pytest.mark.skipif(os.name == "nt", reason="pipes and devices of POSIX")

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<g id="sky"><rect width="60" height="40" fill="#88aaff"/><text x="9" y="20" font-size="5">A</text></g></svg>"""

HANGS_S = 120
"""Only a process that hangs takes so long, however busy the machine."""

CORNERS = ["--corners", "0,0 9,0 9,9 0,9", "--size", "3ft x 3ft", "--scale", "1:10", "-o", "out.png"]


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "house.svg").write_text(DRAWING)
    os.mkfifo(tmp_path / "pipe.svg")
    (tmp_path / "endless.svg").symlink_to("/dev/zero")
    return tmp_path


@pytest.mark.parametrize(
    "words",
    [
        ["check", "STRANGE"],
        ["check", "house.svg", "--job", "STRANGE"],
        ["check", "house.svg", "--set", "paint.rack=STRANGE"],
        ["check", "house.svg", "--set", 'marks.fonts=["STRANGE"]'],
        ["compile", "STRANGE"],
        ["preview", "STRANGE", "-o", "out.png"],
        ["rectify", "STRANGE", *CORNERS],
        ["rectify", "house.svg", *CORNERS, "--drawing", "STRANGE"],
        ["coupon", "--measured", "49mm", "--write", "STRANGE"],
        ["watch", "STRANGE", "--no-open"],
    ],
    ids=["drawing", "job", "rack", "font", "compile", "preview", "photo", "paper", "coupon", "watch"],
)
def test_a_pipe_is_refused(words: list[str], place: Path) -> None:
    _is_refused([word.replace("STRANGE", "pipe.svg") for word in words], place)


@pytest.mark.parametrize("option", [["--job", "endless.svg"], ["--set", "paint.rack=endless.svg"]])
def test_a_device_is_refused(option: list[str], place: Path) -> None:
    _is_refused(["check", "house.svg", *option], place)


def _is_refused(words: list[str], place: Path) -> None:
    before = sorted(place.iterdir())
    done = subprocess.run(
        [sys.executable, "-m", "layercut", *words], cwd=place, capture_output=True, timeout=HANGS_S, check=False
    )
    assert done.returncode == 2, done.stderr
    assert b"Traceback" not in done.stderr
    assert sorted(place.iterdir()) == before


FOLLOW = """
import asyncio, json, sys
from pathlib import Path
from layercut.watching.choices import JobFile, view_lengths
from layercut.watching.file_watch import look
files = [Path(name) for name in sys.argv[1:]]
print(json.dumps([look(files).digest, view_lengths(JobFile(files[0]))[0].value]))
"""


@pytest.mark.parametrize("strange", ["pipe.svg", "endless.svg"])
def test_a_watch_is_not_blocked_by_what_takes_the_files_place(strange: str, place: Path) -> None:
    """What the server itself reads of a drawing and a job file at each save."""
    done = subprocess.run(
        [sys.executable, "-c", FOLLOW, strange, strange],
        cwd=place,
        capture_output=True,
        timeout=HANGS_S,
        check=True,
    )
    assert json.loads(done.stdout)[1] == "6.35mm"


def test_a_folder_of_pipes_verifies_as_one_without_files(place: Path) -> None:
    folder = place / "sheets"
    folder.mkdir()
    os.mkfifo(folder / "manifest.json")
    done = subprocess.run(
        [sys.executable, "-m", "layercut", "verify", folder], capture_output=True, timeout=HANGS_S, check=False
    )
    assert done.returncode == 2
    assert b"holds no manifest.json" in done.stderr


def test_a_file_is_read_to_the_bound(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"12345")
    assert read_plain(path, 5) == b"12345"
    with pytest.raises(TooLargeError):
        read_plain(path, 4)
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(NotPlainError):
        read_plain(tmp_path / "pipe", 4)
    with pytest.raises(IsADirectoryError):
        read_plain(tmp_path, 4)
    with pytest.raises(FileNotFoundError):
        read_plain(tmp_path / "b", 4)


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="no such file here")
def test_a_file_that_is_longer_than_it_says_is_read_to_the_bound() -> None:
    assert Path("/proc/self/status").stat().st_size == 0
    with pytest.raises(TooLargeError):
        read_plain(Path("/proc/self/status"), 10)
