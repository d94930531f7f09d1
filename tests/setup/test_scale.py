"""Scales: what fits, and what is refused."""

import pytest

from layercut.errors import JobError
from layercut.setup.measures import Measure
from layercut.setup.scale import choose_scale, filling_scale, fit_scale, parse_scale, propose_scales, usual_scales

ROOM = (292.1, 215.9)


def test_the_largest_usual_scale_that_fits_is_taken() -> None:
    width, height = Measure(36 * 304.8), Measure(28 * 304.8)
    best = choose_scale(width, height, ROOM)
    assert best.scale.name == "1:48"
    assert (best.width_mm, best.height_mm) == pytest.approx((228.6, 177.8))
    assert best.unused == pytest.approx(1 - 228.6 * 177.8 / (292.1 * 215.9))
    larger = [scale for scale in usual_scales() if scale.ratio < 48]
    assert not any(fit_scale(scale, width, height, ROOM).fits for scale in larger)


def test_proposals_begin_with_one_that_is_too_large_for_comparison() -> None:
    fits = propose_scales(Measure(36 * 304.8), Measure(28 * 304.8), ROOM)
    assert [fit.fits for fit in fits] == [False] + [True] * (len(fits) - 1)
    assert [fit.scale.ratio for fit in fits] == sorted(fit.scale.ratio for fit in fits)


def test_what_fits_only_if_the_measures_are_right_does_not_fit() -> None:
    room = (250.0, 1000.0)
    assert fit_scale(parse_scale("1:40"), Measure(10000.0), Measure(100.0), room).fits
    unsure = fit_scale(parse_scale("1:40"), Measure(10000.0, 5.0), Measure(100.0), room)
    assert not unsure.fits
    assert unsure.plus_minus_mm == pytest.approx(0.125)


def test_the_scale_that_fills_the_panel_touches_one_side_of_it() -> None:
    for width, height in ((10000.0, 3000.0), (3000.0, 10000.0)):
        scale = filling_scale(Measure(width), Measure(height), ROOM)
        fit = fit_scale(scale, Measure(width), Measure(height), ROOM)
        assert fit.fits
        assert min(fit.free_width_mm, fit.free_height_mm) == pytest.approx(0, abs=1e-9)


def test_a_wanted_scale_that_does_not_fit_is_refused_with_one_that_does() -> None:
    with pytest.raises(JobError) as caught:
        choose_scale(Measure(36 * 304.8), Measure(28 * 304.8), ROOM, parse_scale("1:24"))
    assert "1:48" in caught.value.hint


def test_a_panel_too_small_for_any_scale_is_refused() -> None:
    with pytest.raises(JobError) as caught:
        propose_scales(Measure(36 * 304.8), Measure(28 * 304.8), (0.5, 0.5))
    assert caught.value.code == "scale"


@pytest.mark.parametrize("text", ["48", "1:0", "0:1", "1:", "x", "1:1e9", "1in=1", "1:-48"])
def test_what_is_no_scale_is_refused(text: str) -> None:
    with pytest.raises(JobError):
        parse_scale(text)
