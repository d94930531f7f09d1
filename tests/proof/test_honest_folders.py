"""A good folder is never refused: random drawings full of marks, written and verified.

`python tests/bench/honest_folders.py --scenes 500` tries many more.
"""

from pathlib import Path
from random import Random

import pytest
from marked_scenes import made_build, marked_scene, marked_settings, write_build

from layercut.job import load_job
from layercut.proof.verify import verify_folder


@pytest.mark.parametrize("seed", range(1000, 1012))
def test_a_good_folder_holds(seed: int, tmp_path: Path) -> None:
    chance = Random(seed)
    drawing, settings = marked_scene(chance), ["panel.pins=false", "islands.policy=loose"]
    build, verdict = made_build(drawing, load_job(None, [*marked_settings(chance), *settings]))
    write_build(build, tmp_path / "folder")
    codes = [problem.code for problem in verify_folder(tmp_path / "folder").failures]
    if verdict is None:
        assert codes == ["no-sheets"]
    else:
        assert verdict.failures == ()
        assert codes == []


def test_the_scenes_have_what_is_to_be_proven() -> None:
    shapes = [
        shape for seed in range(1000, 1012) for layer in marked_scene(Random(seed)).layers for shape in layer.shapes
    ]
    roles = [shape.role for shape in shapes]
    assert roles.count("mark-line") > 30
    assert roles.count("mark-area") > 30
