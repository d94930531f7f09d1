"""The job file of a new drawing: what it says is what the plan says, and it is a job as it stands."""

from pathlib import Path

import pytest

from layercut.job import load_job
from layercut.setup.measures import Measure
from layercut.setup.start import StartPlan, describe_house, plan_start
from layercut.setup.starter_job import job_text, size_story

FOOT = 304.8
WIDE = Measure(36 * FOOT)


def plan_of(name: str = "mill", width: Measure = WIDE) -> StartPlan:
    house = describe_house(width, 2, Measure(9 * FOOT), Measure(1.5 * FOOT), Measure(8 * FOOT))
    return plan_start(name, house, (304.8, 228.6))


def test_it_is_a_job_of_the_plans_panel(tmp_path: Path) -> None:
    path = tmp_path / "mill.toml"
    path.write_text(job_text(plan_of()), encoding="utf-8")
    job, plain = load_job(path), load_job(None)
    assert (job.panel.width, job.panel.height) == (304.8, 228.6)
    assert job.panel.frame == pytest.approx(plan_of().frame_mm, abs=5e-4)
    assert (job.material, job.limits, job.islands) == (plain.material, plain.limits, plain.islands)


@pytest.mark.parametrize("name", ["mill\nkerf = 9", "mill\r[material]", 'a"b', "m\u2028x"])
def test_no_name_breaks_out_of_its_comment(name: str, tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text(job_text(plan_of(name)), encoding="utf-8")
    assert load_job(path).panel.width == 304.8


def test_the_story_says_where_each_number_comes_from_and_how_sure_it_is() -> None:
    width, height, scale, filling = size_story(plan_of(width=Measure(36 * FOOT, FOOT)))
    assert width == "width of the house: 36 ft (10973 mm) +- 1 ft (305 mm)"
    assert height.endswith(": 27.5 ft (8382 mm) high")  # 1.5 + 2 x 9 + 8
    assert scale == "scale 1:48, 1/4 in to the foot: 228.6 +- 6.4 x 174.6 mm on the panel"  # 304.8 / 48 = 6.35
    assert filling.startswith("the panel would be filled at 1:")


def test_what_nobody_measured_is_said() -> None:
    house = describe_house(Measure(36 * FOOT), 2, None, None, None)
    story = "\n".join(size_story(plan_start("mill", house, (304.8, 228.6))))
    assert "not measured, but assumed" in story
    assert all(words in story for words in house.assumed)
