"""Quotes as pages read them: what became of work, what each person sees, what is to be quoted."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now

from maintenance.calc.advice_payload import Grounds
from maintenance.models import Recommendation
from planning.calc.plan_payload import PlannedDay, PlannedStop, WorkPlanResult
from planning.calc.vocabulary import ApprovalState
from planning.presentation.work_plans import board_of
from planning.selectors.quotes import (
    answers_to,
    approval_of_row,
    quotes_of_site,
    quotes_shown,
    to_answer,
    waiting_for_approval,
    with_approval,
    work_of,
)
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    OwnerFactory,
    OwnerPersonFactory,
    QuoteFactory,
    QuoteLineFactory,
    QuoteVersionFactory,
    SiteFactory,
    SurfaceFactory,
    WorkPlanFactory,
)

HOUR = timedelta(hours=1)


def advise(surface, action="clean", method="vacuum", cost="500"):
    return Recommendation.objects.create(
        surface=surface,
        action=action,
        method=method,
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        cost=Decimal(cost),
        grounds=Grounds(1, ("It clogs.",)),
    )


def quoted(firm, row, state, *, hours_ago=1, **changes):
    answered = state in ("approved", "declined")
    version = QuoteVersionFactory(
        quote__owner=firm.owner,
        state=state,
        decided_by=firm.owner_person if answered else None,
        decided_at=now() - hours_ago * HOUR if answered else None,
        **changes,
    )
    QuoteLineFactory(version=version, recommendation=row, surface=row.surface, site=row.surface.site)
    return version


@pytest.mark.parametrize(
    ("states", "tells"),
    [
        (["sent", "approved"], 1),
        (["approved", "declined"], 0),
        (["declined", "sent"], 0),
        (["draft", "sent"], 1),
        (["replaced", "withdrawn", "draft"], None),
    ],
)
def test_of_several_quotes_for_a_work_the_one_that_tells_most_is_told(firm, states, tells):
    row = advise(firm.surface)
    versions = [quoted(firm, row, state) for state in states]

    found = answers_to([row.pk], TODAY)

    assert found == ({} if tells is None else {row.pk: versions[tells]})


def test_of_two_answers_of_one_kind_the_newer_is_told(firm):
    row = advise(firm.surface)
    quoted(firm, row, "declined", hours_ago=9)

    newer = quoted(firm, row, "declined", hours_ago=2)

    assert answers_to([row.pk], TODAY) == {row.pk: newer}


def test_work_without_advice_or_quote_has_no_answer(firm):
    assert answers_to([None, advise(firm.surface).pk], TODAY) == {}


def test_answers_to_many_works_are_read_in_one_query(firm):
    rows = [advise(SurfaceFactory(site=firm.site)) for _ in range(8)]
    for row in rows:
        quoted(firm, row, "approved")

    with CaptureQueriesContext(connection) as seen:
        found = answers_to([row.pk for row in rows], TODAY)
        said = {f"{version} {version.decided_by}" for version in found.values()}

    assert len(seen) == 1
    assert len(said) == 8


@pytest.mark.parametrize(
    ("states", "counts"),
    [
        (["approved", "draft"], 0),
        (["sent", "draft"], 0),
        (["declined", "draft"], 1),
        (["replaced", "sent", "draft"], 1),
        (["withdrawn", "declined"], 1),
    ],
)
def test_of_each_quote_the_version_that_counts_is_listed(firm, states, counts):
    quote = QuoteFactory(owner=firm.owner)
    made = [
        QuoteVersionFactory(quote=quote, version=n, state=state) for n, state in enumerate(states, start=1)
    ]

    assert list(quotes_shown(firm.viewer, firm.organisation)) == [made[counts]]


def test_to_an_owner_the_newest_that_was_sent_is_listed(firm):
    first = QuoteVersionFactory(quote__owner=firm.owner, state="declined")
    draft = QuoteVersionFactory(quote=first.quote, version=2, state="draft", sent_at=None)

    assert list(quotes_shown(firm.viewer, firm.organisation)) == [draft]
    assert list(quotes_shown(firm.owner_person, None)) == [first]


def test_a_quote_of_which_nothing_was_sent_is_not_listed_to_its_owner(firm):
    QuoteVersionFactory(quote__owner=firm.owner, quote__first_sent_at=None, state="draft", sent_at=None)

    assert list(quotes_shown(firm.owner_person, None)) == []


def test_quotes_are_listed_by_number_the_newest_first(firm):
    numbers = [(2025, 9), (2026, 1), (2026, 12)]
    rows = [
        QuoteVersionFactory(quote=QuoteFactory(owner=firm.owner, year=year, number=number))
        for year, number in numbers
    ]

    assert list(quotes_shown(firm.admin, firm.organisation)) == rows[::-1]


def test_only_what_waits_for_this_owner_is_to_be_answered(firm):
    waits = QuoteVersionFactory(quote__owner=firm.owner)
    QuoteVersionFactory(quote__owner=firm.owner, state="approved")
    QuoteVersionFactory(quote__owner=OwnerFactory(organisation=firm.organisation))

    assert list(to_answer(firm.owner_person)) == [waits]
    assert list(to_answer(firm.coordinator)) == []


def test_somebody_of_the_firm_who_reads_for_an_owner_answers_for_that_owner(firm):
    waits = QuoteVersionFactory(quote__owner=firm.owner)

    OwnerPersonFactory(owner=firm.owner, user=firm.viewer)

    assert list(to_answer(firm.viewer)) == [waits]


def test_a_site_shows_quotes_with_work_there_but_not_what_was_replaced(firm):
    there, other = advise(firm.surface), advise(SurfaceFactory(site=SiteFactory(owner=firm.owner)))
    shown = quoted(firm, there, "declined")
    quoted(firm, there, "replaced")
    quoted(firm, other, "sent")

    for person in (firm.viewer, firm.owner_person):
        assert list(quotes_of_site(person, firm.site)) == [shown]
    assert list(quotes_of_site(firm.outsider, firm.site)) == []


@pytest.mark.parametrize(
    "changes",
    [{"method": "wash_vacuum"}, {"cost": Decimal("500.01")}, {"status": "planned", "planned_method": "mill"}],
)
def test_an_approval_ends_where_other_or_dearer_work_is_advised(firm, changes):
    firm.organisation.approval_above = Decimal(400)
    firm.organisation.save()
    row = advise(firm.surface)
    version = quoted(firm, row, "approved")
    before = states_of(firm), answers_to([row.pk], TODAY)

    Recommendation.objects.filter(pk=row.pk).update(**changes)

    assert before == ({row.pk: ApprovalState.APPROVED}, {row.pk: version})
    assert (states_of(firm), answers_to([row.pk], TODAY)) == ({row.pk: ApprovalState.NEEDED}, {})
    assert waiting_for_approval(firm.organisation, [f"advice {row.pk}"]) == {f"advice {row.pk}"}


@pytest.mark.parametrize(
    ("unit_price", "cost", "state"),
    [
        ("0.40", "500", ApprovalState.APPROVED),  # quoted below what was advised
        ("0.90", "900", ApprovalState.APPROVED),  # quoted above it
        ("0.90", "900.01", ApprovalState.NEEDED),
        ("0.90", "450", ApprovalState.APPROVED),
        ("0.90", None, ApprovalState.APPROVED),
    ],
)
def test_an_approval_reaches_as_far_as_the_higher_of_quoted_and_advised(firm, unit_price, cost, state):
    firm.organisation.approval_above = Decimal(400)
    firm.organisation.save()
    row = advise(firm.surface)
    quoted(firm, row, "approved").lines.update(unit_price=Decimal(unit_price))

    Recommendation.objects.filter(pk=row.pk).update(cost=cost)

    assert states_of(firm) == {row.pk: state}


def test_what_was_planned_in_another_way_is_quoted_in_that_way(firm):
    row = advise(firm.surface)
    row.status, row.planned_method = "planned", "wash_vacuum"

    (work,) = work_of([row], "si")

    assert work.method == "wash_vacuum"
    assert "vacuum sweeping" not in work.what
    assert work.advised_price == Decimal(500)


def test_a_quote_that_ran_out_neither_waits_nor_tells_more_than_one_that_does(firm):
    row, after = advise(firm.surface), TODAY + timedelta(days=31)
    waits = quoted(firm, row, "sent", valid_until=after)
    over = quoted(firm, row, "sent")
    over.sent_at = now() + HOUR
    over.save()

    assert answers_to([row.pk], TODAY) == {row.pk: over}
    assert answers_to([row.pk], after) == {row.pk: waits}


def test_a_quote_that_ran_out_where_the_firm_works_is_not_to_be_answered(firm):
    """At 11:00 UTC the next day has begun on Kiritimati, 14 hours ahead, and not in Hawaii, 10 behind."""
    last = QuoteVersionFactory(quote__owner=firm.owner, valid_until=TODAY)
    waiting = {}
    for zone in ("Pacific/Kiritimati", "Pacific/Honolulu"):
        firm.organisation.sites.update(time_zone=zone)
        with time_machine.travel(datetime(TODAY.year, TODAY.month, TODAY.day, 11, tzinfo=UTC), tick=False):
            waiting[zone] = to_answer(firm.owner_person)

    assert waiting == {"Pacific/Kiritimati": [], "Pacific/Honolulu": [last]}


def states_of(firm):
    rows = with_approval(Recommendation.objects.of_organisation(firm.organisation))
    return {row.pk: approval_of_row(row) for row in rows}


def test_rows_are_read_with_how_they_stand(firm):
    firm.organisation.approval_above = Decimal(400)
    firm.organisation.save()
    approved, waits, declined = (advise(SurfaceFactory(site=firm.site)) for _ in range(3))
    cheap = advise(SurfaceFactory(site=firm.site), cost="400")
    for row, state in ((approved, "approved"), (waits, "sent"), (declined, "declined")):
        quoted(firm, row, state)

    with CaptureQueriesContext(connection) as seen:
        found = states_of(firm)

    assert found == {
        approved.pk: ApprovalState.APPROVED,
        waits.pk: ApprovalState.NEEDED,
        declined.pk: ApprovalState.NEEDED,
        cheap.pk: ApprovalState.NONE,
    }
    assert len(seen) == 1


def test_a_plan_is_told_which_of_its_work_waits(firm):
    firm.organisation.approval_above = Decimal(400)
    dear, cheap, approved = (
        advise(SurfaceFactory(site=firm.site), cost=cost) for cost in ("500", "300", "900")
    )
    firm.organisation.save()
    quoted(firm, approved, "approved")
    keys = [f"advice {row.pk}" for row in (dear, cheap, approved)]

    assert waiting_for_approval(firm.organisation, [*keys, "task 1", "finding 2"]) == {keys[0]}


def test_without_a_sum_no_work_of_a_plan_waits_and_nothing_is_read(firm, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert waiting_for_approval(firm.organisation, ["advice x"]) == set()


def test_the_board_of_a_plan_marks_what_waits(firm):
    crew = CrewFactory(organisation=firm.organisation)
    stops = tuple(
        PlannedStop(key, "Clean", firm.surface.pk, "Yard", 480 + 60 * i, 540 + 60 * i, 1.0)
        for i, key in enumerate(("advice a", "advice b"))
    )
    result = WorkPlanResult((PlannedDay(crew.pk, TODAY, 480, 600, 480, 0, 0.0, 0.0, stops),), (), 0, 0.0)

    board = board_of(WorkPlanFactory(organisation=firm.organisation), result, [crew], waiting={"advice b"})

    (cell,) = [cell for _, cells in board.week.rows for cell in cells if cell]
    assert [stop.needs_approval for stop in cell.stops] == [False, True]


def test_work_is_quoted_with_its_place_area_and_reason(firm):
    row = advise(firm.surface)

    (work,) = work_of([row], "si")

    assert (work.advice, work.surface, work.site) == (row.pk, firm.surface.pk, firm.site.pk)
    assert (work.what, work.why, work.area_m2) == ("Clean: vacuum sweeping", "It clogs.", 1000.0)
    assert work.material_kg is None


def test_the_material_of_a_refill_is_that_of_the_last_which_counts(firm):
    for year, material, state in ((2023, 8000.0, "active"), (2024, 9000.0, "active"), (2025, 1.0, "void")):
        CleaningFactory(
            surface=firm.surface,
            cleaned_on=TODAY.replace(year=year),
            method="joint_refill",
            material_in_kg=material,
            state=state,
        )
    refill = advise(firm.surface, "rejoint", "joint_refill")

    assert work_of([refill], "si")[0].material_kg == pytest.approx(9000.0)
    assert work_of([advise(firm.surface)], "si")[0].material_kg is None
