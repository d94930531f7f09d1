"""Scales against what is published, and against arithmetic.

Reductions and enlargements: ISO 5455:1979, clause 5.1. HO, 3.5 mm to the foot, 1:87.1: NMRA standard S-1.2. Inches to
the foot, doors and metres: arithmetic with 1 in = 25.4 mm exactly (1959 agreement). 1:72 is common practice.
"""

import pytest

from layercut.setup.measures import FOOT_MM, INCH_MM, Measure
from layercut.setup.scale import choose_scale, filling_scale, parse_scale, usual_scales

ISO_REDUCTIONS = (2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000)
ISO_ENLARGEMENTS = (50, 20, 10, 5, 2)


def test_every_scale_of_iso_5455_is_usual_and_written_as_it_says() -> None:
    names = {scale.name for scale in usual_scales() if scale.kind == "ISO 5455"}
    assert names == {f"1:{n}" for n in ISO_REDUCTIONS} | {f"{n}:1" for n in ISO_ENLARGEMENTS} | {"1:1"}


def test_inches_to_the_foot() -> None:
    for text, ratio in (("1/4in=1ft", 48), ("3/16in=1ft", 64), ("1/8in=1ft", 96), ("3.5mm=1ft", 87.0857)):
        assert parse_scale(text).ratio == pytest.approx(ratio, abs=5e-5)
    kinds = {scale.name: scale.kind for scale in usual_scales()}
    assert (kinds["1:48"], kinds["1:64"], kinds["1:96"]) == tuple(
        f"{n} in to the foot" for n in ("1/4", "3/16", "1/8")
    )
    assert kinds["1:87.1"] == "3.5 mm to the foot"


def test_each_kind_that_names_inches_to_the_foot_is_that_ratio() -> None:
    for scale in usual_scales():
        if "in to the foot" in scale.kind:
            above, _, below = scale.kind.split()[0].partition("/")
            assert scale.ratio == pytest.approx(12 * int(below or 1) / int(above))


@pytest.mark.parametrize(
    ("scale", "mm"),
    [("1:48", 42.333), ("1:50", 40.640), ("1:72", 28.222), ("1:87.1", 23.333), ("1:100", 20.320), ("1:160", 12.700)],
)
def test_a_door_of_80_inches(scale: str, mm: float) -> None:
    assert parse_scale(scale).drawn_mm(80 * INCH_MM) == pytest.approx(mm, abs=5e-4)


@pytest.mark.parametrize(
    ("scale", "mm"), [("1:48", 208.333), ("1:72", 138.889), ("1:87.1", 114.829), ("1:160", 62.500)]
)
def test_ten_metres(scale: str, mm: float) -> None:
    assert parse_scale(scale).drawn_mm(10_000) == pytest.approx(mm, abs=5e-4)


def test_forty_feet_on_250_mm() -> None:
    width, room = Measure(40 * FOOT_MM), (250.0, 250.0)
    assert filling_scale(width, Measure(1000.0), room).ratio == pytest.approx(48.768)
    fit = choose_scale(width, Measure(1000.0), room)
    assert (fit.scale.name, fit.scale.kind) == ("1:50", "ISO 5455")
    assert fit.width_mm == pytest.approx(243.84)
