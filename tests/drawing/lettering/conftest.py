"""The machine's own fonts are kept out."""

from pathlib import Path

import pytest
from box_fonts import Read, build_font
from drawn import HEAD

from layercut.drawing import read_drawing
from layercut.drawing.lettering import fonts as fonts_module
from layercut.job import load_job
from layercut.model import Drawing


@pytest.fixture(autouse=True)
def _no_system_fonts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fonts_module, "_fontconfig", lambda *_: "")
    monkeypatch.setattr(fonts_module, "_usual_folders", list)


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Reads a body in a layer whose texts are 10 mm high in the font Boxes, which the job lists."""
    build_font(tmp_path / "boxes.ttf", "Boxes")

    def read_it(body: str, *settings: str, family: str = "Boxes") -> Drawing:
        path = tmp_path / "text.svg"
        wood = '<rect id="board" width="100" height="100" fill="#dcb"/>'
        path.write_text(f'{HEAD}<g id="a" font-family="{family}" font-size="10">{wood}{body}</g></svg>', "utf-8")
        return read_drawing(path, load_job(None, ['marks.fonts=["boxes.ttf"]', *settings]))

    return read_it
