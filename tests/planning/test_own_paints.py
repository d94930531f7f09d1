"""The maker's own paints: reading the file, the nearest paint, and one clear sentence for what is no list of them."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from coloraide import Color

from layercut.errors import JobError
from layercut.planning.own_paints import LIMIT_PAINTS, Matcher, OwnPaints, read_own


def own_of(tmp_path: Path, text: str | bytes) -> OwnPaints:
    data = text if isinstance(text, bytes) else text.encode()
    (tmp_path / "own.csv").write_bytes(data)
    return read_own(tmp_path, "own.csv")


@pytest.mark.parametrize(
    "text",
    [
        "name,hex\nbarn red,#8c2f24\nlinen,#EFE6D2\n",
        "\ufeffName , Hex\r\nbarn red , 8C2F24\r\n\r\nlinen,efe6d2\r\n",
        "hex,shelf,name\n#8c2f24,3,barn red\n#efe6d2,,linen\n",
        "barn red,#8c2f24\nlinen,#efe6d2\n",
        '"barn red",#8c2f24\n"linen",#efe6d2',
    ],
)
def test_paints_are_read(tmp_path: Path, text: str) -> None:
    assert own_of(tmp_path, text).paints == (("barn red", "#8c2f24"), ("linen", "#efe6d2"))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "holds no paint"),
        ("name,hex\n", "holds no paint"),
        ("name,hex\nbarn red,red\n", "line 2 has no paint: it lacks a colour"),
        ("name,hex\nlinen,#efe6d2\n,#efe6d2\n", "line 3 has no paint: it lacks a name"),
        ("name,hex\nlinen\n", "line 2"),
        (b"\xff\xfe\x00name", "UTF-8"),
        ("name,hex\n" + "x,#000000\n" * (LIMIT_PAINTS + 1), "more than 5000"),
        ("x" * 1_000_001, "larger than 1 MB"),
    ],
)
def test_what_is_no_list_of_paints_is_told_in_one_sentence(tmp_path: Path, text: str | bytes, words: str) -> None:
    with pytest.raises(JobError) as caught:
        own_of(tmp_path, text)
    assert words in caught.value.message
    assert (caught.value.code, caught.value.file) == ("own-unreadable", "own.csv")
    assert "\n" not in caught.value.sentence()


def test_a_missing_list_says_where_it_was_looked_for(tmp_path: Path) -> None:
    with pytest.raises(JobError, match="no such list") as caught:
        read_own(tmp_path, "paints.csv")
    assert "from where the drawing is" in caught.value.hint


def test_the_nearest_is_nearest_by_the_published_difference_not_by_plain_distance() -> None:
    """A saturated blue: CIELAB overstates differences there, so that plain distance picks the other paint."""
    paints = (("violet", "#3a10ff"), ("sky", "#0040e0"))
    wanted = Color("#0010ff").convert("lab-d65")
    labs = [Color(colour).convert("lab-d65") for _, colour in paints]
    exact = [wanted.delta_e(lab, method="2000") for lab in labs]
    found = Matcher(OwnPaints("r", paints)).nearest("#0010ff")
    assert found.difference == pytest.approx(min(exact))
    assert found.name == paints[int(np.argmin(exact))][0]


def test_the_first_of_equal_paints_and_none_at_all_between_a_colour_and_itself() -> None:
    found = Matcher(OwnPaints("r", (("one", "#336699"), ("two", "#336699")))).nearest("#336699")
    assert (found.name, found.colour) == ("one", "#336699")
    assert found.difference == pytest.approx(0, abs=1e-9)


def test_a_large_list_gives_the_same_as_comparing_all() -> None:
    rng = np.random.default_rng(7)
    paints = tuple((f"p{k}", "#" + bytes(rgb).hex()) for k, rgb in enumerate(rng.integers(0, 256, (300, 3)).tolist()))
    matcher = Matcher(OwnPaints("r", paints))
    labs = [Color(colour).convert("lab-d65") for _, colour in paints]
    for rgb in rng.integers(0, 256, (8, 3)).tolist():
        colour = "#" + bytes(rgb).hex()
        wanted = Color(colour).convert("lab-d65")
        best = min(wanted.delta_e(lab, method="2000") for lab in labs)
        assert matcher.nearest(colour).difference == pytest.approx(best)


def test_no_other_colour_library_is_imported_for_them() -> None:
    """It would take a tenth of a second each time the program starts."""
    words = "import sys, layercut.pipeline, layercut.planning.own_paints; print('coloraide' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
