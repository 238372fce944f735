"""Whatever was recorded: a document holds nothing that its readers may not read, and comes back as it was kept."""

import json
import random
from datetime import date
from decimal import Decimal

import pytest

from accounts.calc.audience import Audience, Matter
from core.calc.payload import to_payload
from maintenance.calc.advice_payload import Grounds
from maintenance.calc.text import money
from maintenance.models import CleaningEvent, Recommendation
from maintenance.services import forecasts, releases
from planning.models import Agreement
from qa.models import InfiltrationTest, TestRound
from reporting.selectors.handovers import handover_snapshot
from reporting.selectors.kept import thaw
from reporting.selectors.sites import report_snapshot, site_snapshot
from reporting.selectors.surfaces import surface_snapshot
from reporting.services import kept
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    QuoteFactory,
    QuoteLineFactory,
    QuoteVersionFactory,
    RoundFactory,
    VisitFactory,
    VisitTaskFactory,
)

SINCE = TODAY.replace(year=TODAY.year - 5)


def note_the_surface(firm, word):
    firm.surface.note = word
    firm.surface.save()


def note_the_site(firm, word):
    firm.site.access_note = word
    firm.site.save()


def note_the_owner(firm, word):
    firm.owner.note = word
    firm.owner.save()


def note_a_round(firm, word):
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, note=word))


def note_a_test(firm, word):
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface), note=word)


def note_a_cleaning(firm, word):
    CleaningFactory(surface=firm.surface, note=word)


def send_a_crew(firm, word):
    visit = VisitFactory(crew=CrewFactory(organisation=firm.organisation, name=word))
    VisitTaskFactory(visit=visit, surface=firm.surface)


def pay_for_a_cleaning(firm, word):
    CleaningFactory(surface=firm.surface, cost=Decimal(word))


def advise(firm, **changes):
    values = {"action": "clean", "due_on": TODAY, "earliest_on": TODAY, "currency": "EUR"}
    values |= {"grounds": Grounds(record_version=1, reasons=("Because.",))}
    return Recommendation.objects.create(surface=firm.surface, **values | changes)


def advise_in_the_open(firm, word):
    advise(firm, grounds=Grounds(record_version=1, reasons=(word,)))


def release_in_the_open(firm, word):
    row = advise(firm, action="source", grounds=Grounds(record_version=1, reasons=(word,)))
    releases.release(recommendations=[row], by=firm.coordinator)


def expect_a_price(firm, word):
    row = advise(firm, action="rejoint", status="planned", cost=Decimal(word))
    releases.release(recommendations=[row], by=firm.coordinator)


def name_a_price_in_words(firm, word):
    reasons = ("Because.", f"It saves {money(Decimal(word), 'EUR')} against waiting.")
    row = advise(firm, action="test", status="planned", grounds=Grounds(record_version=1, reasons=reasons))
    releases.release(recommendations=[row], by=firm.coordinator)


def change_a_price_after_its_release(firm, word):
    row = advise(firm, action="inspect", cost=Decimal(100))
    releases.release(recommendations=[row], by=firm.coordinator)
    row.cost = Decimal(word)
    row.save()


def decide_for_a_reason(firm, word):
    advise(firm, action="look", status="planned", decision_reason=word)


def set_a_cleaning_aside(firm, word):
    CleaningFactory(surface=firm.surface, state="void", state_reason=word, state_by=firm.technician)


def name_who_tested(firm, word):
    firm.technician.full_name = word
    firm.technician.save()
    round_ = RoundFactory(surface=firm.surface, recorded_by=firm.technician)
    InfiltrationTestFactory(round=round_, recorded_by=firm.technician)
    CleaningFactory(surface=firm.surface, recorded_by=firm.technician)


def agree(firm, word):
    Agreement.objects.create(site=firm.site, tests_per_year=2.0, cleanings_per_year=1.0, note=word)


def ask_for_an_answer(firm, word):
    version = QuoteVersionFactory(quote=QuoteFactory(owner=firm.owner), total=Decimal(word))
    QuoteLineFactory(version=version, site=firm.site, surface=firm.surface)


def plan_a_day(firm, word):
    VisitTaskFactory(visit=VisitFactory(visit_on=date.fromisoformat(word)), surface=firm.surface)


# What is planted, the word it is known by, and who may read it; None: stands in no such page or document at all.
PLANTED = [
    (note_the_surface, "word-of-the-surface", Matter.NOTES),
    (note_the_site, "word-of-the-gate", Matter.ACCESS),
    (note_the_owner, "word-of-the-owner", Matter.NOTES),
    (note_a_round, "word-of-a-round", Matter.NOTES),
    (note_a_test, "word-of-a-test", Matter.NOTES),
    (note_a_cleaning, "word-of-a-cleaning", Matter.NOTES),
    (send_a_crew, "word-of-a-crew", Matter.CREWS),
    (pay_for_a_cleaning, "913.37", Matter.PRICES),
    (expect_a_price, "7171.71", Matter.PRICES),
    (name_a_price_in_words, "91.61", Matter.PRICES),
    (advise_in_the_open, "word-of-open-advice", Matter.UNRELEASED_ADVICE),
    (release_in_the_open, "word-of-released-advice", Matter.UNDECIDED_ADVICE),
    (change_a_price_after_its_release, "8282.82", Matter.UNRELEASED_ADVICE),
    (decide_for_a_reason, "word-of-a-decision", Matter.INTERNAL_REASONS),
    (set_a_cleaning_aside, "word-of-a-void", Matter.SET_ASIDE_RECORDS),
    (name_who_tested, "word-of-a-name", Matter.PEOPLE),
    (agree, "word-of-an-agreement", Matter.NOTES),
    (ask_for_an_answer, "6161.61", Matter.QUOTES),
    (plan_a_day, "2033-07-13", Matter.VISITS),
]
SHOWN_ON_PAGES = {
    "word-of-the-surface",
    "word-of-the-gate",
    "913.37",
    "7171.71",
    "word-of-open-advice",
    "word-of-released-advice",
    "8282.82",
    "word-of-a-void",
    "word-of-a-crew",
    "6161.61",
    "2033-07-13",
}


def plant(firm, some, with_forecast=None):
    for act, word, _ in some:
        act(firm, word)
    if random.Random(len(some)).random() < 0.5 if with_forecast is None else with_forecast:
        forecasts.refresh(firm.surface.pk)
    for row in (firm.surface, firm.site):
        row.refresh_from_db()


def read_by(firm, audience):
    """Everything that a page or document for the audience is made of, as one text."""
    surface = type(firm.surface).objects.select_related("site__owner", "forecast").get(pk=firm.surface.pk)
    snapshots = (
        surface_snapshot(surface, audience),
        site_snapshot(surface.site, audience),
        report_snapshot(surface.site, audience, since=SINCE),
        handover_snapshot(surface, audience),
    )
    return json.dumps([to_payload(snapshot) for snapshot in snapshots])


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("audience", list(Audience))
def test_nothing_stands_in_a_document_that_its_readers_may_not_read(firm, seed, audience):
    draw = random.Random(seed)
    some = draw.sample(PLANTED, draw.randint(4, len(PLANTED)))
    plant(firm, some)

    text = read_by(firm, audience)

    assert [word for _, word, matter in some if word in text and not audience.sees(matter)] == []


@pytest.mark.parametrize(("act", "word", "matter"), PLANTED)
def test_each_word_alone_is_kept_from_those_it_is_not_for(firm, act, word, matter):
    plant(firm, [(act, word, matter)])

    for audience in Audience:
        assert audience.sees(matter) or word not in read_by(firm, audience), audience


def test_the_firms_own_pages_do_show_what_is_kept_from_others(firm):
    """The control for the tests above: what they look for is found where it may be read."""
    plant(firm, [one for one in PLANTED if one[1] in SHOWN_ON_PAGES], with_forecast=False)

    text = read_by(firm, Audience.FIRM)

    assert {word for word in SHOWN_ON_PAGES if word in text} == SHOWN_ON_PAGES


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("audience", list(Audience))
def test_what_is_kept_comes_back_as_it_was_whatever_was_recorded(firm, seed, audience):
    draw = random.Random(50 + seed)
    plant(firm, draw.sample(PLANTED, draw.randint(3, len(PLANTED))))
    report = kept.freeze_report(site=firm.site, audience=audience, since=SINCE, by=firm.coordinator)
    handover = kept.freeze_handover(surface=firm.surface, audience=audience, by=firm.coordinator)
    before = report_snapshot(firm.site, audience, since=SINCE), handover_snapshot(firm.surface, audience)

    InfiltrationTest.objects.all().delete()
    TestRound.objects.all().delete()
    CleaningEvent.objects.all().delete()
    for row in (report, handover):
        row.refresh_from_db()

    assert (thaw(report), thaw(handover)) == before


@pytest.mark.parametrize("seed", range(4))
def test_the_report_counts_what_a_walk_through_the_record_counts(firm, seed):
    draw, spent, tested, cleaned = random.Random(seed), Decimal(0), 0, 0
    for _ in range(12):
        on = TODAY.replace(year=TODAY.year - draw.randint(0, 9))
        state = draw.choice(["active", "active", "void", "replaced"])
        counts = state == "active" and on >= SINCE
        if draw.random() < 0.5:
            cost = Decimal(draw.randint(1, 99_999)) / 100
            CleaningFactory(surface=firm.surface, cleaned_on=on, state=state, cost=cost)
            cleaned, spent = cleaned + counts, spent + counts * cost
        else:
            round_ = RoundFactory(surface=firm.surface, tested_on=on, state=state)
            with_test = draw.random() < 0.7
            if with_test:
                InfiltrationTestFactory(round=round_)
            tested += counts and with_test

    report = report_snapshot(firm.site, Audience.OWNER, since=SINCE)

    assert (report.rounds_done, report.cleanings_done) == (tested, cleaned)
    assert sum((money.amount for money in report.spent), Decimal(0)) == spent
