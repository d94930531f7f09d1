"""A drawing of one layer is told that it is a plain picture; one of two isn't."""

from pathlib import Path

import pytest
from scenes import Scenes

from layercut.drawing.depth import depth_findings
from layercut.job import Job
from layercut.pipeline import compile_drawing

GROUND = '<path fill="#8c2f24" d="M0 0H60V40H0Z"/>'
HILL = '<path fill="#57606a" d="M0 30H60V40H0Z"/>'


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (f'<g id="barn">{GROUND}</g>', 1),
        (f'<g id="barn"><g id="far">{GROUND}</g><g id="near">{HILL}</g></g>', 0),
        (f'<g id="far">{GROUND}</g><g id="near">{HILL}</g>', 0),
        (f'<g id="barn">{GROUND}</g><g id="guide">{HILL}</g>', 1),
        (f'<g id="barn">{GROUND}</g><g id="off" display="none">{HILL}</g>', 1),
    ],
)
def test_a_stack_of_one_is_told(tmp_path: Path, body: str, told: int) -> None:
    path = tmp_path / "barn.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">{body}</svg>'
    )
    build = compile_drawing(path, Job())
    mine = [finding for finding in build.findings if finding.code == "single-layer"]
    assert len(mine) == told
    assert build.makeable
    if told:
        assert (mine[0].severity, mine[0].layer) == ("info", "barn")
        assert "plain picture" in mine[0].message


def test_nothing_is_said_of_no_layer(scenes: Scenes) -> None:
    assert depth_findings(scenes.drawing()) == ()
