"""Letters of single strokes: digits stand a unit high around the origin, and every face has all of ASCII."""

import pytest

from layercut.geometry.stroke_letters import PLAIN, digit_strokes, load_strokes


@pytest.mark.parametrize("text", ["0", "1", "8", "47", "1234567890"])
def test_digits_are_a_unit_high_around_the_origin(text: str) -> None:
    points = [point for stroke in digit_strokes(text) for point in stroke]
    across, down = zip(*points, strict=True)
    assert (min(down), max(down)) == (-0.5, 0.5)
    # A letter's room is wider than its strokes, and a 1 leans to one side of it.
    assert abs(min(across) + max(across)) / 2 < 0.15
    assert max(across) - min(across) <= len(text)


def test_digits_beside_each_other_do_not_touch() -> None:
    one = digit_strokes("4")
    pair = digit_strokes("44")
    assert len(pair) == 2 * len(one)
    left, right = pair[: len(one)], pair[len(one) :]
    assert max(x for stroke in left for x, _ in stroke) < min(x for stroke in right for x, _ in stroke)


def test_the_plain_face_has_all_of_ascii() -> None:
    letters = load_strokes(PLAIN)
    assert set(letters) == {chr(code) for code in range(32, 127)}
    assert all(letter.right > letter.left for letter in letters.values())
