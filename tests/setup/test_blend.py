"""Views of a wall blended: flat grey photos, seen straight on, whose mixture is known."""

import numpy as np
import pytest

from layercut.setup.blend import square_up
from layercut.setup.homography import wall_corners
from layercut.setup.photo import Box, View, make_view

SIZE = (200.0, 100.0)


def view(grey: int, *hidden: Box, corners: np.ndarray | None = None) -> View:
    """A photo of one grey, 400 by 200 px, all of it the wall unless corners say otherwise."""
    pixels = np.full((200, 400, 3), grey, dtype=np.uint8)
    return make_view("a.png", pixels, 2 * wall_corners(*SIZE) if corners is None else corners, SIZE, hidden=hidden)


def test_one_view_is_what_it_shows() -> None:
    made = square_up([view(90)], SIZE, (100, 50))
    assert made.pixels.shape == (50, 100, 4)
    assert (made.pixels == (90, 90, 90, 255)).all()
    assert (made.unseen, made.hidden, made.overlap) == (0, 0, None)


def test_what_is_hidden_in_one_comes_from_the_other_at_its_brightness() -> None:
    """The second photo is darker by a quarter: where it fills in, it is brought to the first's brightness."""
    made = square_up([view(160, (0, 0, 100, 200)), view(120)], SIZE, (100, 50))
    assert made.pixels[..., :3].min() >= 159
    assert made.pixels[..., :3].max() <= 161
    assert made.hidden == 0
    assert made.overlap is not None
    assert made.overlap.share == pytest.approx(0.75, abs=0.03)
    assert (made.overlap.differing, made.overlap.mean) == (0, pytest.approx(0, abs=0.5))


def test_what_is_hidden_in_all_is_counted_and_shown_all_the_same() -> None:
    made = square_up([view(90, (0, 0, 200, 200))], SIZE, (100, 50))
    assert made.hidden == pytest.approx(0.5, abs=0.02)
    assert (made.pixels[..., 3] == 255).all()


def test_what_no_photo_reaches_is_clear() -> None:
    """The wall is twice as wide as the photo: its right half lies beyond the rim."""
    made = square_up([view(90, corners=4 * wall_corners(*SIZE))], SIZE, (100, 50))
    assert made.unseen == pytest.approx(0.75, abs=0.02)
    assert (made.pixels[:25, :50, 3] == 255).all()
    assert (made.pixels[25:, :, 3] == 0).all()


def test_the_view_that_sees_more_of_it_wins() -> None:
    """One sees the wall at half the size: its share goes with the 16th power of a quarter of the pixels."""
    small = view(60, corners=wall_corners(*SIZE))
    made = square_up([view(160), small], SIZE, (100, 50))
    assert made.pixels[..., :3].min() >= 159
