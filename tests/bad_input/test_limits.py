"""Each limit of docs/limits.md that refuses a whole drawing says how many there are and how many may be, at once.

The constants are set low here; `tests/bench/big_inputs.py` tries them as they are.
"""

from pathlib import Path

import pytest

from layercut.drawing import document, layers
from layercut.errors import DrawingError
from layercut.geometry.precision import MAX_PANEL_MM
from layercut.job import Job
from layercut.pipeline import compile_drawing
from layercut.stack import faces, resolve_islands

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'


def refusal(body: str, folder: Path, head: str = HEAD) -> DrawingError:
    path = folder / "mill.svg"
    path.write_text(f"{head}{body}</svg>")
    with pytest.raises(DrawingError) as caught:
        compile_drawing(path, Job())
    return caught.value


def makes(body: str, folder: Path) -> bool:
    path = folder / "mill.svg"
    path.write_text(f"{HEAD}{body}</svg>")
    return compile_drawing(path, Job()).makeable


def group(name: str, *shapes: str) -> str:
    return f'<g id="{name}">{"".join(shapes)}</g>'


def rect(x: float, colour: str) -> str:
    return f'<rect x="{x}" width="60" height="40" fill="{colour}"/>'


def test_elements_are_counted_before_the_tree_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(document, "MAX_TAGS", 4)
    assert makes(group("sky", rect(0, "#88aacc"), "<g/>"), tmp_path)
    monkeypatch.setattr(document, "_parse", None)
    error = refusal(group("sky", rect(0, "#88aacc"), "<g></g>", "<g/>"), tmp_path)
    assert (error.code, error.message) == ("too-many-elements", "the file holds 5 elements; the most is 4.")


def test_layers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Guides and hidden layers don't count."""
    monkeypatch.setattr(layers, "MAX_LAYERS", 2)
    two = group("a", rect(0, "#88aacc")) + group("guide", rect(0, "#000000")) + group("b", rect(0, "#224466"))
    assert makes(two, tmp_path)
    error = refusal(two + group("c", rect(0, "#446688")), tmp_path)
    assert error.code == "too-many-layers"
    assert error.message == "the drawing has 4 top-level groups; the most that can be sheets is 2."


def test_outlines_that_meet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only those that meet count: a ring around another has its box around it, and doesn't meet it."""
    monkeypatch.setattr(faces, "MAX_MEETINGS", 2)
    squares = [f'<rect x="{x}" y="10" width="9" height="9" fill="#{x % 10}04422"/>' for x in (5, 11, 17, 23)]
    wall = group("wall", rect(0, "#88aacc"))
    assert makes(wall + group("front", '<rect width="60" height="40" fill="#123456"/>', *squares[:3]), tmp_path)
    error = refusal(wall + group("front", '<rect width="60" height="40" fill="#123456"/>', *squares), tmp_path)
    assert (error.code, error.layer) == ("too-crowded", "front")
    assert error.message == "its shapes cross or touch each other at 3 places; the most is 2."


def test_islands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Those that are cut loose don't count."""
    monkeypatch.setattr(resolve_islands, "MAX_ISLANDS", 2)
    leaves = [f'<rect x="{x}" y="14" width="5" height="5" fill="#304422"/>' for x in (12, 22, 32)]
    wall = group("wall", rect(0, "#88aacc"))
    assert makes(wall + group("front", *leaves[:2]), tmp_path)
    error = refusal(wall + group("front", *leaves), tmp_path)
    assert (error.code, error.layer) == ("too-many-islands", "front")
    assert error.message.startswith(
        "3 pieces of its wood would fall out; the most that can be tied or chosen for is 2"
    )


def test_a_panel(tmp_path: Path) -> None:
    head = HEAD.replace("60mm", "60000mm").replace("40mm", "40000mm")
    error = refusal(group("sky", rect(0, "#88aacc")), tmp_path, head)
    assert error.code == "size"
    assert f"the most is {MAX_PANEL_MM:g} mm" in error.message
