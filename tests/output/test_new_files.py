"""Files that `start` and `coupon` write: whole or not at all, and never over another."""

import errno
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from layercut.errors import OutputError
from layercut.output.new_files import write_new


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_all_or_none(tmp_path: Path) -> None:
    write_new({tmp_path / "a": b"1", tmp_path / "b": b"2"})
    assert (tmp_path / "a").read_bytes() + (tmp_path / "b").read_bytes() == b"12"
    with pytest.raises(OutputError, match="there already"):
        write_new({tmp_path / "c": b"3", tmp_path / "b": b"4"})
    assert (tmp_path / "b").read_bytes() == b"2"
    assert names(tmp_path) == ["a", "b"]


def test_a_new_file_has_the_rights_of_any_other(tmp_path: Path) -> None:
    (tmp_path / "other").write_text("x")
    write_new({tmp_path / "a": b"1"})
    assert (tmp_path / "a").stat().st_mode == (tmp_path / "other").stat().st_mode


def test_on_a_disk_without_second_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuse)
    write_new({tmp_path / "a": b"1"})
    assert (tmp_path / "a").read_bytes() == b"1"
    with pytest.raises(OutputError, match="there already"):
        write_new({tmp_path / "b": b"1", tmp_path / "a": b"2"})
    assert (tmp_path / "a").read_bytes() == b"1"
    assert names(tmp_path) == ["a"]


KILLED = """
import sys
from pathlib import Path
from layercut.output.new_files import write_new
plain = Path.write_bytes
def slow(path, data):
    with path.open("wb") as stream:
        stream.write(data[:5])
        stream.flush()
        print("begun", flush=True)
        sys.stdin.readline()
Path.write_bytes = slow
write_new({Path("house.svg"): b"0123456789"})
"""


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_a_run_that_is_killed_midway_leaves_no_part_of_a_file(tmp_path: Path) -> None:
    words = [sys.executable, "-c", KILLED]
    root = str(Path(__file__).parents[2])
    with subprocess.Popen(
        words, cwd=tmp_path, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": root}
    ) as running:
        assert running.stdout is not None
        assert running.stdout.readline() == b"begun\n"
        running.send_signal(signal.SIGKILL)
    assert not (tmp_path / "house.svg").exists()
    write_new({tmp_path / "house.svg": b"whole"})  # and the name is free


def test_of_two_runs_at_once_one_finds_it_taken(tmp_path: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from layercut.output.new_files import write_new\n"
        "print('ready', flush=True)\n"
        "sys.stdin.readline()\n"
        "try: write_new({Path('a'): sys.argv[1].encode() * 100000}); print('won')\n"
        "except Exception as error: print(type(error).__name__)\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    runs = [
        subprocess.Popen(
            [sys.executable, "-c", code, letter],
            cwd=tmp_path,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=environment,
        )
        for letter in "xy"
    ]
    for run in runs:
        assert run.stdout is not None
        assert run.stdout.readline() == b"ready\n"
    for run in runs:
        assert run.stdin is not None
        run.stdin.write(b"go\n")
        run.stdin.flush()
    told = [run.communicate()[0].decode().strip() for run in runs]
    assert sorted(told) == ["OutputError", "won"]
    winner = "xy"[told.index("won")]
    assert (tmp_path / "a").read_text() == winner * 100000
