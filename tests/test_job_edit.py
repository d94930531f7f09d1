"""Setting one key of a job file leaves the rest as the maker wrote it."""

import tomllib

import pytest

from layercut.errors import JobError
from layercut.job_edit import rename_key, set_key

TEXT = """# my job

[material]  # the wood
name = "birch"   # from the shop
kerf   = "0.15mm"  # a guess

# what the frame is
[panel]
width="300mm"
"""


def test_only_the_value_changes() -> None:
    assert set_key(TEXT, "material.kerf", "0.18mm") == TEXT.replace("0.15mm", "0.18mm")


def test_a_new_key_comes_before_the_comment_of_the_next_table() -> None:
    changed = set_key(TEXT, "material.thickness", "3mm")
    assert changed == TEXT.replace("# a guess\n", '# a guess\nthickness = "3mm"\n')


def test_missing_tables_are_made() -> None:
    assert tomllib.loads(set_key("", "material.kerf", "1mm")) == {"material": {"kerf": "1mm"}}
    changed = set_key(TEXT, 'islands.layers."old mill".policy', "tie")
    assert changed.startswith(TEXT)
    assert tomllib.loads(changed)["islands"] == {"layers": {"old mill": {"policy": "tie"}}}


@pytest.mark.parametrize("value", ["a", True, 3, 0.5])
def test_kinds_of_values(value: str | bool | float) -> None:
    assert tomllib.loads(set_key(TEXT, "panel.pins", value))["panel"]["pins"] == value


@pytest.mark.parametrize(
    "text",
    [
        'material = {name = "x"}\n',
        'material.name = "x"\n',
        "[material]",
        "[material]\r\nname = 'x'\r\n",
        "[a.b]\nx = 1\n[material]\n[a.c]\ny = 2\n",
    ],
)
def test_other_ways_to_write_a_table(text: str) -> None:
    before = tomllib.loads(text)
    after = tomllib.loads(set_key(text, "material.kerf", "1mm"))
    assert after.pop("material")["kerf"] == "1mm"
    before.pop("material")
    assert after == before


def test_windows_line_ends_and_the_byte_order_mark_stay() -> None:
    text = "\ufeff[material]\r\nkerf = '1mm' # x\r\n"
    assert set_key(text, "material.kerf", "2mm") == '\ufeff[material]\r\nkerf = "2mm" # x\r\n'


@pytest.mark.parametrize(
    ("text", "key", "code"),
    [
        ("x = = 1", "material.kerf", "job-unreadable"),
        ("[material", "material.kerf", "job-unreadable"),
        ("material = 3", "material.kerf", "job-setting"),
        ("", "", "job-setting"),
        ("", "a b", "job-setting"),
        ("", "a\nb", "job-setting"),
    ],
)
def test_what_cannot_be_changed_is_refused(text: str, key: str, code: str) -> None:
    with pytest.raises(JobError) as caught:
        set_key(text, key, "1mm", file="house.toml")
    assert caught.value.code == code
    assert caught.value.file == "house.toml"


def test_a_key_is_renamed_with_its_comment_and_the_rest_stays() -> None:
    text = '# mine\n[islands.pieces]\n"roses#35" = "tie"  # the leaf\nbird = "loose"  # it flies\n\n[marks]\n'
    renamed = rename_key(text, 'islands.pieces."roses#35"', "fallen leaf")
    assert tomllib.loads(renamed)["islands"]["pieces"] == {"bird": "loose", "fallen leaf": "tie"}
    assert renamed == (
        '# mine\n[islands.pieces]\nbird = "loose"  # it flies\n"fallen leaf" = "tie"  # the leaf\n\n[marks]\n'
    )
    assert tomllib.loads(rename_key(text, 'islands.pieces."roses#35"', "bird"))["islands"]["pieces"] == {
        "bird": "loose"
    }
    assert rename_key(text, "islands.pieces.fish", "bird") == text
    assert rename_key(text, "paint.stain.wood", "bird") == text
