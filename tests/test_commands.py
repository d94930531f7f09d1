"""The commands for real: the stages behind them, and as a process with real streams."""

import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest

import layercut.cli.compile
import layercut.output.contents
from layercut.cli import main

ROOT = Path(__file__).parents[1]
SCHEMA = json.loads((ROOT / "docs" / "manifest.schema.json").read_text())

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    return tmp_path / "house.svg"


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*words: object) -> tuple[int, str, str]:
        code = main([str(word) for word in words])
        return (code, *capsys.readouterr())

    return call


# --- as a process of its own


def process(*words: str | bytes, **options: object) -> subprocess.CompletedProcess[bytes]:
    settings = {"cwd": ROOT, "capture_output": True, "timeout": 60, **options}
    return subprocess.run([sys.executable, "-m", "layercut", *words], check=False, **settings)  # type: ignore[call-overload]


def test_as_a_process_the_exit_code_is_mains() -> None:
    done = process("check")
    assert done.returncode == 2
    assert done.stdout == b""
    assert done.stderr.startswith(b"layercut: Missing argument")


def test_a_name_that_is_no_text_does_not_crash(tmp_path: Path) -> None:
    name = os.fsencode(tmp_path) + b"/h\xff\n.svg"
    for environment in ({}, {"PYTHONIOENCODING": "ascii"}, {"LC_ALL": "C"}):
        done = process("check", name, "--set", "a=b", "--json", env={**os.environ, **environment})
        assert done.returncode == 2
        assert json.loads(done.stdout)["format"] == 1
        assert done.stderr.count(b"\n") == 1
        assert b"Traceback" not in done.stderr


def buffered(unbuffered: str) -> dict[str, str]:
    """The environment with Python's own buffering of standard output, or without."""
    return {**os.environ, "PYTHONUNBUFFERED": unbuffered}


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize("unbuffered", ["", "1"])
@pytest.mark.parametrize("words", [["--version"], ["--help"], ["check", "--help"]])
def test_standard_output_that_is_full_is_one_sentence(words: list[str], unbuffered: str) -> None:
    with Path("/dev/full").open("wb") as full:
        done = process(*words, capture_output=False, stdout=full, stderr=subprocess.PIPE, env=buffered(unbuffered))
    assert done.returncode == 2
    assert done.stderr.startswith(b"layercut: standard output: can't be written")
    assert done.stderr.count(b"\n") == 1


@pytest.mark.skipif(os.name == "nt", reason="pipes of POSIX")
@pytest.mark.parametrize("words", [["--version"], ["--help"], ["coupon", "--help"]])
def test_a_closed_pipe_is_quiet(words: list[str]) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    done = process(*words, capture_output=False, stdout=writing, stderr=subprocess.PIPE)
    os.close(writing)
    assert done.returncode == 141
    assert done.stderr == b""


# --- the real stages

MAKEABLE = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<g id="sky"><rect width="60" height="40" fill="#88aaff"/></g>
<g id="ground"><rect y="25" width="60" height="15" fill="#448844"/></g>
</svg>"""
SUN = '<circle cx="30" cy="15" r="4" fill="#ffff00"/></g>\n</svg>'


SMALL = (
    "import sys, layercut.cli as cli, layercut.output.contents as m; m.PICTURE_WIDTH_PX = 200; sys.exit(cli.main())"
)


@pytest.fixture
def small_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    """Shadows take seconds to draw at full width."""
    monkeypatch.setattr(layercut.output.contents, "PICTURE_WIDTH_PX", 200)


@pytest.mark.usefixtures("small_pictures")
def test_a_drawing_becomes_a_folder_and_the_same_bytes_again(run: Run, drawing: Path) -> None:
    drawing.write_text(MAKEABLE)
    one, two = drawing.parent / "one", drawing.parent / "two"
    code, out, err = run("compile", drawing, "--out", one, "--json")
    document = json.loads(out)
    # A slow machine may have told of its stages before.
    assert (code, err.splitlines()[-1]) == (0, "can be made: 2 sheets, 60 x 40 mm")
    jsonschema.Draft202012Validator(SCHEMA).validate(document)
    assert document["proof"]["pieces_found"] == document["proof"]["pieces_planned"]
    files = {path.relative_to(one).as_posix(): path.read_bytes() for path in one.rglob("*") if path.is_file()}
    sheets = {"sheets/01-sky.svg", "sheets/02-ground.svg"}
    assert {sheet["file"] for sheet in document["sheets"]} == sheets
    maps = {name.replace("sheets", "paint") for name in sheets}
    assert set(files) == sheets | maps | {"manifest.json", "stack.svg", "stack.png", "traveller.html"}
    others = sorted(set(files) - {"manifest.json"})
    named = [{"file": name, "sha256": hashlib.sha256(files[name]).hexdigest()} for name in others]
    assert document["files"] == named
    assert json.loads(run("check", drawing, "--json")[1]) == {**document, "files": []}
    words = [sys.executable, "-c", SMALL, "compile", str(drawing), "--out", str(two)]
    subprocess.run(words, cwd=ROOT, env={**os.environ, "PYTHONHASHSEED": "7"}, check=True, capture_output=True)
    assert {path.relative_to(two).as_posix(): path.read_bytes() for path in two.rglob("*") if path.is_file()} == files


@pytest.mark.usefixtures("small_pictures")
def test_a_drawing_with_an_island_shows_where_and_cuts_nothing(run: Run, drawing: Path) -> None:
    drawing.write_text(MAKEABLE.replace("</g>\n</svg>", SUN))
    code, out, err = run("compile", drawing, "--islands", "refuse")
    folder = drawing.parent / "house-sheets"
    assert (code, out) == (1, f"{folder}\n")
    assert err.splitlines()[-1] == "can't be made as drawn: 1 island"
    assert err.splitlines()[-2].startswith("error island ground (")
    assert sorted(path.name for path in folder.iterdir()) == [
        "manifest.json",
        "stack.png",
        "stack.svg",
        "traveller.html",
    ]
    (finding,) = json.loads(run("check", drawing, "--islands", "refuse", "--json")[1])["findings"]
    assert finding["at_mm"] == pytest.approx([30, 15], abs=4)
    assert finding["size_mm"] == pytest.approx([8, 8], abs=0.05)


def test_a_missing_drawing_is_one_sentence(run: Run, tmp_path: Path) -> None:
    for path in (tmp_path / "none.svg", tmp_path):
        code, out, err = run("compile", path, "--out", tmp_path / "out")
        assert (code, out, err.count("\n")) == (2, "", 1)
    assert list(tmp_path.iterdir()) == []
