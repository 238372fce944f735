"""What the pages of a round and of a new test show, put together from the record."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.views.current_organisation import CurrentOrganisation, PersonRequest
from core.calc.paving import TestMethod
from core.presentation.files import seen_by_firm
from qa.calc.deviations import voiding
from qa.calc.field_tests import FIELD_TESTS
from qa.calc.methods import facts_on
from qa.calc.validity import weather_deviations
from qa.forms.field_tests import carried_over, first_values
from qa.models import InfiltrationTest, TestRound
from qa.presentation.finding_spots import spots_found
from qa.presentation.method_part import TestLine, method_part
from qa.presentation.rain_records import dry_line
from qa.presentation.readings_table import caution_of, finding_of, lines_of
from qa.presentation.worked import Worked, worked_acceptance
from qa.selectors.change_history import amendments_of
from qa.selectors.rain_records import dry_time_of
from qa.selectors.rounds import (
    FACTORS,
    RoundResult,
    last_ring_position,
    round_result,
    spots_tested,
    test_before,
)
from qa.selectors.surface_limits import acceptance_of, limit_known

RING_STEPS = (
    gettext_noop(
        "Sweep the spot, set the ring, seal it; on unit pavers press the seal down into every joint under the ring."
    ),
    gettext_noop(
        "Prewet, keeping the water between the two lines (10 and 15 mm), and time it: under 30 s asks for the large "
        "test mass, else for the small one."
    ),
    gettext_noop(
        "Start the test within two minutes, keep the head between the lines, stop when no free water is left."
    ),
    gettext_noop(
        "A second test at the spot within 5 minutes of the first needs no new prewetting; the mean of the two counts."
    ),
)


def asked_factor(text: str) -> float:
    """The factor chosen on the page; anything else gives the middle one."""
    return next((factor for factor in FACTORS if f"{factor:g}" == text), FACTORS[1])


def asked_method(text: str) -> TestMethod:
    """The method chosen on the page; anything else gives the ring."""
    return TestMethod(text) if text in TestMethod.values else TestMethod.RING


def round_page(round_: TestRound, current: CurrentOrganisation, factor: float) -> dict[str, Any]:
    """What a round's page shows to a person of the firm or of the owner."""
    units = current.units
    own_firm = current.acts_for(round_.surface.organisation)
    result = round_result(round_, units)
    return {
        "round": round_,
        "surface": round_.surface,
        "may_add": current.can_record and round_.is_active,
        "result": result,
        "judged": _judged(round_, result, units),
        "limit": limit_known(round_.surface, units),
        "parts": [method_part(each, round_, units, factor) for each in result.methods],
        "shown_only": [
            {"test": test, "finding": finding_of(test), "caution": caution_of(test)}
            for test in result.shown_only
        ],
        "invalid": [TestLine(test, lines_of(test)) for test in result.invalid],
        "left_out": [TestLine(test, lines_of(test)) for test in result.left_out],
        "own_firm": own_firm,
        "files": seen_by_firm(round_.attachments.all(), own_firm),
        "dry": dry_line(dry_time_of(round_)),
        "amendments": amendments_of(round_, with_notes=own_firm),
        "methods": TestMethod.choices(),
    }


def _judged(round_: TestRound, result: RoundResult, units: str) -> Worked | None:
    """How the verdict of an acceptance round came about."""
    if result.acceptance is None or result.ring is None:
        return None
    rates = [spot.rate for spot in result.ring.spots]
    asked = acceptance_of(round_.surface, units)
    return worked_acceptance(rates, result.ring.statistics.mean, asked, result.acceptance, units)


def test_template(test: InfiltrationTest) -> str:
    """The page for a new test of this method."""
    return "qa/test_form.html" if test.is_ring else "qa/field_test_form.html"


def guide_page(test: InfiltrationTest, units: str) -> dict[str, Any]:
    """What a page for a new test shows beside its form."""
    round_ = test.round
    method = TestMethod(test.method)
    page = {
        "test": test,
        "round": round_,
        "surface": round_.surface,
        "result": round_result(round_, units),
        "void_by_weather": voiding(weather_deviations(round_.conditions, method)),
        "facts": facts_on(method, round_.surface.surface_type),
        "methods": [(value, name) for value, name in TestMethod.choices() if value != method],
        "found": spots_found(round_.surface, units),
    }
    if test.is_ring:
        return page | {"spots_tested": spots_tested(round_), "steps": [_(step) for step in RING_STEPS]}
    return page | {"field_test": FIELD_TESTS[method]}


def next_place(round_: TestRound) -> str:
    """The id of the first fixed location still to do in the round; empty when none is left."""
    done = round_.tests.active().valid().filter(location__isnull=False).values("location")
    left = round_.surface.locations.filter(retired=False).exclude(pk__in=done).first()
    return str(left.pk) if left else ""


def start_values(test: InfiltrationTest, request: PersonRequest, location_id: str | None) -> dict[str, Any]:
    """What a new test's form starts with: nominal sizes, what the test before took, and what is known of the spot.

    location_id: as the address names it; the first location still to do where it names none.
    """
    location_id = next_place(test.round) if location_id is None else location_id
    method = TestMethod(test.method)
    before = test_before(test.round, method, request.user)
    taken_over = carried_over(before) if before else {}
    values = {"location": location_id, **first_values(method, request.current.units), **taken_over}
    chosen = {str(place.pk): place for place in test.round.surface.locations.filter(retired=False)}
    location = chosen.get(location_id)
    if not test.is_ring or location is None:
        return values
    values["ring_position"] = last_ring_position(location)
    earlier = spots_tested(test.round).get(str(location.pk))
    if earlier:
        # A second test at the spot goes on from the first: same water, no new prewetting.
        values |= {"rewetted": False, "prewet_mass": None, "test_mass": earlier["test_mass"]}
    return values
