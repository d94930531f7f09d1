"""Job files and settings that no maker means: each refused in one sentence, in no time."""

import time
import warnings
from contextlib import suppress
from pathlib import Path

import pytest

from layercut import JobError, compile_drawing, load_job
from layercut.job import known_keys
from layercut.job_text import MAX_KEY_PARTS, parse_toml
from layercut.output.contents import folder_files

ODD_FILES = {
    "digits": "[material]\nkerf = " + "9" * 5_000,
    "parts": ".".join(["a"] * 100_000) + " = 1",
    "quoted parts": ".".join(['"a"'] * 100_000) + " = 1",
    "table of parts": "[" + ".".join(["a"] * 100_000) + "]",
    "nested lists": "a = " + "[" * 50_000 + "]" * 50_000,
    "nested tables": "a = " + "{a=" * 50_000,
    "bell": '[material]\nname = "a\\u0007b"',
    "deleted": '[material]\nname = "a\\u007fb"',
    "line end": '[material]\nname = "a\\u2028b"',
    "turned": '[material]\nname = "\\u202egnp.kcab"',
    "word in a list": '[paint]\nstain = ["a\\u001b[31m"]',
    "key": '[layers."a\\u0000"]\nface = "lines"',
    "path": '[paint]\nrack = "a\\u0000.csv"',
}


@pytest.mark.parametrize("name", ODD_FILES)
def test_an_odd_file_is_one_sentence(name: str, tmp_path: Path) -> None:
    path = tmp_path / "house.toml"
    path.write_text(ODD_FILES[name])
    begun = time.process_time()
    with pytest.raises(JobError) as caught:
        load_job(path)
    assert time.process_time() - begun < 10
    sentence = caught.value.sentence()
    assert sentence.startswith("house.toml: ")
    assert sentence.isprintable()
    assert len(sentence) < 300


ODD_SETTINGS = [
    "material.kerf=" + "9" * 5_000,
    "material.kerf=" + "[" * 50_000,
    "material.kerf=" + "[" * 500 + "]" * 500,
    "material.name=" + "[" * 500 + "]" * 500,
    ".".join(["a"] * 5_000) + "=1",
    "hanging.extra=1e308kg",
    "machine.cut_speed=1e308m/s",
    "machine.cut_speed=1e-300mm/s",
    "machine.acceleration=1e308m/s2",
    "machine.row_pitch=1e-300mm",
    "hanging.wire_angle=1e-300deg",
    "material.density=1e308kg/m3",
    "material.thickness=1e-300mm",
    "material.name=a\x07b",
    "material.name=\ud800",
]


@pytest.mark.parametrize("setting", ODD_SETTINGS, ids=lambda setting: ascii(setting[:30]))
def test_an_odd_setting_is_one_sentence(setting: str) -> None:
    with pytest.raises(JobError) as caught:
        load_job(None, [setting])
    assert len(caught.value.sentence()) < 6_000
    assert "--set" in caught.value.sentence()


def test_words_of_every_script_are_welcome() -> None:
    for name in ("chêne", "合板", "लकड़ी", "خشب", "sapin 🌲", "👩\u200d🎨"):
        assert load_job(None, [f'material.name="{name}"']).material.name == name


def test_a_key_of_a_few_parts_is_read() -> None:
    deep = ".".join(["a"] * MAX_KEY_PARTS)
    assert parse_toml(f"{deep} = 1")
    with pytest.raises(ValueError, match="parts"):
        parse_toml(f"{deep}.a = 1")


SCENE = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="50mm" viewBox="0 0 60 50">
<g id="back"><rect width="60" height="50" fill="#aaccee"/></g><g id="front">
<path d="M0 50V30h20v-10h10v10h30v20z" fill="#884422"/><circle cx="45" cy="20" r="4" fill="#884422"/>
<path d="M24 24h3v3h-3z" fill="#fff" data-layercut="mark-area"/><path d="M10 35h12" stroke="#000" stroke-width=".2"/>
</g></svg>"""

LEAST = ["1e-300mm", "0.0005mm", "100000mm"]


@pytest.mark.parametrize("key", ["panel.corner", "material.kerf", "limits.setback", "islands.tie_width"])
@pytest.mark.parametrize("value", LEAST)
def test_lengths_at_the_ends_of_what_is_taken_make_a_piece_or_one_sentence(
    key: str, value: str, tmp_path: Path
) -> None:
    """tests/bench/fuzz.py tries every key so; these were faults once, or are their neighbours."""
    assert key in known_keys()
    path = tmp_path / "house.svg"
    path.write_text(SCENE)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with suppress(JobError):
            build = compile_drawing(path, load_job(None, ["islands.policy=tie", f"{key}={value}"]))
            assert build.makeable
            assert folder_files(build)
