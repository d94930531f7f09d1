"""Choices land in the job file, and nowhere else; what doesn't go with the job changes nothing."""

import tomllib
from pathlib import Path

import pytest

from layercut.errors import JobError, OutputError
from layercut.watching.choices import JobFile, choose_island, choose_length, view_lengths


@pytest.fixture
def job(tmp_path: Path, job_text: str) -> JobFile:
    path = tmp_path / "harbour.toml"
    path.write_text(job_text)
    return JobFile(path, size_mm=(100.0, 80.0))


def test_a_length_changes_in_its_place_and_the_comments_stay(job: JobFile, job_text: str) -> None:
    choose_length(job, "material.kerf", " 0.2mm ")
    assert job.path.read_text() == job_text.replace('"0.15mm"', '"0.2mm"')


def test_an_island_gets_its_own_policy(job: JobFile, job_text: str) -> None:
    for name in ("quay#2", 'with "quotes"\\ and = signs#1', "k\u00fcste.nord#3b"):
        choose_island(job, name, "loose")
        text = job.path.read_text()
        assert tomllib.loads(text)["islands"]["pieces"][name] == "loose"
        assert all(line in text for line in job_text.splitlines() if "#" in line)
    choose_island(job, "quay#2", "tie")
    assert tomllib.loads(job.path.read_text())["islands"]["pieces"]["quay#2"] == "tie"


def test_a_choice_takes_the_place_of_one_under_another_name(job: JobFile) -> None:
    choose_island(job, "quay#2", "loose")
    choose_island(job, "buoy", "tie", ["buoy", "#abcdefg", "quay#2"])
    assert tomllib.loads(job.path.read_text())["islands"]["pieces"] == {"buoy": "tie"}


def test_all_islands_without_a_choice_share_one(job: JobFile, job_text: str) -> None:
    choose_island(job, "", "tie")
    assert job.path.read_text() == job_text.replace('"refuse"', '"tie"')


def test_the_first_choice_makes_the_file_and_nothing_else(tmp_path: Path) -> None:
    job = JobFile(tmp_path / "harbour.toml")
    choose_length(job, "panel.frame", "0.5in")
    assert tomllib.loads(job.path.read_text()) == {"panel": {"frame": "0.5in"}}
    assert [path.name for path in tmp_path.iterdir()] == ["harbour.toml"]


@pytest.mark.parametrize(
    ("key", "value", "sentence"),
    [
        ("material.kerf", "0.2", "needs a unit"),
        ("material.kerf", "5mm", "less than or equal to 2"),
        ("limits.setback", "-1mm", "greater than or equal to 0"),
        ("limits.setback", "wide", "needs a number and a unit"),
        ("panel.frame", "45mm", "leaves nothing of a panel of 100 x 80 mm"),
        ("panel.frame", "1mm", "narrower than the neck limit"),
        ("panel.frame", "1mm\"\n[islands]\npolicy = \"loose", "can't be set here"),
        ("panel.frame", "9" * 300 + "mm", "can't be set here"),
        ("machine.bed_width", "300mm", "can't be set here"),
    ],
)  # fmt: skip
def test_a_bad_value_is_told_and_the_file_stays(
    job: JobFile, job_text: str, key: str, value: str, sentence: str
) -> None:
    with pytest.raises(JobError) as told:
        choose_length(job, key, value)
    assert sentence in told.value.sentence()
    assert told.value.file in {"", "harbour.toml"}
    assert job.path.read_text() == job_text
    assert [path.name for path in job.path.parent.iterdir()] == ["harbour.toml"]


def test_who_reads_inches_is_told_in_inches(tmp_path: Path) -> None:
    job = JobFile(tmp_path / "harbour.toml", size_mm=(101.6, 76.2))
    job.path.write_text('[page]\nunits = "in"\n')
    with pytest.raises(JobError) as told:
        choose_length(job, "panel.frame", "2in")
    assert "a frame of 2 in leaves nothing of a panel of 4 × 3 in. Make" in told.value.sentence()  # noqa: RUF001
    assert [view.value for view in view_lengths(job)] == ["1/4in", "0.0394in", "0.0059in"]
    assert [view.value for view in view_lengths(JobFile(job.path, ("page.units=mm",)))] == ["6.35mm", "1mm", "0.15mm"]


def test_only_known_policies(job: JobFile, job_text: str) -> None:
    with pytest.raises(JobError):
        choose_island(job, "quay#2", "glue")
    assert job.path.read_text() == job_text


def test_a_broken_job_file_is_left_as_it_is(job: JobFile) -> None:
    for broken in (b"[material\nkerf", b"\xff\xfe", b"[material]\nkref = '1mm'\n"):
        job.path.write_bytes(broken)
        with pytest.raises(JobError):
            choose_length(job, "material.kerf", "0.2mm")
        assert job.path.read_bytes() == broken


def test_a_link_stays_a_link_and_rights_stay(tmp_path: Path, job_text: str) -> None:
    real = tmp_path / "jobs" / "real.toml"
    real.parent.mkdir()
    real.write_text(job_text)
    real.chmod(0o640)
    link = tmp_path / "harbour.toml"
    link.symlink_to(real)
    choose_length(JobFile(link), "material.kerf", "0.2mm")
    assert link.is_symlink()
    assert '"0.2mm"' in real.read_text()
    assert real.stat().st_mode & 0o777 == 0o640


def test_a_folder_that_is_gone_is_told(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="can't be written"):
        choose_length(JobFile(tmp_path / "gone" / "harbour.toml"), "material.kerf", "0.2mm")


def test_lengths_are_shown_as_written_and_those_of_the_command_line_are_fixed(job: JobFile) -> None:
    shown = {one.key: one for one in view_lengths(JobFile(job.path, ("limits.setback=2mm",)))}
    assert (shown["material.kerf"].value, shown["material.kerf"].fixed) == ("0.15mm", False)
    assert (shown["panel.frame"].value, shown["panel.frame"].fixed) == ("6.35mm", False)
    assert shown["limits.setback"].fixed
