"""The label for the back: what is on it, and what isn't; that it fits, prints anywhere and hurts nobody."""

import hashlib
import json
from pathlib import Path

import pytest
from builds import made_of
from lxml import etree
from scenes import Scenes
from tampering import GARDEN

from layercut.job import load_job
from layercut.model import Planned
from layercut.output.contents import folder_files, write_build
from layercut.pipeline import compile_drawing
from layercut.proof.verify import verify_folder
from layercut.views.pages.label import MOST_OF_PANEL, label_svg

WORDS = ("label.title=Harbour at dusk", "label.maker=A. Maker", "label.date=May 2031", "material.name=lime")


def planned(scenes: Scenes, *settings: str, size: tuple[float, float] = (200.0, 150.0)) -> Planned:
    drawing = scenes.drawing([scenes.ground(size)], size=size)
    job = load_job(None, settings)
    return Planned(drawing, job, scenes.stack(drawing, *settings), ())


def words_of(svg: str) -> list[str]:
    root = etree.fromstring(svg.encode())
    return [str(text.text) for text in root.iter("{http://www.w3.org/2000/svg}text")]


def test_it_says_what_the_job_says_and_the_wood(scenes: Scenes) -> None:
    assert words_of(label_svg(planned(scenes, *WORDS))) == ["Harbour at dusk", "A. Maker", "May 2031 · lime"]


@pytest.mark.parametrize("key", ["title", "maker", "date"])
def test_one_key_is_enough(scenes: Scenes, key: str) -> None:
    words = words_of(label_svg(planned(scenes, f"label.{key}=Alder")))
    assert any("Alder" in line for line in words)
    assert "plywood" in words[-1]


def test_without_the_table_there_is_none(scenes: Scenes) -> None:
    assert label_svg(planned(scenes)) == ""


def test_an_empty_table_is_none(tmp_path: Path) -> None:
    (tmp_path / "house.toml").write_text("[label]\n")
    assert not load_job(tmp_path / "house.toml").label.wanted


def test_a_year_and_a_date_without_quotes_are_words(tmp_path: Path) -> None:
    (tmp_path / "house.toml").write_text("[label]\ndate = 2031-05-09\ntitle = 1984\n")
    label = load_job(tmp_path / "house.toml").label
    assert (label.date, label.title) == ("2031-05-09", "1984")


def test_names_are_escaped(scenes: Scenes) -> None:
    svg = label_svg(planned(scenes, 'label.title=<b>Mill & "Weir"', "label.maker=</svg><script>"))
    assert words_of(svg)[0] == '<b>Mill & "Weir"'
    assert "<script" not in svg


def test_long_words_stay_within_the_rule(scenes: Scenes) -> None:
    long = "The ferry house at low tide in the last light of a long summer evening, seen from the mill"
    svg = label_svg(planned(scenes, f"label.title={long}", f"label.maker={'Wolf' * 25}"))
    *title, maker, _ = words_of(svg)
    assert len(title) == 3
    assert " ".join(title) == long
    assert "textLength" in svg.partition(maker)[0].rpartition("<text")[2]


def test_a_small_picture_has_a_small_label(scenes: Scenes) -> None:
    root = etree.fromstring(label_svg(planned(scenes, *WORDS, size=(60.0, 60.0))).encode())
    width, height = (float(str(root.get(side)).removesuffix("mm")) for side in ("width", "height"))
    assert width <= MOST_OF_PANEL * 60 + 1e-3
    assert height / width == pytest.approx(50 / 80, abs=1e-3)


def test_the_folder_has_it_with_its_hash_and_verify_minds_it(tmp_path: Path) -> None:
    (tmp_path / "garden.svg").write_text(GARDEN)
    build = made_of(compile_drawing(tmp_path / "garden.svg", load_job(None, ["islands.policy=loose", *WORDS])))
    write_build(build, tmp_path / "garden")
    label = tmp_path / "garden" / "LABEL.svg"
    named = {one["file"]: one["sha256"] for one in json.loads((label.parent / "manifest.json").read_text())["files"]}
    assert named["LABEL.svg"] == hashlib.sha256(label.read_bytes()).hexdigest()
    assert verify_folder(label.parent).failures == ()
    page = (label.parent / "traveller.html").read_text()
    assert label.read_text().strip() in page
    label.write_text(label.read_text().replace("Maker", "Faker"))
    assert [(one.code, one.file) for one in verify_folder(label.parent).failures] == [("file-changed", "LABEL.svg")]
    label.unlink()
    assert [(one.code, one.file) for one in verify_folder(label.parent).failures] == [("file-missing", "LABEL.svg")]


def test_a_folder_without_a_label_has_no_such_file(tmp_path: Path) -> None:
    (tmp_path / "garden.svg").write_text(GARDEN)
    build = compile_drawing(tmp_path / "garden.svg", load_job(None, ["islands.policy=loose"]))
    assert "LABEL.svg" not in folder_files(build)
