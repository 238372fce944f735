import pytest

from core.errors import UnusableRecordError
from qa.calc.viscosity import rate_at_20_c, viscosity_mpa_s


@pytest.mark.parametrize(
    ("water_c", "expected"), [(0, 1.792), (5, 1.519), (10, 1.307), (20, 1.002), (25, 0.890), (40, 0.653)]
)
def test_viscosity_agrees_with_the_handbook(water_c, expected):
    """CRC Handbook of Chemistry and Physics, viscosity of water (from memory)."""
    assert viscosity_mpa_s(water_c) == pytest.approx(expected, rel=2e-3)


def test_cold_water_reads_lower_than_at_twenty_degrees():
    assert rate_at_20_c(1000, 5) == pytest.approx(1516, rel=3e-3)
    assert rate_at_20_c(1000, 20) == pytest.approx(1000)


def test_ice_is_refused():
    with pytest.raises(UnusableRecordError, match="between 0 and 60 °C, got -1"):
        viscosity_mpa_s(-1)
