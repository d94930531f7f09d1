"""Old names of settings: one sentence with the new name, from the job file and from --set alike."""

from pathlib import Path
from typing import get_args

import pytest

from layercut.errors import JobError
from layercut.job import known_keys, load_job
from layercut.job_values import SingleLineFace
from layercut.renamed import KEYS, VALUES


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ('[paint]\nrack = "mine.csv"\n', "'paint.rack' is now called 'paint.own'."),
        ("[paint]\nrack_limit = 4\n", "'paint.rack_limit' is now called 'paint.own_limit'."),
        (
            '[machine]\ncorner_deviation = "0.1mm"\n',
            "'machine.corner_deviation' is now called 'machine.corner_rounding'.",
        ),
        (
            '[marks]\nsingle_line = "timesrb"\n',
            "'timesrb', the value of 'marks.single_line', is now called 'roman-bold'.",
        ),
    ],
)
def test_an_old_job_file_is_told_the_new_name(tmp_path: Path, text: str, sentence: str) -> None:
    path = tmp_path / "house.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(JobError) as caught:
        load_job(path)
    assert (caught.value.code, caught.value.file) == ("job-renamed", "house.toml")
    assert caught.value.message == sentence


@pytest.mark.parametrize("setting", ["paint.rack-limit=4", "machine.corner_deviation=0", "marks.single_line=futural"])
def test_an_old_setting_is_told_the_new_name(setting: str) -> None:
    with pytest.raises(JobError, match="is now called") as caught:
        load_job(None, [setting])
    assert (caught.value.code, caught.value.file) == ("job-renamed", "--set")


def test_every_new_name_exists_and_no_old_one_does() -> None:
    known = set(known_keys())
    assert set(KEYS.values()) <= known
    assert not set(KEYS) & known
    assert set(VALUES) <= known
    words = VALUES["marks.single_line"]
    assert set(words.values()) <= set(get_args(SingleLineFace))
    assert len(set(words.values())) == len(words)
