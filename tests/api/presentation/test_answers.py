"""What a program is answered of a row: what counts, with which bound and unit, and what only the firm reads.

No row is stored here: what a presentation needs is what it is given.
"""

import json
from datetime import UTC, date, datetime
from decimal import Decimal
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.calc.audience import Audience
from accounts.models import Organisation, Owner, User
from api.calc.observations import RATE_UCUM, UCUM_OF
from api.presentation import ahead, observations, places, records
from api.presentation.base import amount_of, content_of
from core.calc.paving import TestMethod
from maintenance.calc.release_payload import ReleasedAdvice
from maintenance.calc.text import money
from maintenance.models import AdviceRelease, CleaningEvent, Forecast, Recommendation
from planning.models import Crew, Visit, VisitTask
from qa.calc.deviations import Deviation
from qa.calc.effects import CONSEQUENCES, Effect
from qa.calc.methods import WITHOUT_RATE
from qa.models import InfiltrationTest, Location, Site, Surface, TestRound

AT = datetime(2024, 6, 3, 9, 30, tzinfo=UTC)
FIRM, OWNER, LINK = Audience.FIRM, Audience.OWNER, Audience.LINK
SECRET = "For the firm alone"


def site(**changes):
    owner = Owner(organisation=Organisation(name="Firm"), name="Harbour Homes", created_at=AT)
    values = {"owner": owner, "organisation": owner.organisation, "name": "Yard", "time_zone": "UTC"}
    return Site(created_at=AT, **values | changes)


def surface(**changes):
    values = {"name": "Car park", "surface_type": "picp", "area_m2": 500.0, "opened_on": date(2021, 5, 12)}
    values |= {"limit_mm_h": 250.0, "limit_source": "agreed", "record_version": 3}
    return Surface(site=site(), created_at=AT, **values | changes)


def round_(**changes):
    return TestRound(surface=surface(), tested_on=date(2024, 6, 3), created_at=AT, **changes)


def test_row(**changes):
    values = {"round": round_(), "spot": "A", "rate_mm_h": 500.0, "bound": "=", "made_at": AT}
    return InfiltrationTest(created_at=AT, **values | changes)


test_row.__test__ = False


def answered(shown):
    """As it comes to a program."""
    return json.loads(content_of(shown))


def result_of(**changes):
    return answered(observations.test_out(test_row(**changes), FIRM))["result"]


# ---- tests as observations -----------------------------------------------------------------------------------


@pytest.mark.parametrize("bound", ["=", "<", ">"])
def test_a_rate_comes_with_its_bound_and_its_unit(bound):
    assert result_of(bound=bound) == {"value": 500.0, "unit": RATE_UCUM, "bound": bound}


@pytest.mark.parametrize("method", [method for method in TestMethod if method in WITHOUT_RATE])
@pytest.mark.parametrize("unit", UCUM_OF)
def test_a_method_without_a_rate_gives_its_own_value_and_never_a_rate(method, unit):
    found = result_of(method=method.value, own_value=1.25, own_unit=unit, rate_mm_h=None)

    assert found == {"value": 1.25, "unit": UCUM_OF[unit], "bound": "="}


def test_without_a_value_there_is_no_result():
    assert result_of(rate_mm_h=None) is None
    assert result_of(method=TestMethod.OUTFLOW_METER.value, own_value=None) is None


@pytest.mark.parametrize("of_round", ["active", "void", "replaced"])
@pytest.mark.parametrize("state", ["active", "void", "replaced"])
@pytest.mark.parametrize("is_valid", [True, False])
def test_it_counts_where_it_and_its_round_stand_and_nothing_voids_it(state, of_round, is_valid):
    row = test_row(state=state, is_valid=is_valid, round=round_(state=of_round))

    shown = observations.test_out(row, FIRM)

    assert shown.counts is (state == of_round == "active" and is_valid)
    assert shown.state == state


def test_the_time_of_a_test_is_when_it_ended_else_when_it_was_made():
    ended = datetime(2024, 6, 3, 9, 45, tzinfo=UTC)

    assert observations.test_out(test_row(finished_at=ended), FIRM).phenomenon_time == ended
    assert observations.test_out(test_row(), FIRM).phenomenon_time == AT


def test_a_spot_is_a_location_with_its_zone_or_words_without_one():
    place = Location(surface=surface(), label="A1", zone="edge")

    fixed = answered(observations.test_out(test_row(location=place, spot=""), FIRM))["hasFeatureOfInterest"]
    free = answered(observations.test_out(test_row(spot="By the gate"), FIRM))["hasFeatureOfInterest"]

    assert (fixed["location"], fixed["place"], fixed["zone"]) == (str(place.pk), "A1", "edge")
    assert (free["location"], free["place"], free["zone"]) == (None, "By the gate", None)


@pytest.mark.parametrize("effect", Effect)
def test_each_deviation_says_what_it_does(effect):
    key = next(key for key, consequence in CONSEQUENCES.items() if consequence.effect is effect)
    row = test_row()
    row.deviations = (Deviation(key, 2.5, "at least 3", "It was 2.5. Test again."),)

    (told,) = answered(observations.test_out(row, FIRM))["deviations"]

    assert told == {
        "key": key, "value": 2.5, "allowed": "at least 3", "message": "It was 2.5. Test again.", "effect": effect.value,
    }  # fmt: skip


def test_readings_come_back_in_the_units_they_were_taken_in():
    row = test_row(unit_system="us", test_mass=39.7, ring_diameter=12.0, elapsed_s=320.0)

    read = answered(observations.test_out(row, FIRM))["readings"]

    assert (read["unit_system"], read["units"]["mass"], read["units"]["length"]) == ("us", "lb", "in")
    assert (read["once"]["test_mass"], read["once"]["ring_diameter"], read["once"]["prewet_mass"]) == (
        39.7,
        12.0,
        None,
    )
    assert read["runs"] == []


# ---- what only the firm reads ----------------------------------------------------------------------------------


def owner_row():
    return Owner(name="Harbour Homes", email="in@x.example", phone="123", note=SECRET, created_at=AT)


def cleaning(**changes):
    values = {"cleaned_on": date(2024, 7, 1), "method": "vacuum", "currency": "EUR", "done_by": "Crew 1"}
    return CleaningEvent(surface=surface(), created_at=AT, **values | changes)


@pytest.mark.parametrize("audience", Audience)
@pytest.mark.parametrize(
    "show",
    [
        lambda audience: places.owner_out(owner_row(), audience),
        lambda audience: places.site_out(site(access_note=SECRET), audience),
        lambda audience: places.surface_out(surface(note=SECRET), audience),
        lambda audience: records.round_out(round_(note=SECRET), audience),
        lambda audience: records.cleaning_out(cleaning(note=SECRET), audience),
        lambda audience: observations.test_out(test_row(note=SECRET), audience),
        lambda audience: ahead.visit_out(visit(note=SECRET), audience),
        lambda audience: ahead.recommendation_out(advice(decision_reason=SECRET), audience),
    ],
    ids=["owner", "site", "surface", "round", "cleaning", "test", "visit", "advice"],
)
def test_notes_ways_in_and_reasons_are_for_the_firm(show, audience, monkeypatch):
    monkeypatch.setattr("api.presentation.places.chosen_rule", lambda row: "")
    monkeypatch.setattr(Surface, "locations", SimpleNamespace(all=list))

    assert (SECRET in content_of(show(audience)).decode()) is (audience is FIRM)


def test_how_to_reach_an_owner_is_for_the_firm():
    assert (places.owner_out(owner_row(), FIRM).email, places.owner_out(owner_row(), FIRM).phone) == (
        "in@x.example",
        "123",
    )
    assert (places.owner_out(owner_row(), OWNER).email, places.owner_out(owner_row(), OWNER).phone) == (
        "",
        "",
    )
    assert places.owner_out(owner_row(), OWNER).name == "Harbour Homes"


@pytest.mark.parametrize(("audience", "seen"), [(FIRM, True), (OWNER, True), (LINK, False)])
def test_what_was_charged_and_by_whom_it_was_done_is_for_who_pays(audience, seen):
    shown = records.cleaning_out(cleaning(cost=Decimal("420.5")), audience)

    assert (shown.price.amount if shown.price else None) == ("420.50" if seen else None)
    assert shown.done_by == ("Crew 1" if seen else "")


@pytest.mark.parametrize(("audience", "seen"), [(FIRM, "3.25"), (OWNER, None), (LINK, None)])
def test_what_a_year_is_worth_is_for_the_firm(audience, seen):
    assert places.site_out(site(below_price_m2_yr=Decimal("3.25")), audience).below_price_m2_yr == seen


@given(st.decimals(0, 10**9, places=2))
def test_a_sum_is_a_text_in_which_no_cent_is_lost(value):
    shown = amount_of(value, "EUR")

    assert Decimal(shown.amount) == value
    assert shown.amount.partition(".")[2].isdigit()
    assert len(shown.amount.partition(".")[2]) == 2


def test_no_sum_is_none_and_nothing_is_a_sum():
    assert amount_of(None, "EUR") is None
    assert amount_of(Decimal(0), "EUR").amount == "0.00"


# ---- what lies ahead ------------------------------------------------------------------------------------------


def visit(**changes):
    crew = Crew(organisation=Organisation(name="Firm"), name="Crew 7")
    row = Visit(
        crew=crew, organisation=crew.organisation, visit_on=date(2031, 5, 1), created_at=AT, **changes
    )
    task = VisitTask(visit=row, surface=surface(), action="clean", begins_min=420, ends_min=480)
    task.recommendation_id = row.pk
    row.shown_tasks = [task]
    return row


def test_of_a_visit_an_owner_reads_day_and_hours_and_neither_crew_nor_advice():
    firm, owner = (answered(ahead.visit_out(visit(), audience)) for audience in (FIRM, OWNER))

    assert (firm["crew"], owner["crew"]) == ("Crew 7", "")
    assert [task["recommendation"] for task in owner["tasks"]] == [None]
    assert firm["tasks"][0]["recommendation"] is not None
    for told in (firm, owner):
        (task,) = told["tasks"]
        assert (told["visit_on"], task["begins_min"], task["ends_min"]) == ("2031-05-01", 420, 480)
        assert task["outcome"] is None


@pytest.mark.parametrize(("made_from", "stale"), [(2, True), (3, False), (0, True)])
def test_a_forecast_is_stale_once_the_record_has_gone_on(made_from, stale):
    row = Forecast(surface=surface(), made_from_version=made_from, created_at=AT, rate_now_mm_h=300.0)

    shown = ahead.forecast_out(row, OWNER)

    assert shown.is_stale is stale
    assert (shown.rate_now_mm_h, shown.limit_mm_h) == (300.0, 250.0)


def advice(**changes):
    values = {
        "action": "clean",
        "method": "vacuum",
        "due_on": date(2024, 9, 1),
        "earliest_on": date(2024, 8, 1),
    }
    values |= {"cost": Decimal(300), "currency": "EUR", "crew_hours": 3.5}
    return Recommendation(surface=surface(), created_at=AT, **values | changes)


def released(**changes):
    values = {"action": "clean", "method": "vacuum", "title": "Sweep it", "earliest_on": date(2024, 8, 1)}
    values |= {"due_on": date(2024, 9, 1), "cost": Decimal(250), "currency": "EUR"}
    values |= {"reasons": ("It clogs.", f"It saves {money(120, 'EUR')} a year.")}
    row = AdviceRelease(recommendation=advice(), surface=surface(), released_at=AT, created_at=AT)
    row.released_by = User(email="a@firm.example")
    row.content = ReleasedAdvice(**values | changes)
    return row


def test_released_advice_is_told_in_the_words_and_at_the_price_of_its_release():
    shown = answered(ahead.released_out(released(), OWNER))

    assert (shown["title"], shown["price"]) == ("Sweep it", {"amount": "250.00", "currency": "EUR"})
    assert (shown["crew_hours"], shown["share_below"], shown["decision_reason"]) == (None, None, "")
    assert [reason[:9] for reason in shown["reasons"]] == ["It clogs.", "It saves "]
    assert datetime.fromisoformat(shown["released_at"]) == AT


def test_who_reads_no_prices_reads_no_sentence_that_names_one():
    shown = answered(ahead.released_out(released(), LINK))

    assert (shown["price"], shown["reasons"]) == (None, ["It clogs."])
    assert "120" not in str(shown["reasons"])


def test_advice_as_it_stands_has_no_day_of_release():
    assert ahead.recommendation_out(advice(), FIRM).released_at is None
    assert ahead.recommendation_out(advice(), FIRM).crew_hours == 3.5
