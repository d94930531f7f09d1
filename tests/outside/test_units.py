"""Units of a reader against NIST SP 811 (2008), appendix B.8: factors that are exact there."""

import pytest

from layercut.units import INCHES, KG_M3_PER_LB_FT3, inches


def test_an_inch_is_25_4_mm() -> None:
    assert inches(25.4) == "1"
    assert inches(304.8) == "12"  # a foot, exactly 0.3048 m


def test_a_pound_is_453_59237_g_and_has_16_ounces() -> None:
    assert INCHES.mass(453.59237) == "1.00 lb"
    assert INCHES.mass(453.59237 / 2) == "8.0 oz"
    assert INCHES.mass(28.34952) == "1.0 oz"


def test_a_pound_per_cubic_foot_is_16_01846_kg_per_cubic_metre() -> None:
    assert pytest.approx(16.01846, abs=5e-6) == KG_M3_PER_LB_FT3


def test_a_square_inch_is_645_16_mm2() -> None:
    assert INCHES.area(645.16) == "1.00 in²"
