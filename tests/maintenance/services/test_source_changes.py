"""A change of source in the record, the model, the advice and the lists."""

from datetime import timedelta

import pytest

from clogging import api
from maintenance.models import Forecast, Recommendation
from maintenance.selectors.histories import histories_of
from maintenance.selectors.records import record_of
from maintenance.services import forecasts, recommendations
from qa.services import inspections
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    InspectionFindingFactory,
    RoundFactory,
    SourceChangeFactory,
)

YEAR = timedelta(days=365)


@pytest.fixture
def clogging(firm):
    """Soil drains onto it, and it has fallen far below its limit."""
    surface = firm.surface
    surface.bare_soil = True
    surface.save()
    for years, elapsed_s in ((4, 60.0), (2, 600.0), (0.1, 1800.0)):
        round_ = RoundFactory(surface=surface, tested_on=TODAY - years * YEAR)
        for spot in ("a", "b", "c"):
            InfiltrationTestFactory(round=round_, spot=spot, elapsed_s=elapsed_s)
    return surface


def forecast_of(surface):
    forecasts.refresh(surface.pk)
    return Forecast.objects.get(surface=surface)


def outlook_of(surface):
    return forecast_of(surface).outlook


def source_advice(surface):
    return Recommendation.objects.filter(surface=surface, action="source")


def test_the_model_is_told_in_order_and_not_of_what_was_set_aside(firm):
    surface = firm.surface
    RoundFactory(surface=surface)
    CleaningFactory(surface=surface, cleaned_on=TODAY - YEAR)
    SourceChangeFactory(surface=surface, changed_on=TODAY - YEAR)
    gone = SourceChangeFactory(surface=surface, changed_on=TODAY, kind="started")
    inspections.void_source_change(change=gone, by=firm.technician, reason="Other surface.")

    (recorded,) = histories_of([surface])

    kinds = [type(event) for event in recorded.history.events]
    assert kinds == [api.CleaningEvent, api.SourceEvent]
    assert recorded.history.events[-1].kind == "stopped"


def test_a_stopped_source_slows_the_forecast_decline(clogging):
    before = outlook_of(clogging).decline_percent_a_year.median
    SourceChangeFactory(surface=clogging, changed_on=TODAY)

    after = outlook_of_new(clogging)

    assert after.decline_percent_a_year.median < before
    assert after.source_stopped_on == TODAY


def outlook_of_new(surface):
    forecasts.force_refresh(surface=surface)
    return outlook_of(surface)


def test_before_restoring_the_sediment_is_to_be_found_with_what_that_is_worth(clogging):
    outlook = outlook_of(clogging)

    others = Recommendation.objects.filter(surface=clogging).exclude(action="source")
    first = source_advice(clogging).get()
    assert all(first.due_on <= other.due_on for other in others)
    assert any("over twenty years with care that leaves the source" in reason for reason in first.reasons)
    assert "Bare soil or planting drains onto it." in first.reasons
    assert any("With the source stopped" in reason for reason in first.reasons)
    assert outlook.source_worth.loss_with.median < outlook.source_worth.loss_without.median
    assert {cause.condition for cause in outlook.recorded_causes} >= {"bare_soil"}
    assert outlook.decline_percentile_plain >= outlook.decline_percentile


def test_a_recorded_stop_answers_the_advice_and_ends_it(firm, clogging):
    forecast_of(clogging)
    change = SourceChangeFactory.build(surface=clogging, changed_on=TODAY)
    inspections.record_source_change(change=change, by=firm.technician)

    forecasts.refresh(clogging.pk)

    assert [row.status for row in source_advice(clogging)] == ["done"]


def test_a_new_source_answers_nothing(firm, clogging):
    forecast_of(clogging)
    change = SourceChangeFactory.build(surface=clogging, changed_on=TODAY, kind="started")
    inspections.record_source_change(change=change, by=firm.technician)

    forecasts.refresh(clogging.pk)

    advice = source_advice(clogging).get()
    assert (advice.status, "A new source of sediment began" in advice.reasons[0]) == ("open", True)


def test_a_finding_of_sediment_is_a_sign_of_its_own(firm, clogging):
    clogging.bare_soil = False
    clogging.save()
    InspectionFindingFactory(inspection__surface=clogging, inspection__inspected_on=TODAY - timedelta(days=9))

    outlook_of(clogging)

    assert "found sediment on it" in source_advice(clogging).get().reasons[0]


def test_a_search_that_found_nothing_is_not_asked_for_again_the_same_year(firm, clogging):
    forecast_of(clogging)
    row = source_advice(clogging).get()
    recommendations.mark_planned(recommendation=row, by=firm.coordinator, reason="")
    recommendations.mark_done(recommendation_id=row.pk)

    forecasts.force_refresh(surface=clogging)
    forecasts.refresh(clogging.pk)

    assert [row.status for row in source_advice(clogging)] == ["done"]


def test_the_record_shows_inspections_and_changes_of_source(firm):
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    change = SourceChangeFactory(surface=firm.surface)

    rows = {item.row for item in record_of(firm.surface, None)}

    assert {finding.inspection, change} <= rows
