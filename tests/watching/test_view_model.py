"""A build in the page's words."""

from dataclasses import replace

import pytest
from builds import build_made
from scenes import Scenes
from shapely import Point, box

from layercut.findings import Finding
from layercut.job_tables import PageJob
from layercut.model import Made, Planned, Proof
from layercut.units import INCHES, said_mm
from layercut.watching.view_model import (
    SHOWN_FINDINGS,
    IslandView,
    WayView,
    outcome_words,
    proof_words,
    view_findings,
    view_islands,
    view_sheets,
    what_changed,
)


@pytest.fixture(scope="module")
def made(scenes: Scenes) -> Made:
    """A ground, and a hill with a moon above it that is cut loose."""
    drawing = scenes.drawing([scenes.ground()], [box(0, 70, 100, 100), Point(50, 35).buffer(6)])
    run = scenes.make(drawing, "islands.policy=loose")
    return build_made(run.drawing, run.stack, run.sheets, run.job, run.findings, proof=run.proof)


def refused(made: Made, *findings: Finding) -> Planned:
    return Planned(made.drawing, made.job, made.stack, findings)


def test_every_sheet_is_shown_with_what_is_cut_of_it(made: Made) -> None:
    back, front = view_sheets(made)
    assert [(view.place, view.name, view.loose) for view in (back, front)] == [(1, "l0", 0), (2, "l1", 1)]
    assert front.openings == len(made.sheets[1].openings)
    assert f"{made.sheets[1].cut_mm / 1000:.2f} m to cut" in front.facts
    assert front.svg.startswith("<svg")


def test_a_piece_is_shown_once_with_what_is_done_about_it(made: Made) -> None:
    (moon,) = view_islands(made, made.stack)
    assert (moon.layer, moon.chosen, moon.policy, moon.own) == ("l1", "loose", "loose", False)
    assert moon.size.startswith("12.0")
    assert Point(moon.at).within(made.sheets[1].loose[0].region)


def test_all_words_are_in_the_jobs_units(made: Made) -> None:
    inches = replace(made, job=made.job.model_copy(update={"page": PageJob.model_validate({"units": "in"})}))
    back, front = view_sheets(inches)
    for view, sheet in ((back, made.sheets[0]), (front, made.sheets[1])):
        assert f"{sheet.cut_mm / 304.8:.1f} ft to cut, {sheet.mark_mm / 304.8:.1f} ft to mark" in view.facts
        assert view.svg == next(one.svg for one in view_sheets(made) if one.place == view.place)
    (moon,) = view_islands(inches, inches.stack)
    assert moon.size == "15/32 × 15/32 in"  # noqa: RUF001 - the sign of a size
    island = Finding("island", "error", f"hangs by {said_mm(1.27, '.2f')}.", "l1", at_mm=(50.8, 25.4))
    (listed,) = view_findings(refused(inches, island)).listed
    assert (listed.message, listed.place, listed.at) == ("hangs by 0.05 in.", "2.00, 1.00 in", (50.8, 25.4))


def test_errors_have_rings_and_what_is_too_much_is_counted(made: Made) -> None:
    island = Finding("island", "error", "falls out.", "l1", at_mm=(50.0, 35.0))
    infos = [Finding("picture", "info", f"ignored {n}.") for n in range(SHOWN_FINDINGS)]
    view = view_findings(refused(made, island, *infos))
    assert (len(view.listed), view.more) == (SHOWN_FINDINGS, 1)
    assert [one.ring for one in view.listed[:2]] == [1, 0]


def test_what_came_of_it_in_a_sentence(made: Made) -> None:
    error = Finding("island", "error", "falls out.", "l1", at_mm=(50.0, 35.0))
    assert outcome_words(made) == f"It can be made: {sum(sheet.copies for sheet in made.sheets)} sheets."
    assert "one thing must change" in outcome_words(refused(made, error))
    assert "2 things must change" in outcome_words(refused(made, error, error))
    assert outcome_words(refused(made)) == ""  # its sheets aren't cut yet
    assert "3 of 4 planned pieces" in proof_words(Proof(0.5, 4, 3))
    assert "0.50 mm²" in proof_words(Proof(0.5, 4, 3))
    assert "1.00 in²" in proof_words(Proof(645.16, 4, 3), INCHES)


def test_what_is_done_otherwise_than_before_is_said_with_its_price() -> None:
    ways = (WayView("tie", "1.5 mm²", ""), WayView("loose", "", "too small"))
    buoy = IslandView("buoy", ("buoy",), "quay", "", "", "", (0.0, 0.0), "", "auto", False, "tie", ways)
    assert what_changed([buoy], [buoy]) == ()
    assert what_changed([], [buoy]) == ()
    assert what_changed([replace(buoy, chosen="loose")], [buoy]) == ("buoy was cut loose and is tied now (1.5 mm²).",)
    assert what_changed([buoy], [replace(buoy, chosen="loose")]) == ("buoy was tied and is cut loose now.",)
