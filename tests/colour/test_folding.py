"""Folding shows the same: every law here compares a folded stack with the stack itself, at places all over it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from layercut.colour.folding import fold, hex_of, is_clear, is_opaque, mean_colour, mean_wash, rgb_of
from layercut.colour.sampling import sample, sample_over
from layercut.colour.washes import FlatWash, GradedWash, Gradient, GroupWash, Stop

unit = st.sampled_from([0.0, 1.0, 0.25]) | st.floats(0, 1)
colours = st.tuples(unit, unit, unit)
PLACES = np.random.default_rng(1).uniform(-2, 12, (60, 2))
ACROSS = Gradient(
    "linear",
    (0.0, 0.0, 10.0, 0.0),
    (1, 0, 0, 1, 0, 0),
    "pad",
    (Stop(0, (1, 0, 0)), Stop(1, (0, 0, 1))),
)


@st.composite
def gradients(draw: st.DrawFn) -> Gradient:
    """Any gradient whose first circle, if it has any, may lie wherever it likes."""
    places = st.floats(0, 10)
    even = draw(st.booleans())
    opacity = draw(unit)
    offsets = sorted(draw(st.lists(st.sampled_from([0.0, 0.5, 1.0]) | unit, min_size=1, max_size=4)))
    stops = tuple(Stop(offset, draw(colours), opacity if even else draw(unit)) for offset in offsets)
    spread = draw(st.sampled_from(["pad", "reflect", "repeat"]))
    turn = (draw(st.floats(0.5, 2)), draw(st.floats(-0.4, 0.4)), draw(st.floats(-0.4, 0.4)), 1.0, 1.0, -1.0)
    if draw(st.booleans()):
        return Gradient("linear", tuple(draw(places) for _ in range(4)), turn, spread, stops)
    circles = (draw(places), draw(places), draw(st.sampled_from([0.0, 0.5])), 5.0, 5.0, draw(st.floats(1, 8)))
    return Gradient("radial", circles, turn, spread, stops)


flat = st.builds(FlatWash, colours, unit)
graded = st.builds(GradedWash, gradients(), unit)
washes = st.recursive(
    flat | graded,
    lambda inner: st.builds(
        GroupWash,
        st.lists(inner, max_size=3).map(tuple),
        unit,
        st.lists(inner, max_size=2).map(tuple),
        st.sampled_from(["alpha", "luminance"]),
    ),
    max_leaves=6,
)


@given(st.lists(washes, max_size=4))
def test_a_folded_stack_shows_the_same(stack: list) -> None:
    colour, opacity = sample(stack, PLACES)
    folded, again = sample(fold(stack), PLACES)
    assert np.allclose(opacity, again, atol=1e-7)
    assert np.allclose(colour * opacity[:, None], folded * again[:, None], atol=1e-7)


@given(st.lists(washes, max_size=4), colours)
def test_over_a_ground_it_shows_the_same_and_lets_nothing_through(stack: list, ground: tuple) -> None:
    folded = fold(stack, ground)
    assert np.allclose(sample_over(stack, PLACES, ground), sample_over(folded, PLACES, (0, 0, 0)), atol=1e-7)
    assert np.allclose(sample(folded, PLACES)[1], 1, atol=1e-7)
    assert fold(folded) == folded


@given(washes)
def test_what_is_called_opaque_or_clear_is_so(wash: object) -> None:
    _, opacity = sample([wash], PLACES)
    assert not is_opaque(wash) or np.allclose(opacity, 1, atol=1e-6)
    assert not is_clear(wash) or np.allclose(opacity, 0, atol=1e-6)


def test_what_folds_into_one() -> None:
    black = FlatWash((0, 0, 0), 0.5)
    (wash,) = fold([GradedWash(ACROSS), black])  # flat over a gradient
    assert isinstance(wash, GradedWash)
    assert [stop.colour for stop in wash.gradient.stops] == [(0.5, 0, 0), (0, 0, 0.5)]
    (wash,) = fold([GradedWash(ACROSS, 0.5)], (0, 0, 0))  # an even gradient over flat
    assert isinstance(wash, GradedWash)
    (wash,) = fold([black, black])
    assert wash == FlatWash((0, 0, 0), 0.75)
    glow = Gradient("linear", ACROSS.points, ACROSS.to_mm, "pad", (Stop(0, (1, 1, 1)), Stop(1, (1, 1, 1), 0)))
    (wash,) = fold([GradedWash(glow)], (0, 0, 0))  # one colour that fades, over flat
    assert isinstance(wash, GradedWash)
    assert [stop.colour for stop in wash.gradient.stops] == [(1, 1, 1), (0, 0, 0)]


def test_what_stays_a_stack() -> None:
    glow = Gradient(
        "linear",
        (0, 0, 0, 9),
        ACROSS.to_mm,
        "pad",
        (Stop(0, (1, 1, 1), 0.2), Stop(1, (0, 1, 1), 0.8)),
    )
    assert len(fold([GradedWash(ACROSS), GradedWash(glow)])) == 2
    assert len(fold([FlatWash((0, 0, 0)), GradedWash(glow)])) == 2
    assert fold([GradedWash(glow), GradedWash(ACROSS)]) == (GradedWash(ACROSS),)  # nothing shows under it


def test_a_mask_of_one_value_is_an_opacity() -> None:
    grey = GroupWash((FlatWash((1, 0, 0)),), 1.0, (FlatWash((0.5, 0.5, 0.5)),))
    (wash,) = fold([grey])
    assert isinstance(wash, FlatWash)
    assert wash.opacity == pytest.approx(0.5)
    assert fold([GroupWash((FlatWash((1, 0, 0)),), 1.0, (FlatWash((0, 0, 0)),))]) == ()


def test_means_and_names() -> None:
    assert hex_of(mean_colour([GradedWash(ACROSS)], (0, 0, 0))) == "#800080"
    assert mean_wash([]) == FlatWash((0, 0, 0), 0)
    assert hex_of(rgb_of("#12ab9f")) == "#12ab9f"
