"""Choices of the job file through edits of a drawing: each stays with its piece, or it is told that it doesn't."""

from collections.abc import Callable
from pathlib import Path

import pytest

from layercut.drawing import read_drawing
from layercut.geometry.regions import Region
from layercut.job import load_job
from layercut.model import Planned
from layercut.pipeline import plan_drawing

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">
<g id="sky"><rect width="100" height="80" fill="#a9cfe0"/></g>
<g id="roses">
<path id="stem" d="M0 66H100V80H0Z" fill="#47693f"/>
<path d="M20 20h7v5h-7z" fill="#6d8f4f"/>
<path id="bird" d="M50 20h9v6h-9z" fill="#5a4a3a"/>
<path id="spray" d="M20 40h6v6h-6z M35 40h5v7h-5z" fill="#c9566b"/>
</g>
</svg>"""

LEAF = '<path d="M20 20h7v5h-7z" fill="#6d8f4f"/>\n'
NEW = '<path d="M80 40h6v6h-6z" fill="#6d8f4f"/>\n'
BIRD = '<path id="bird" d="M50 20h9v6h-9z" fill="#5a4a3a"/>\n'

Compile = Callable[..., Planned]


@pytest.fixture
def build(tmp_path: Path) -> Compile:
    def make(text: str, pieces: dict[str, str] | None = None, more: str = "") -> Planned:
        drawing, job = tmp_path / "garden.svg", tmp_path / "garden.toml"
        drawing.write_text(text)
        lines = "".join(f'"{name}" = "{policy}"\n' for name, policy in (pieces or {}).items())
        job.write_text(f'[islands]\npolicy = "refuse"\n[islands.pieces]\n{lines}{more}')
        loaded = load_job(job)
        return plan_drawing(read_drawing(drawing, loaded), loaded)

    return make


def _done(build: Planned) -> dict[tuple[int, int], str]:
    """What is done with each piece, by the place of its top left corner in whole mm."""
    done = {}
    for layer in build.stack.layers:
        for island in layer.islands:
            done[_corner(island.region)] = "refuse"
        for piece in layer.loose:
            if not piece.riser:
                done[_corner(piece.region)] = "loose"
    return done


def _corner(region: Region) -> tuple[int, int]:
    return (round(region.bounds[0]), round(region.bounds[1]))


def _told(build: Planned) -> list[tuple[str, str]]:
    codes = {"name-unmatched", "name-old", "choice-idle"}
    return [(finding.code, finding.element) for finding in build.findings if finding.code in codes]


@pytest.fixture
def chosen(build: Compile) -> dict[str, str]:
    """The leaf, the bird and the spray's left half loose, by the names that the findings give."""
    names = {_corner(island.region): island.id for island in build(DRAWING).stack.layers[1].islands}
    assert set(names) == {(20, 20), (50, 20), (20, 40), (35, 40)}
    assert names[50, 20] == "bird"
    return {names[place]: "loose" for place in ((20, 20), (50, 20), (20, 40))}


AS_CHOSEN = {(20, 20): "loose", (50, 20): "loose", (20, 40): "loose", (35, 40): "refuse"}


def test_as_drawn(build: Compile, chosen: dict[str, str]) -> None:
    made = build(DRAWING, chosen)
    assert (_done(made), _told(made)) == (AS_CHOSEN, [])


@pytest.mark.parametrize(
    ("old", "new", "more"),
    [
        (LEAF, NEW + LEAF, {(80, 40): "refuse"}),
        (LEAF + BIRD, BIRD + LEAF, {}),
        ('fill="#6d8f4f"', 'fill="#e0e030"', {}),
        ('<g id="roses">', '<g id="climbing roses">', {}),
        ('<path id="stem"', f'{NEW}<path id="trunk"', {(80, 40): "refuse"}),
        (LEAF, f'<g id="leaves" opacity="0.9">{LEAF}</g>', {}),
        ("M20 20h7v5h-7z", "M27 25h-7v-5h7z", {}),
        ("M20 40h6v6h-6z M35 40h5v7h-5z", "M35 40h5v7h-5z M20 40h6v6h-6z", {}),
        ('<g id="roses">', '<g id="hedge"><rect y="70" width="100" height="10"/></g><g id="roses">', {}),
    ],
    ids=[
        "insert",
        "reorder",
        "recolour",
        "layer",
        "rename another",
        "group",
        "start elsewhere",
        "parts",
        "new layer",
    ],
)
def test_edits_elsewhere_change_nothing(
    build: Compile, chosen: dict[str, str], old: str, new: str, more: dict[tuple[int, int], str]
) -> None:
    assert old in DRAWING
    made = build(DRAWING.replace(old, new), chosen)
    assert (_done(made), _told(made)) == (AS_CHOSEN | more, [])


def test_a_named_piece_takes_its_choice_along(build: Compile, chosen: dict[str, str]) -> None:
    made = build(DRAWING.replace("M50 20", "M70 30"), chosen)
    assert _done(made)[70, 30] == "loose"
    assert _told(made) == []


def test_a_nameless_piece_that_moves_loses_its_choice_and_that_is_told(
    build: Compile, chosen: dict[str, str]
) -> None:
    key = next(name for name in chosen if name.startswith("path#"))
    made = build(DRAWING.replace("M20 20h", "M60 50h"), chosen)
    assert _done(made) == {**{k: v for k, v in AS_CHOSEN.items() if k != (20, 20)}, (60, 50): "refuse"}
    assert _told(made) == [("name-unmatched", key)]
    (told,) = [finding for finding in made.findings if finding.code == "name-unmatched"]
    (moved,) = [island.id for island in made.stack.layers[1].islands if _corner(island.region) == (60, 50)]
    assert moved in told.message


@pytest.mark.parametrize("line", [LEAF, BIRD], ids=["leaf", "bird"])
def test_what_is_deleted_leaves_its_choice_to_nobody(build: Compile, chosen: dict[str, str], line: str) -> None:
    made = build(DRAWING.replace(line, ""), chosen)
    assert list(_done(made).values()).count("loose") == 2
    assert [code for code, _ in _told(made)] == ["name-unmatched"]


def test_a_part_that_is_deleted_leaves_its_choice_to_nobody(build: Compile, chosen: dict[str, str]) -> None:
    made = build(DRAWING.replace("M20 40h6v6h-6z ", ""), chosen)
    assert _done(made)[35, 40] == "refuse"
    assert [code for code, _ in _told(made)] == ["name-unmatched"]
    kept = build(DRAWING.replace(" M35 40h5v7h-5z", ""), chosen)
    assert (_done(kept)[20, 40], _told(kept)) == ("loose", [])


def test_a_renamed_element_loses_its_choice_and_that_is_told(build: Compile, chosen: dict[str, str]) -> None:
    made = build(DRAWING.replace('id="bird"', 'id="black bird"'), chosen)
    assert _done(made)[50, 20] == "refuse"
    (told,) = [finding for finding in made.findings if finding.code == "name-unmatched"]
    assert '"black bird"' in told.message


def test_a_piece_that_hangs_together_again_needs_no_choice(build: Compile, chosen: dict[str, str]) -> None:
    made = build(DRAWING.replace("M50 20h9v6h-9z", "M50 20h9v60h-9z"), chosen)
    assert _told(made) == [("choice-idle", "bird")]
    assert (50, 20) not in _done(made)


def test_a_piece_that_becomes_part_of_another_is_told(build: Compile, chosen: dict[str, str]) -> None:
    made = build(DRAWING.replace(BIRD, BIRD + '<path id="cloud" d="M45 15h30v14h-30z"/>'), chosen)
    assert _done(made)[45, 15] == "refuse"
    assert _told(made) == [("name-unmatched", "bird")]
    assert any('"cloud"' in finding.message for finding in made.findings if finding.code == "name-unmatched")


def test_two_choices_for_one_piece_are_told(build: Compile, chosen: dict[str, str]) -> None:
    made = build(DRAWING, {**chosen, "roses#3": "tie"})
    assert (_done(made), _told(made)) == (AS_CHOSEN, [("name-unmatched", "roses#3")])


def test_old_names_are_read_and_told(build: Compile) -> None:
    made = build(DRAWING, {"roses#2": "loose", "roses#4b": "loose"})
    assert _done(made) == {**dict.fromkeys(AS_CHOSEN, "refuse"), (20, 20): "loose", (35, 40): "loose"}
    assert [code for code, _ in _told(made)] == ["name-old", "name-old"]


@pytest.mark.parametrize("table", ["[islands.layers.rose]\npolicy = 'tie'", "[layers.rose]\nface = 'lines'"])
def test_a_layer_that_is_not_there_is_told(build: Compile, table: str) -> None:
    made = build(DRAWING, more=table)
    assert _told(made) == [("name-unmatched", "rose")]
    assert any('"roses"' in finding.message for finding in made.findings if finding.code == "name-unmatched")


def test_a_stain_that_is_not_there_is_told(build: Compile) -> None:
    assert _told(build(DRAWING, more="[paint]\nstain = ['birds', 'bird']")) == [("name-unmatched", "birds")]
