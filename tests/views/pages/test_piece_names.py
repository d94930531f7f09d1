"""What loose pieces are called for people."""

import re

import pytest
from builds import build_made
from scenes import Scenes
from shapely import Point, box

from layercut.colour.names import plain_name
from layercut.model import Called, Made
from layercut.views.pages.piece_names import piece_words


@pytest.fixture(scope="module")
def build(scenes: Scenes) -> Made:
    """A moon with a name, two leaves of one label, and a nameless speck of orange, all glued on."""
    shapes = [
        scenes.shape(Point(20, 20).buffer(6), colour="#f0e8c0", called=Called("circle", ident="moon")),
        scenes.shape(box(50, 20, 58, 30), colour="#4c7a34", called=Called("path", label="leaf")),
        scenes.shape(box(70, 20, 78, 30), colour="#4c7a34", called=Called("path", label="leaf")),
        scenes.shape(box(40, 50, 52, 58), colour="#e07020", called=Called("rect")),
    ]
    drawing = scenes.drawing([scenes.ground()], shapes)
    made = scenes.make(drawing, "islands.policy=loose")
    return build_made(drawing, made.stack, made.sheets, made.job, proof=made.proof)


def test_each_piece_is_called_as_the_artist_calls_it_or_by_what_it_is_and_where(build: Made) -> None:
    words = piece_words(build)
    assert set(words) == {piece.id for sheet in build.sheets for piece in sheet.loose}
    assert len(words) == 4
    assert words["moon"] == "moon"
    others = sorted(set(words.values()) - {"moon"})
    orange = plain_name("#e07020")
    article = "an" if orange[0] in "aeiou" else "a"
    assert others == sorted(
        [
            "leaf at 54, 25 mm",
            "leaf at 74, 25 mm",
            f"{article} {orange} piece at 46, 54 mm, 12 × 8 mm",  # noqa: RUF001
        ]
    )


def test_no_digest_is_told(build: Made) -> None:
    assert any("#" in piece.id for sheet in build.sheets for piece in sheet.loose)
    assert not any(re.search(r"#[a-z2-7]{7}", words) for words in piece_words(build).values())
