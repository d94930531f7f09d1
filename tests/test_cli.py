"""The commands as tools see them: exit codes, what goes to which stream, and one sentence for whatever goes wrong.

The stages behind the commands are stood in for here, so that every turn can be taken; test_commands.py runs them.
"""

import dataclasses
import importlib
import json
import os
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from builds import build_made
from shapely import Polygon, box

from layercut.cli import main
from layercut.errors import DrawingError, InternalError
from layercut.findings import Finding, in_order
from layercut.job import Job
from layercut.model import (
    Drawing,
    Layer,
    OrderedSheet,
    Paint,
    PaintedRegion,
    Panel,
    Planned,
    Proof,
    Stack,
    StackLayer,
    sheets_of,
)
from layercut.output.seal import seal_png, seal_svg
from layercut.png import png_bytes
from layercut.sheets.smoothing import smooth_sheets

ROOT = Path(__file__).parents[1]
SCHEMA = json.loads((ROOT / "docs" / "manifest.schema.json").read_text())


def png_of(width_px: int, *, exploded: bool) -> bytes:
    """Stands for a picture, as a process of its own may draw it: it tells what was asked for."""
    return png_bytes(np.zeros((2 if exploded else 1, width_px, 3), dtype=np.uint8))


Run = Callable[..., tuple[int, str, str]]

ISLAND = Finding("island", "error", "falls out.", "garden", "path 'leaf-3'", (120.44, 33.0), (3.0, 1.0))
NECK = Finding("neck", "error", "snaps.", "sky", at_mm=(1.0, 2.0))
PICTURE = Finding("picture", "info", "is ignored.")


def make_build(job: Job, findings: tuple[Finding, ...] = (), copies: int = 4) -> Planned:
    outline, interior = box(0, 0, 280, 215.9), box(10, 10, 270, 205.9)
    panel = Panel(280.0, 215.9, 10.0, outline, interior, Polygon(outline.exterior, [interior.exterior]))
    (sheet,) = smooth_sheets(
        [OrderedSheet("sky", "layer", "sheets/01-sky.svg", 1, outline, (), (), (), outline)], job
    )
    spacer = dataclasses.replace(sheet, name="spacer", kind="spacer", file="sheets/spacer.svg", copies=copies)
    drawing = Drawing("house.svg", "ab" * 32, 280.0, 215.9, (Layer("sky", ()),))
    painted = (PaintedRegion(Paint("#88aacc"), outline),)
    sky = StackLayer("sky", outline, interior, Polygon(), Polygon(), outline, painted)
    stack = Stack(panel, (sky,), Polygon())
    told = in_order(findings, ("sky", "garden"))
    if any(finding.severity == "error" for finding in findings):
        return Planned(drawing, job, stack, told)
    made = build_made(drawing, stack, (sheet, spacer), job, proof=Proof(0.0, 2, 2))
    return dataclasses.replace(made, findings=told)


class Stages:
    """What stands in for the pipeline and the views, and what the commands gave it."""

    def __init__(self) -> None:
        self.findings: tuple[Finding, ...] = ()
        self.error: BaseException | None = None
        self.stages: tuple[str, ...] = ()
        self.between: Callable[[], None] = lambda: None
        self.jobs: list[Job] = []
        self.pictures: list[object] = []

    def compile_drawing(self, _path: Path, job: Job, progress: Callable[[str], None]) -> Planned:
        self.jobs.append(job)
        for stage in self.stages:
            progress(stage)
            self.between()
        if self.error is not None:
            raise self.error
        return make_build(job, self.findings)

    def sheet_files(self, build: Planned) -> dict[str, str]:
        return {sheet.file: f"<svg>{sheet.name}</svg>" for sheet in sheets_of(build)}

    def compose_svg(self, _build: Planned, *, exploded: bool = False) -> str:
        self.pictures.append(exploded)
        return "<svg>stack</svg>"

    def compose_png(self, _build: Planned, width_px: int = 1400, *, exploded: bool = False) -> bytes:
        self.pictures.append((width_px, exploded))
        return png_of(width_px, exploded=exploded)

    def paint_files(self, _build: Planned) -> dict[str, str]:
        return {}

    def traveller_html(self, _build: Planned, picture_svg: str) -> str:
        return f"<html>{picture_svg}</html>"


@pytest.fixture
def stages(monkeypatch: pytest.MonkeyPatch) -> Stages:
    made = Stages()
    replaced = {
        "layercut.pipeline": ("compile_drawing",),
        "layercut.output.contents": ("compose_png", "compose_svg", "paint_files", "sheet_files", "traveller_html"),
        "layercut.library": ("compose_png", "compose_svg"),
    }
    for module, names in replaced.items():
        for name in names:
            monkeypatch.setattr(f"{module}.{name}", getattr(made, name))
    return made


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    path = tmp_path / "house.svg"
    path.write_text("<svg/>")
    return path


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*words: object) -> tuple[int, str, str]:
        code = main([str(word) for word in words])
        return (code, *capsys.readouterr())

    return call


# --- compile


def test_compile_writes_the_folder_and_prints_its_path(run: Run, stages: Stages, drawing: Path) -> None:
    code, out, err = run("compile", drawing)
    folder = drawing.parent / "house-sheets"
    assert (code, out) == (0, f"{folder}\n")
    assert err.splitlines()[-1] == "can be made: 5 sheets, 280 x 215.9 mm"  # a slow machine tells of its stages too
    files = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    assert files == [
        "manifest.json",
        "sheets/01-sky.svg",
        "sheets/spacer.svg",
        "stack.png",
        "stack.svg",
        "traveller.html",
    ]
    assert (folder / "stack.svg").read_text() == "<svg>stack</svg>"
    assert (folder / "stack.png").read_bytes() == png_of(1400, exploded=False)
    assert False in stages.pictures  # not apart
    document = json.loads((folder / "manifest.json").read_text())
    jsonschema.Draft202012Validator(SCHEMA).validate(document)
    assert {sheet["file"] for sheet in document["sheets"]} < set(files)


def test_compile_json_is_the_manifest(run: Run, stages: Stages, drawing: Path) -> None:
    code, out, _ = run("compile", drawing, "--json", "--out", drawing.parent / "there")
    assert code == 0
    assert out == (drawing.parent / "there" / "manifest.json").read_text()
    assert len(stages.jobs) == 1


def test_compile_of_what_cannot_be_made_writes_no_sheets(run: Run, stages: Stages, drawing: Path) -> None:
    stages.findings = (PICTURE, ISLAND, NECK, ISLAND)
    code, out, err = run("compile", drawing)
    folder = drawing.parent / "house-sheets"
    assert (code, out) == (1, f"{folder}\n")
    assert sorted(path.name for path in folder.iterdir()) == [
        "manifest.json",
        "stack.png",
        "stack.svg",
        "traveller.html",
    ]
    assert err.splitlines() == [
        "error neck sky at 1.0, 2.0 mm: snaps.",
        "error island garden (path 'leaf-3') at 120.4, 33.0 mm: falls out.",
        "error island garden (path 'leaf-3') at 120.4, 33.0 mm: falls out.",
        "info picture: is ignored.",
        "can't be made as drawn: 2 islands, 1 neck",
    ]


def test_a_second_compile_replaces_the_sheets_of_the_first(run: Run, stages: Stages, drawing: Path) -> None:
    assert run("compile", drawing)[0] == 0
    stages.findings = (ISLAND,)
    assert run("compile", drawing)[0] == 1
    assert not (drawing.parent / "house-sheets" / "sheets").exists()


def test_compile_refuses_a_strange_folder_before_the_work(run: Run, stages: Stages, drawing: Path) -> None:
    code, out, err = run("compile", drawing, "--out", drawing.parent, "--json")
    assert code == 2
    assert json.loads(out)["error"]["code"] == "folder-not-ours"
    assert err.count("\n") == 1
    assert stages.jobs == []
    assert drawing.read_text() == "<svg/>"


def test_long_lists_are_counted(run: Run, stages: Stages, drawing: Path) -> None:
    stages.findings = (ISLAND,) * 69 + (NECK,) * 12
    for words, where in ((("compile", drawing), "traveller.html"), (("check", drawing), "--json")):
        _, _, err = run(*words)
        lines = [line for line in err.splitlines() if line.startswith("error")]
        assert len(lines) == 12 + 12 + 1
        assert lines[-1].startswith("error island: and 57 more, ")
        assert where in lines[-1]


# --- check


def test_check_says_one_line_and_writes_nothing(run: Run, stages: Stages, drawing: Path) -> None:
    code, out, err = run("check", drawing)
    assert (code, out, err) == (0, "can be made: 5 sheets, 280 x 215.9 mm\n", "")
    assert [path.name for path in drawing.parent.iterdir()] == ["house.svg"]
    assert stages.pictures == []


def test_check_of_what_cannot_be_made(run: Run, stages: Stages, drawing: Path) -> None:
    stages.findings = (ISLAND, ISLAND, NECK, dataclasses.replace(PICTURE, severity="error"))
    code, out, _ = run("check", drawing)
    assert (code, out) == (1, "can't be made as drawn: 2 islands, 1 neck, 1 picture\n")


def test_check_json_is_the_manifest_with_the_sheets(run: Run, stages: Stages, drawing: Path) -> None:
    code, out, _ = run("check", drawing, "--json")
    document = json.loads(out)
    jsonschema.Draft202012Validator(SCHEMA).validate(document)
    assert code == 0
    assert [sheet["copies"] for sheet in document["sheets"]] == [1, 4]
    stages.findings = (NECK,) * 40
    code, out, _ = run("check", drawing, "--json")
    assert code == 1
    assert len(json.loads(out)["findings"]) == 40


def test_warnings_do_not_stop_a_job(run: Run, stages: Stages, drawing: Path) -> None:
    stages.findings = (dataclasses.replace(NECK, code="narrow", severity="warning"),)
    code, _, err = run("check", drawing)
    assert code == 0
    assert err == "warning narrow sky at 1.0, 2.0 mm: snaps.\n"


# --- preview


def test_preview_writes_png_or_svg(run: Run, stages: Stages, drawing: Path) -> None:
    png, svg = drawing.parent / "a.PNG", drawing.parent / "b.svg"
    assert run("preview", drawing, "-o", png, "--width", "300", "--exploded")[:2] == (0, f"{png}\n")
    assert run("preview", drawing, "-o", svg)[:2] == (0, f"{svg}\n")
    assert png.read_bytes() == seal_png(png_of(300, exploded=True))
    assert svg.read_bytes() == seal_svg(b"<svg>stack</svg>")
    assert stages.pictures == [(300, True), False]


def test_preview_shows_what_cannot_be_made(run: Run, stages: Stages, drawing: Path) -> None:
    stages.findings = (ISLAND,)
    code, _, err = run("preview", drawing, "-o", drawing.parent / "a.png")
    assert code == 1
    assert "island garden" in err
    assert (drawing.parent / "a.png").exists()


@pytest.mark.parametrize(
    ("name", "word"), [("a.jpg", ".png or .svg"), ("a", ".png or .svg"), ("house.svg", "itself")]
)
def test_preview_refuses_other_kinds_and_the_drawing(
    run: Run, stages: Stages, drawing: Path, name: str, word: str
) -> None:
    code, out, err = run("preview", drawing, "-o", drawing.parent / name)
    assert (code, out) == (2, "")
    assert word in err
    assert stages.jobs == []
    assert drawing.read_text() == "<svg/>"


# --- the job


def test_the_job_beside_the_drawing_is_used(run: Run, stages: Stages, drawing: Path) -> None:
    drawing.with_suffix(".toml").write_text('[material]\nkerf = "0.3mm"\n')
    run("check", drawing)
    other = drawing.parent / "other.toml"
    other.write_text('[material]\nname = "lime"\n')
    run("check", drawing, "--job", other, "--set", "limits.neck=2mm", "--set", "limits.neck=3mm")
    assert stages.jobs[0].material.kerf == 0.3
    assert (stages.jobs[1].material.kerf, stages.jobs[1].material.name) == (0.15, "lime")
    assert stages.jobs[1].limits.neck == 3.0


def test_a_stem_with_dots_keeps_them(run: Run, stages: Stages, tmp_path: Path) -> None:
    (tmp_path / "house.v2.toml").write_text('[material]\nname = "lime"\n')
    (tmp_path / "house.v2.svg").write_text("<svg/>")
    code, out, _ = run("compile", tmp_path / "house.v2.svg")
    assert (code, out) == (0, f"{tmp_path / 'house.v2-sheets'}\n")
    assert stages.jobs[0].material.name == "lime"


@pytest.mark.parametrize("policy", ["tie", "loose"])
def test_the_islands_policy_is_the_same_wherever_it_comes_from(
    run: Run, stages: Stages, drawing: Path, policy: str
) -> None:
    job = drawing.with_name("job.toml")
    job.write_text(f'[islands]\npolicy = "{policy}"\n')
    for words in (("--islands", policy), ("--set", f"islands.policy={policy}"), ("--job", job)):
        assert run("check", drawing, *words)[0] == 0
    assert [job.islands.policy for job in stages.jobs] == [policy] * 3


def test_islands_wins_over_set(run: Run, stages: Stages, drawing: Path) -> None:
    assert run("check", drawing, "--islands", "refuse", "--set", "islands.policy=tie")[0] == 0
    assert run("check", drawing, "--islands", "tie", "--set", "islands.policy=refuse")[0] == 0
    assert [job.islands.policy for job in stages.jobs] == ["refuse", "tie"]


@pytest.mark.parametrize("words", [("--job", "none.toml"), ("--set", "panel.frames=3mm"), ("--set", "panel.frame=3")])
def test_a_wrong_job_is_one_sentence(run: Run, stages: Stages, drawing: Path, words: tuple[str, ...]) -> None:
    code, out, err = run("compile", drawing, *words)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert err.startswith("layercut: ")
    assert stages.jobs == []
    assert [path.name for path in drawing.parent.iterdir()] == ["house.svg"]


# --- errors


def test_an_error_is_one_sentence_and_one_json_document(run: Run, stages: Stages, drawing: Path) -> None:
    stages.error = DrawingError("no-layers", "has no layers.", "Group it.", file="house.svg", element="path 'p'")
    code, out, err = run("compile", drawing)
    assert (code, out, err) == (2, "", "layercut: house.svg, path 'p': has no layers. Group it.\n")
    code, out, _ = run("compile", drawing, "--json")
    assert code == 2
    assert json.loads(out) == {
        "format": 1,
        "error": {
            "code": "no-layers",
            "message": "has no layers.",
            "hint": "Group it.",
            "file": "house.svg",
            "layer": None,
            "element": "path 'p'",
        },
    }
    assert [path.name for path in drawing.parent.iterdir()] == ["house.svg"]


class Panic(BaseException):
    """Compiled libraries raise such outside of Exception."""


@pytest.mark.parametrize(
    "error",
    [InternalError("tiling", "adds up wrong."), TypeError("a\nb"), RecursionError(), MemoryError(), Panic("x")],
)
def test_a_fault_of_its_own_is_one_sentence(
    run: Run, stages: Stages, drawing: Path, error: BaseException, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("LAYERCUT_TRACEBACK", raising=False)
    stages.error = error
    code, out, err = run("check", drawing, "--json")
    assert code == 70
    assert err.startswith("layercut: a fault of its own")
    assert err.count("\n") == 1
    assert "LAYERCUT_TRACEBACK=1" in err
    assert "Traceback" not in err
    assert json.loads(out)["error"]["code"] in {"tiling", "fault"}
    monkeypatch.setenv("LAYERCUT_TRACEBACK", "1")
    code, _, err = run("check", drawing)
    assert code == 70
    assert err.startswith("Traceback")
    assert "in compile_drawing\n" in err


def test_ctrl_c_is_quiet(run: Run, stages: Stages, drawing: Path) -> None:
    stages.error = KeyboardInterrupt()
    assert run("compile", drawing) == (130, "", "")


@pytest.mark.parametrize(
    ("words", "part"),
    [
        ((), "command"),
        (("cut",), "'cut'"),
        (("check",), "DRAWING"),
        (("check", "a.svg", "b.svg"), "b.svg"),
        (("check", "a.svg", "--fast"), "--fast"),
        (("check", "a.svg", "--islands", "glue"), "'refuse', 'tie', 'loose'"),
        (("check", "a.svg", "--set"), "--set"),
        (("preview", "a.svg"), "-o"),
        (("preview", "a.svg", "-o", "b.png", "--width", "0"), "--width"),
        (("preview", "a.svg", "-o", "b.png", "--width", "wide"), "--width"),
        (("verify", "--kerf", "folder"), "--kerf"),
    ],
)
def test_wrong_use_is_one_sentence(run: Run, stages: Stages, words: tuple[str, ...], part: str) -> None:
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert part in err
    assert "--help" in err
    assert stages.jobs == []


def test_wrong_use_is_json_too(run: Run) -> None:
    code, out, _ = run("compile", "--json")
    assert code == 2
    assert json.loads(out)["error"]["code"] == "usage"


# --- what people see


def test_progress_begins_after_a_second(
    run: Run, stages: Stages, drawing: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = [100.0]
    monkeypatch.setattr("layercut.cli.printing.time.monotonic", lambda: now[0])
    stages.stages = ("reading", "mapping", "cutting")
    assert run("check", drawing)[2] == ""

    def wait() -> None:
        now[0] += 0.7

    stages.between = wait
    assert run("check", drawing)[2] == "cutting ...\n"


def test_timings_tell_every_stage_in_order_and_add_up(
    run: Run, stages: Stages, drawing: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = [100.0]
    monkeypatch.setattr("layercut.cli.printing.time.monotonic", lambda: now[0])

    def wait() -> None:
        now[0] += 0.25

    stages.stages, stages.between = ("reading", "mapping", "cutting"), wait
    told = run("compile", str(drawing), "--out", str(tmp_path / "out"), "--timings")[2].splitlines()
    lines = [line.split(" s  ") for line in told if " s  " in line]
    assert [stage for _, stage in lines][:4] == ["starting", "reading", "mapping", "cutting"]
    *stages_s, all_s = (float(seconds) for seconds, _ in lines)
    assert all_s == pytest.approx(sum(stages_s)) == pytest.approx(0.75)


def test_colour_only_on_a_terminal_that_wants_it(
    run: Run, stages: Stages, drawing: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stages.findings = (PICTURE,)
    monkeypatch.delenv("NO_COLOR", raising=False)
    assert "\033" not in run("check", drawing)[2]
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    assert run("check", drawing)[2] == "\033[36minfo\033[0m picture: is ignored.\n"
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\033" not in run("check", drawing)[2]


def test_odd_names_stay_on_their_line(run: Run, stages: Stages, drawing: Path) -> None:
    stages.findings = (Finding("neck", "error", "snaps.", "a\nb\x1b[31m\udcff\u2028", "path 'grün'"),)
    _, _, err = run("check", drawing)
    assert err == "error neck a\\nb\\x1b[31m\\udcff\\u2028 (path 'grün'): snaps.\n"
    code, out, _ = run("check", drawing, "--json")
    assert code == 1
    assert json.loads(out)["findings"][0]["layer"] == "a\nb\x1b[31m?\u2028"


@pytest.mark.skipif(sys.platform != "linux", reason="file names that are any bytes")
def test_a_path_is_printed_with_its_own_bytes(
    stages: Stages, tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    path = tmp_path / os.fsdecode(b"h\xff.svg")
    path.write_text("<svg/>")
    assert main(["compile", str(path)]) == 0
    assert capfdbinary.readouterr().out == os.fsencode(tmp_path) + b"/h\xff-sheets\n"
    assert len(stages.jobs) == 1


@pytest.mark.parametrize("command", ["compile", "check", "preview"])
def test_help_has_an_example_and_the_caution(run: Run, command: str) -> None:
    for words in ((command, "--help"), ("--help",)):
        code, out, err = run(*words)
        text = " ".join(out.split())
        assert (code, err) == (0, "")
        assert "Example: layercut " in text
        assert "never sets a beam's power" in text
        assert "Never leave a running laser alone" in text


def test_help_offers_every_command_of_the_contract(run: Run) -> None:
    out = run("--help")[1]
    commands = {"compile", "check", "preview", "verify", "bundle", "start", "rectify", "coupon", "watch"}
    assert commands <= set(out.split())
    assert "--show-completion" in out


def test_version(run: Run) -> None:
    code, out, err = run("--version")
    assert (code, err) == (0, "")
    assert out.startswith("layercut ")


def test_the_console_script_is_main() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    module, _, name = project["project"]["scripts"]["layercut"].partition(":")
    assert getattr(importlib.import_module(module), name) is main
