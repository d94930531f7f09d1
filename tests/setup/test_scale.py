"""Scales and real lengths: what fits, how sure, and what is refused."""

import pytest

from layercut.errors import JobError
from layercut.job import load_job
from layercut.job_values import parse_length
from layercut.setup.measures import Measure, measure, parse_pair, parse_real, parse_scale_bar
from layercut.setup.scale import choose_scale, filling_scale, fit_scale, parse_scale, propose_scales, usual_scales

ROOM = (292.1, 215.9)


@pytest.mark.parametrize(
    ("text", "mm"),
    [("36ft", 10972.8), ("5ft 8in", 1727.2), ("6 1/2in", 165.1), ("3/4in", 19.05), ("11 m", 11000), ("2.5cm", 25)],
)
def test_real_lengths(text: str, mm: float) -> None:
    assert parse_real(text, "--width") == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize("text", ["3/8in", "6 1/2in", "1/4 in", " 11  3/16 in", "1/3m"])
def test_a_fraction_is_the_same_length_in_the_job_and_in_every_option(text: str) -> None:
    assert parse_real(text, "--frame") == pytest.approx(parse_length(text), rel=1e-12)
    assert load_job(None, [f"panel.width={text}"]).panel.width == pytest.approx(parse_length(text), rel=1e-12)


@pytest.mark.parametrize("text", ["1/4", "1/0in", "1.5/2in", "1/2/3in", "6 1/2", "-1/4in"])
def test_what_is_no_fraction_is_refused_by_both(text: str) -> None:
    with pytest.raises(JobError):
        parse_real(text, "--frame")
    with pytest.raises(JobError, match=r"panel\.width"):
        load_job(None, [f"panel.width={text}"])


@pytest.mark.parametrize(
    "text",
    ["", "36", "ft", "0ft", "-3ft", "36px", "12pt", "3 furlong", "36ft x", "1/0in", "36 ft 8", "nanft", "1e3m"],
)
def test_what_is_no_real_length_is_refused_with_the_options_name(text: str) -> None:
    with pytest.raises(JobError, match=r".") as caught:
        parse_real(text, "--width")
    assert caught.value.code == "measure"
    assert caught.value.sentence().startswith("--width: ")


def test_pairs() -> None:
    assert parse_pair("12in x 9in", "--panel") == pytest.approx((304.8, 228.6))
    assert parse_pair("12inx9in", "--panel") == pytest.approx((304.8, 228.6))
    for text in ("12in", "12 x 9", "12in x 9in x 3in", "x", "0in x 9in"):
        with pytest.raises(JobError):
            parse_pair(text, "--panel")


def test_a_pixels_uncertainty_reaches_the_width() -> None:
    """20 ft over 84 px, 151 px: 35.952 ft; u/L = sqrt(1/151^2 + 1/84^2) = 1.3623 %, worked out by hand."""
    width = measure("151px", "--width", parse_scale_bar("20ft=84px"))
    assert width.mm / 304.8 == pytest.approx(35.95238, abs=1e-5)
    assert width.plus_minus_mm / width.mm == pytest.approx(0.0136229, abs=1e-6)


def test_twice_the_error_of_a_reading_is_twice_the_uncertainty() -> None:
    one = measure("151px", "--width", parse_scale_bar("20ft=84px", 1.0))
    two = measure("151px", "--width", parse_scale_bar("20ft=84px", 2.0))
    assert two.plus_minus_mm == pytest.approx(2 * one.plus_minus_mm)
    assert measure("36ft", "--width", parse_scale_bar("20ft=84px")).plus_minus_mm == 0


@pytest.mark.parametrize("text", ["20ft", "20ft=84", "84px=20ft", "20=84px", "20ft=0px", "20ft=1px", "=84px"])
def test_what_is_no_scale_bar_is_refused(text: str) -> None:
    with pytest.raises(JobError):
        parse_scale_bar(text)


def test_pixels_without_a_bar_say_what_is_missing() -> None:
    with pytest.raises(JobError) as caught:
        measure("151px", "--width")
    assert "--scale-bar" in caught.value.sentence()


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
