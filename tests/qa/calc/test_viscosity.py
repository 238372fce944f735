import pytest

from core.errors import UnusableRecordError
from qa.calc.viscosity import rate_at_20_c, viscosity_mpa_s


@pytest.mark.parametrize(
    ("water_c", "expected"),
    [
        (0, 1.792),
        (5, 1.519),
        (10, 1.307),
        (20, 1.002),
        (25, 0.890),
        (30, 0.7975),
        (40, 0.653),
        (50, 0.547),
        (60, 0.4665),
    ],
)
def test_viscosity_agrees_with_the_handbook(water_c, expected):
    """CRC Handbook of Chemistry and Physics, viscosity of water (from memory)."""
    rel = 2e-3 if water_c <= 50 else 4e-3  # the formula strays a little where no field test is made
    assert viscosity_mpa_s(water_c) == pytest.approx(expected, rel=rel)


def test_cold_water_reads_lower_than_at_twenty_degrees():
    assert rate_at_20_c(1000, 5) == pytest.approx(1516, rel=3e-3)
    assert rate_at_20_c(1000, 20) == pytest.approx(1000)


@pytest.mark.parametrize("water_c", [-1, -0.01, 60.01, float("nan"), float("inf")])
def test_ice_and_steam_are_refused(water_c):
    with pytest.raises(UnusableRecordError, match=f"between 0 and 60 °C, got {water_c:g}"):
        viscosity_mpa_s(water_c)


@pytest.mark.parametrize("water_c", range(0, 61, 5))
def test_viscosity_agrees_with_the_later_international_formula(water_c):
    """IAPWS 2011, supplementary release on liquid water at 0.1 MPa, equation 2 (from memory; stated to 1 %).

    mu / 1e-6 Pa·s = sum of a_i (T / 300 K)^b_i; at 300 K the four terms add up to 853.72.
    """
    terms = zip((280.68, 511.45, 61.131, 0.45903), (-1.9, -7.7, -19.6, -40.0), strict=True)
    expected = 1e-3 * sum(a * ((water_c + 273.15) / 300.0) ** b for a, b in terms)

    assert viscosity_mpa_s(water_c) == pytest.approx(expected, rel=1.5e-3 if water_c < 60 else 2.5e-3)
