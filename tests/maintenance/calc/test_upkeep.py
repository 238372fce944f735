import pytest

from core.calc.paving import SurfaceType
from maintenance.calc.upkeep import BY_TYPE, upkeep_of


@pytest.mark.parametrize("kind", SurfaceType)
def test_every_surface_type_has_advice_of_its_own_with_a_source(kind):
    advice = upkeep_of(kind)

    assert all(piece.advice.endswith(".") and piece.source.citation for piece in advice)
    assert len({piece.advice for piece in advice}) == len(advice)
    own = set(upkeep_of(kind)) - set(upkeep_of("porous_asphalt" if kind != "porous_asphalt" else "gravel"))
    assert own


def test_advice_is_kept_for_surface_types_alone():
    assert set(BY_TYPE) == set(SurfaceType)


def test_no_type_is_told_to_grind_fines_into_porous_material():
    for kind in ("pervious_concrete", "porous_asphalt"):
        assert any("no mechanical broom" in piece.advice for piece in upkeep_of(kind))


def test_an_unknown_type_is_refused():
    with pytest.raises(ValueError, match="lawn"):
        upkeep_of("lawn")


@pytest.mark.parametrize("kind", SurfaceType)
def test_sizes_are_told_in_both_systems(kind):
    """Documents hold the advice as it is, whichever units its reader takes."""
    told = " ".join(piece.advice for piece in upkeep_of(kind))

    assert told.count(" mm") == told.count(" in)")
