"""Coats by colour, and what the job says of them."""

import pytest

from layercut.job import load_job
from layercut.job_tables import PaintJob
from layercut.planning.coats import coats_by_colour, coats_of


@pytest.mark.parametrize(
    ("colour", "coats"),
    [
        ("#ffffff", 4),
        ("#f6f0e2", 4),
        ("#f2d16b", 4),
        ("#ffd700", 4),
        ("#f2e6c9", 3),
        ("#8fc1de", 2),
        ("#cfe3dc", 3),
        ("#e0501f", 3),
        ("#8c2f24", 2),
        ("#1b1b1d", 2),
        ("#1f3a6b", 2),
        ("#38522f", 2),
    ],
)
def test_pigments_that_hide_badly_take_more(colour: str, coats: int) -> None:
    assert coats_by_colour(colour) == coats


def test_the_job_comes_before_and_single_colours_first() -> None:
    assert coats_of("#ffffff", ["#ffffff"], PaintJob.model_validate({"coats": 1})) == 1
    paint = PaintJob.model_validate({"coats": 2, "coats_of": {"#F2D16B": 5, "#f0d070": 3}})
    assert coats_of("#f2d16b", ["#f2d16b"], paint) == 5
    assert coats_of("#f2d16b", ["#f1d06b", "#f0d070", "#f2d16b"], paint) == 5, "the most of the colours of a pot"
    assert coats_of("#1f3a6b", ["#1f3a6b"], paint) == 2


def test_a_single_colour_can_be_set_on_the_command_line() -> None:
    job = load_job(None, ["paint.coats_of.#f2d16b=4"])
    assert job.paint.coats_of == {"#f2d16b": 4}
