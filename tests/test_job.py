"""The job file: units, unknown keys, settings that win, and one clear sentence for whatever is wrong."""

import contextlib
import re
from pathlib import Path

import pydantic
import pytest
from hypothesis import given
from hypothesis import strategies as st

from layercut.errors import JobError
from layercut.job import Job, known_keys, load_job
from layercut.job_values import parse_length

SAMPLES = Path(__file__).parents[1] / "samples"


def job_of(tmp_path: Path, text: str) -> Job:
    path = tmp_path / "house.toml"
    path.write_text(text, encoding="utf-8")
    return load_job(path)


def refusal(tmp_path: Path, text: str) -> JobError:
    with pytest.raises(JobError) as caught:
        job_of(tmp_path, text)
    assert "\n" not in caught.value.sentence()
    assert caught.value.exit_code == 2
    return caught.value


# The inch is 25.4 mm (1959); CSS Values 3, section 6.2: 1in = 96px = 72pt.
@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("3mm", 3.0),
        ("0.3 cm", 3.0),
        ("0.25in", 6.35),
        ("1ft", 304.8),
        ("72pt", 25.4),
        ("96px", 25.4),
        (" 1M ", 1000.0),
        ("3/8in", 9.525),
        ("1/4 in", 6.35),
        ("6 1/2in", 165.1),
        ("  6  1/2 in ", 165.1),
        ("0/2in", 0.0),
        ("1/3m", 1000 / 3),
    ],
)
def test_lengths_in_every_unit(text: str, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize("value", [0, 0.0, "0", "0mm"])
def test_zero_needs_no_unit(value: object) -> None:
    assert parse_length(value) == 0.0


@pytest.mark.parametrize(
    "value",
    [
        3,
        0.25,
        True,
        False,
        None,
        "3",
        "mm",
        "3 mm wide",
        "3mm 4mm",
        "1/4",
        "6 1/2",
        "1/0in",
        "1/2/3in",
        "6 1/2 1/2in",
        "1.5/2in",
        "/2in",
        "1/in",
        "1 2in",
        "1/-2in",
        [],
        "inf mm",
    ],
)
def test_a_length_without_number_or_unit_is_refused(value: object) -> None:
    with pytest.raises(ValueError, match="needs a"):
        parse_length(value)


def test_a_length_in_an_unknown_unit_names_the_known_ones() -> None:
    with pytest.raises(ValueError, match=r"one of mm, cm, m, in, ft, pt, px"):
        parse_length("3 parsec")


@given(st.floats(min_value=0.001, max_value=1000), st.sampled_from(["cm", "in", "pt"]))
def test_a_length_is_proportional_to_its_number(number: float, unit: str) -> None:
    assert parse_length(f"{number!r}{unit}") == pytest.approx(number * parse_length(f"1{unit}"), rel=1e-12)


def test_without_a_file_every_key_has_a_default() -> None:
    job = load_job(None)
    assert job == Job()
    assert (job.panel.width, job.panel.frame, job.material.kerf) == (None, 6.35, 0.15)
    assert job.islands.policy == "auto"


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("material.kerf=0.2in", "'material.kerf': input should be less than or equal to 5/64 in, not '0.2in'."),
        ("material.kerf=9mm", "'material.kerf': input should be less than or equal to 2, not 9.0."),
        ("limits.setback=-1in", "'limits.setback': input should be greater than or equal to 0, not '-1in'."),
    ],
)
def test_a_bound_is_told_in_the_unit_that_was_typed(setting: str, words: str) -> None:
    with pytest.raises(JobError, match=re.escape(words.split(": ", 1)[1])):
        load_job(None, [setting])


def test_a_file_is_read_in_mm(tmp_path: Path) -> None:
    text = '[panel]\nwidth = "11in"\n[machine]\ncut_speed = "600mm/min"\n[material]\ndensity = "0.68g/cm3"\n'
    job = job_of(tmp_path, text)
    assert job.panel.width == pytest.approx(279.4)
    assert job.machine.cut_speed == pytest.approx(10.0)
    assert job.material.density == pytest.approx(680.0)


def test_a_file_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    assert job_of(tmp_path, '\ufeff[material]\nname = "lime"\n').material.name == "lime"


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*/*.toml")), ids=lambda path: path.stem)
def test_the_samples_jobs_load(path: Path) -> None:
    assert load_job(path).panel.width


def test_a_job_cannot_be_changed() -> None:
    with pytest.raises(pydantic.ValidationError, match="frozen"):
        load_job(None).panel.frame = 3.0


@pytest.mark.parametrize(
    ("text", "key", "near"),
    [
        ('[panel]\nframes = "3mm"\n', "panel.frames", "panel.frame"),
        ('[material]\nkref = "0.1mm"\n', "material.kref", "material.kerf"),
        ('[materials]\nkerf = "0.1mm"\n', "materials", "material"),
        ('kerf = "0.1mm"\n', "kerf", "material.kerf"),
        ('[panel]\nkerf = "0.1mm"\n', "panel.kerf", "material.kerf"),
        ('[layers.boat]\nfaces = "lines"\n', "layers.boat.faces", "layers.boat.face"),
    ],
)
def test_an_unknown_key_offers_the_nearest(tmp_path: Path, text: str, key: str, near: str) -> None:
    error = refusal(tmp_path, text)
    assert error.code == "job-unknown-key"
    assert error.file == "house.toml"
    assert f"'{key}'" in error.message
    assert f"'{near}'" in error.hint


def test_a_key_like_no_other_is_told_what_there_is(tmp_path: Path) -> None:
    """Whoever installed the program has no docs beside it."""
    assert refusal(tmp_path, "[qqqqqqqq]\n").hint.startswith("The tables are panel, material, ")
    assert (
        refusal(tmp_path, "[panel]\nqqq = 1\n").hint
        == "[panel] has width, height, frame, corner, pins, pin_diameter."
    )
    assert refusal(tmp_path, "[layers.boat]\nqqq = 1\n").hint.startswith("[layers.boat] has face, ")


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("[panel]\nframe = 6\n", "unit"),
        ('[panel]\nframe = "6"\n', "unit"),
        ('[panel]\nframe = "-6mm"\n', "panel.frame"),
        ('[material]\nkerf = "3mm"\n', "material.kerf"),
        ('[material]\nthickness = "0mm"\n', "material.thickness"),
        ('[material]\nname = ""\n', "material.name"),
        ('[islands]\npolicy = "glue"\n', "'auto', 'refuse', 'tie', 'loose' or 'behind'"),
        ('[roles]\ncut_outline = "red"\n', "six hexadecimal digits"),
        ('[roles]\ncut_outline = "#56b4e9"\n', "four different colours"),
        ('[paint.roles]\n"#ff0000" = "burn"\n', "mark-line"),
        ('[machine]\ncut_speed = "0mm/s"\n', "machine.cut_speed"),
        ('panel = "wide"\n', "panel"),
    ],
)
def test_a_wrong_value_names_its_key(tmp_path: Path, text: str, word: str) -> None:
    error = refusal(tmp_path, text)
    assert error.code == "job-value"
    assert error.file == "house.toml"
    assert word in error.sentence()


@pytest.mark.parametrize(
    "data",
    [b"\xff\xfe\x00", b"[panel\n", b"a = " + b"[" * 5000, b"x" * 1_000_001, b"[panel]\n[panel]\n", b"<svg/>"],
    ids=["binary", "broken", "deep", "large", "twice", "svg"],
)
def test_what_is_no_job_file_is_one_sentence(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "house.toml"
    path.write_bytes(data)
    with pytest.raises(JobError) as caught:
        load_job(path)
    assert caught.value.code == "job-unreadable"
    assert "\n" not in caught.value.sentence()


def test_a_missing_file_and_a_folder_are_one_sentence(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(JobError) as caught:
            load_job(path)
        assert caught.value.code == "job-unreadable"
        assert str(path) in caught.value.sentence()


def test_settings_win_over_the_file_and_the_last_wins(tmp_path: Path) -> None:
    path = tmp_path / "house.toml"
    path.write_text('[material]\nkerf = "0.1mm"\nname = "lime"\n')
    job = load_job(path, ["material.kerf=0.2mm", "material.kerf = 0.3mm"])
    assert (job.material.kerf, job.material.name) == (0.3, "lime")


def test_settings_take_words_numbers_and_dashes() -> None:
    job = load_job(None, ["panel.pins=true", "panel.pin-diameter=3mm", 'material.name="a=b"', "limits.setback=0"])
    assert (job.panel.pins, job.panel.pin_diameter) == (True, 3.0)
    assert (job.material.name, job.limits.setback) == ("a=b", 0.0)


@pytest.mark.parametrize("setting", ["", "kerf", "=", "material.=1mm", ".kerf=1mm", "material=lime", "material.kerf"])
def test_what_is_no_setting_is_refused(setting: str) -> None:
    with pytest.raises(JobError) as caught:
        load_job(None, [setting])
    assert caught.value.file == "--set"
    assert caught.value.code == "job-setting"


def test_a_setting_through_a_value_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "house.toml"
    path.write_text('[material]\nkerf = "0.1mm"\n')
    with pytest.raises(JobError, match="not a table"):
        load_job(path, ["material.kerf.wide=1mm"])


def test_a_wrong_file_is_not_blamed_on_a_setting(tmp_path: Path) -> None:
    path = tmp_path / "house.toml"
    path.write_text("[material]\nkerf = 3\n")
    with pytest.raises(JobError) as caught:
        load_job(path, ["panel.pins=true"])
    assert caught.value.file == "house.toml"


def test_known_keys_are_the_models() -> None:
    keys = list(known_keys())
    assert {"panel.frame", "material.kerf", "islands.policy", "paint.roles"} <= set(keys)
    assert len(keys) == len(set(keys))


@given(st.text(max_size=60))
def test_any_text_is_a_job_or_one_sentence(text: str) -> None:
    with contextlib.suppress(JobError):  # any other exception fails the test
        assert isinstance(load_job(None, [text]), Job)
