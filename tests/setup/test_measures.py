"""Real lengths as a maker writes them, how sure they are, and what is refused."""

import pytest

from layercut.errors import JobError
from layercut.job import load_job
from layercut.job_values import parse_length
from layercut.setup.measures import in_feet, measure, parse_pair, parse_real, parse_scale_bar


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


@pytest.mark.parametrize(
    ("mm", "words"),
    [(10972.8, "36 ft (10973 mm)"), (304.8, "1 ft (305 mm)"), (304.7, "12 in (305 mm)"), (0.0, "0 in (0 mm)")],
)
def test_lengths_for_people(mm: float, words: str) -> None:
    assert in_feet(mm) == words
