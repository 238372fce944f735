"""Lines of a quote from advice and a price list."""

from decimal import Decimal
from uuid import UUID, uuid4

import pytest

from core.calc.paving import CleaningMethod
from core.calc.units import UnitSystem
from maintenance.calc.price_list import MethodPrice, MethodPrices
from maintenance.calc.vocabulary import Action
from planning.calc.quote_lines import MINIMUM_WHY, Prices, Work, lines_of
from planning.calc.quotes import QuoteUnit

SITE, OTHER = UUID(int=1), UUID(int=2)
LIST = MethodPrices(
    (
        MethodPrice(CleaningMethod.VACUUM, Decimal("0.50"), Decimal(200)),
        MethodPrice(CleaningMethod.JOINT_REFILL, Decimal("4.50"), Decimal(450)),
    )
)


def prices(**changes):
    known = {
        "test": Decimal(150),
        "inspection": Decimal(90),
        "call_out": Decimal(45),
        "material_kg": Decimal("0.85"),
    }
    return Prices(**{"currency": "EUR", "methods": LIST} | known | changes)


def work(action=Action.CLEAN, method="vacuum", area_m2=1000.0, site=SITE, **changes):
    given = {
        "advice": uuid4(),
        "surface": uuid4(),
        "site_name": f"Site {site.int}",
        "place": "Yard",
        "what": "Clean: vacuum sweeping",
        "why": "It clogs.",
    }
    return Work(**given | {"action": action, "method": method, "area_m2": area_m2, "site": site} | changes)


def seen(lines):
    return [(line.what, line.quantity, line.unit, line.unit_price) for line in lines]


def test_a_cleaning_is_charged_by_area_and_a_site_once_for_the_call_out():
    asked = work()

    sweep, call_out = lines_of([asked], prices())

    assert (sweep.quantity, sweep.unit, sweep.unit_price) == (
        Decimal("1000.00"),
        QuoteUnit.M2,
        Decimal("0.50"),
    )
    assert (sweep.advice, sweep.surface, sweep.site) == (asked.advice, asked.surface, SITE)
    assert (sweep.what, sweep.why) == ("Clean: vacuum sweeping, Yard", "It clogs.")
    assert (call_out.what, call_out.unit_price) == ("Travel and call-out, Site 1", Decimal(45))
    assert (call_out.advice, call_out.surface, call_out.site) == (None, None, SITE)


def test_a_small_area_comes_to_the_minimum_by_a_line_that_says_why():
    """100 m² at 0.50 are 50.00, of at least 200.00."""
    (_, minimum, _) = lines_of([work(area_m2=100.0)], prices())

    assert minimum.what == "Minimum charge for clean: vacuum sweeping, Site 1"
    assert (minimum.why, minimum.unit, minimum.unit_price) == (
        MINIMUM_WHY,
        QuoteUnit.LUMP_SUM,
        Decimal("150.00"),
    )


def test_two_sites_are_two_call_outs_and_two_surfaces_of_one_are_one():
    lines = lines_of([work(), work(), work(site=OTHER)], prices())

    assert [line.what for line in lines if line.unit is QuoteUnit.CALL_OUT] == [
        "Travel and call-out, Site 1",
        "Travel and call-out, Site 2",
    ]


@pytest.mark.parametrize("call_out", [None, Decimal(0)])
def test_without_a_price_for_it_no_call_out_is_charged(call_out):
    assert len(lines_of([work()], prices(call_out=call_out))) == 1


@pytest.mark.parametrize(
    ("action", "unit", "unit_price"),
    [
        (Action.TEST, QuoteUnit.ROUND, Decimal(150)),
        (Action.INSPECT, QuoteUnit.INSPECTION, Decimal(90)),
        (Action.LOOK, QuoteUnit.LUMP_SUM, None),  # an engineer's, which the firm does not do itself
        (Action.SOURCE, QuoteUnit.LUMP_SUM, None),
    ],
)
def test_other_work_is_charged_each_or_its_price_is_still_to_be_given(action, unit, unit_price):
    line = lines_of([work(action, "")], prices(call_out=None))[0]

    assert (line.quantity, line.unit, line.unit_price) == (Decimal(1), unit, unit_price)


def test_a_way_of_cleaning_that_the_list_has_not_is_priced_by_hand():
    (line,) = lines_of([work(method="mill")], prices(call_out=None))

    assert (line.unit, line.unit_price) == (QuoteUnit.M2, None)


def test_a_refill_takes_as_much_material_as_the_last():
    (_, material) = lines_of(
        [work(Action.REJOINT, "joint_refill", material_kg=9000.0)], prices(call_out=None)
    )

    assert seen([material]) == [("Joint material, Yard", Decimal("9000.00"), QuoteUnit.KG, Decimal("0.85"))]


@pytest.mark.parametrize("changes", [{"material_kg": None}, {"methods": MethodPrices()}])
def test_material_without_a_price_is_left_to_the_office(changes):
    lines = lines_of(
        [work(Action.REJOINT, "joint_refill", material_kg=9000.0)], prices(call_out=None, **changes)
    )

    assert [line.unit for line in lines if line.unit is QuoteUnit.KG] == (
        [] if "material_kg" in changes else ["kg"]
    )


def test_a_list_in_us_customary_units_has_its_lines_counted_in_ft2_and_lb():
    """10,000 ft² are 929.0304 m²; 0.25 a ft² is 2.6910 a m²; 200 lb are 90.718474 kg; 0.50 a lb is 1.1023 a kg."""
    each = MethodPrice(CleaningMethod.JOINT_REFILL, Decimal("2.6910"), Decimal(3000))
    us = {"methods": MethodPrices((each,)), "material_kg": Decimal("1.1023"), "system": UnitSystem.US}
    refill = work(method="joint_refill", area_m2=929.0304, material_kg=90.718474)

    cleaned, minimum, material, _ = lines_of([refill], prices(**us))

    assert (cleaned.quantity, cleaned.unit) == (Decimal(10_000), QuoteUnit.FT2)
    assert cleaned.unit_price == Decimal("0.25")
    assert minimum.unit_price == Decimal(500)  # 10,000 at 0.25 are 2,500 of at least 3,000
    assert (material.quantity, material.unit, material.unit_price) == (
        Decimal(200),
        QuoteUnit.LB,
        Decimal("0.50"),
    )
    assert "m²" not in material.why
