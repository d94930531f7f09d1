"""What a person reads is in the units of the job, whoever says it; what tools read is in mm.

All known-bad drawings are looked at, since each finding has one.
"""

import json
import re
from html import unescape
from itertools import chain
from pathlib import Path

import pytest

from layercut import compile_drawing, load_job, manifest_text
from layercut.cli import main
from layercut.cli.printing import SHOWN_PER_CODE, outcome_line, show_findings
from layercut.job import Job
from layercut.job_tables import PageJob
from layercut.model import Cut, Planned
from layercut.views.pages.traveller_choices import choice_rows, price_words
from layercut.views.pages.traveller_notes import note_groups, notes_map
from layercut.views.picture.stack_svg import compose_svg
from layercut.watching.view_model import view_findings, view_islands, view_sheets

DRAWINGS = sorted((Path(__file__).parent / "bad_drawings").glob("*.svg"))
METRIC = re.compile(r"\bmm\b|mm²|mm2|\bcm\b|cm²|\d m\b|\bkg\b|\d g\b")
INCHES, MM = PageJob.model_validate({"units": "in"}), PageJob.model_validate({"units": "mm"})


def build_of(path: Path, page: PageJob) -> Planned:
    """A known-bad drawing, compiled for whoever reads these units."""
    job_file = path.with_suffix(".toml")
    job = load_job(job_file if job_file.exists() else None)
    return compile_drawing(path, job.model_copy(update={"page": page}))


def terminal(build: Planned, capsys: pytest.CaptureFixture[str]) -> list[str]:
    """What the terminal tells of a build, a line each."""
    show_findings(build, rest="there")
    return [*capsys.readouterr().err.splitlines(), outcome_line(build)]


def traveller(build: Planned) -> list[str]:
    """What the traveller says of the findings and choices, with the titles of the rings."""
    groups = chain.from_iterable(note_groups(build).values())
    notes = [(note.message, note.where) for group in groups for note in group.notes]
    rows = [(row.price, row.after) for row in choice_rows(build)]
    titles = re.findall("<title>(.*?)</title>", compose_svg(build) + notes_map(build))
    return [*chain.from_iterable([*notes, *rows]), price_words(build), *map(unescape, titles)]


def watch_page(build: Planned) -> list[str]:
    """What the watch page says of the findings, the pieces and the sheets."""
    found = [(one.message, one.place) for one in view_findings(build).listed]
    islands = view_islands(build, build.stack)
    pieces = [(one.size, one.neck) for one in islands]
    ways = [(way.price, way.why) for one in islands for way in one.ways]
    facts = [one.facts for one in view_sheets(build)] if isinstance(build, Cut) else []
    return [*chain.from_iterable([*found, *pieces, *ways]), *facts]


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_who_reads_inches_finds_no_millimetre(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    build = build_of(path, INCHES)
    read = [*terminal(build, capsys), *traveller(build), *watch_page(build)]
    assert [line for line in read if METRIC.search(line)] == []
    assert [line for line in read if re.search(r"[\x00-\x1f]", line)] == []
    placed = [finding.at_mm for finding in build.findings if finding.at_mm is not None][:SHOWN_PER_CODE]
    for x, y in placed:
        assert any(f" at {x / 25.4:.2f}, {y / 25.4:.2f} in: " in line for line in read)


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_who_reads_mm_is_told_what_tools_are_whatever_the_units(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The document is the same but for the units that it names; the words on terminal and pages are its own."""
    build = build_of(path, MM)
    document, other = json.loads(manifest_text(build)), json.loads(manifest_text(build_of(path, INCHES)))
    assert (document.pop("page"), other.pop("page")) == ({"units": "mm"}, {"units": "in"})
    assert document == other
    lines = terminal(build, capsys)
    for one in document["findings"]:
        assert not re.search(r"[\x00-\x1f]", one["message"])
        at = "" if one["at_mm"] is None else f" at {one['at_mm'][0]:.1f}, {one['at_mm'][1]:.1f} mm"
        more = f"{one['severity']} {one['code']}: and "
        assert any(line.endswith(f"{at}: {one['message']}") or line.startswith(more) for line in lines)
    messages = {one["message"] for one in document["findings"]}
    assert {one.message for one in view_findings(build).listed} <= messages
    notes = chain.from_iterable(group.notes for group in chain.from_iterable(note_groups(build).values()))
    assert {note.message for note in notes} <= messages


TOO_LARGE = ["panel.width=90in", "machine.bed_width=20in", "machine.bed_height=300mm"]
WRONG = {
    "a frame that leaves nothing": (["panel.frame=60mm"], "a frame of 2 23/64 in leaves nothing"),
    "a frame narrower than a neck": (["panel.frame=1.5mm", "limits.neck=1.52mm"], "of 0.0591 in is narrower than"),
    "a corner": (["panel.corner=2ft"], "a corner radius of 24 in"),
    "pins": (["panel.pins=true", "panel.pin_diameter=1/4in"], "pins of 1/4 in leave less than"),
    "a bed": (TOO_LARGE, "doesn't fit a bed of 20 × 11 13/16 in"),  # noqa: RUF001 - the sign of a size
    "half a bed": (["machine.bed_width=1in", "machine.bed_height=0"], "doesn't fit a bed of 1 x any in"),
    "proportions": (["panel.width=10in", "panel.height=1ft"], "the job's panel of 10 × 12 in has"),  # noqa: RUF001
    "a large panel": (["panel.width=800in"], "the most is"),
    "a long screw": (["hanging.screw=3in"], "a screw of 3 in needs"),
}


@pytest.mark.parametrize(("settings", "says"), WRONG.values(), ids=WRONG)
@pytest.mark.parametrize("units", ["in", "mm"])
def test_what_goes_wrong_once_the_job_is_read_is_told_in_its_units(
    settings: list[str], says: str, units: str, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [word for setting in (*settings, f"page.units={units}") for word in ("--set", setting)]
    assert main(["check", str(Path(__file__).parent / "bad_drawings" / "slip.svg"), "--json", *words]) == 2
    done = capsys.readouterr()
    if units == "in":
        assert says in done.err
        assert not METRIC.search(done.err)
    else:
        assert re.search(r"\d mm|any mm", done.err)
    error = json.loads(done.out)["error"]
    assert "mm" in error["message"]
    assert error["message"] in done.err or units == "in"


def test_the_panels_unit_is_the_readers(capsys: pytest.CaptureFixture[str]) -> None:
    """The terminal's last line is of the panel; the unit that was typed for it counts, and page.units before it."""
    drawing = str(Path(__file__).parent / "bad_drawings" / "slip.svg")
    for settings, unit in ((["panel.width=5in"], "in"), (["panel.width=5in", "page.units=mm"], "mm"), ([], "mm")):
        words = [word for setting in settings for word in ("--set", setting)]
        assert main(["check", drawing, *words]) == 0
        assert capsys.readouterr().out.split()[-1] == unit
    assert Job().units.name == "mm"
