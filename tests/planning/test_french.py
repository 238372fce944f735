"""Sentences of planning in French: numbers, days and plurals, and who gets a mail, a quote or a calendar in it."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import icalendar
import pytest
from django.core import mail
from django.urls import reverse
from django.utils.translation import override

from accounts.models import Notice
from core.calc.jobs import JobState
from core.services import jobs
from maintenance.calc.advice_payload import Grounds
from maintenance.models import Recommendation
from planning.calc.crew_news import news_in_words
from planning.calc.due import guarantee_due
from planning.calc.plan_payload import LeftOut, PlannedStop, Wording
from planning.calc.quotes import QuoteUnit
from planning.calc.routing.reasons import Why
from planning.models import OwnerNotice, Visit
from planning.presentation.planned_work import title_of
from planning.presentation.quotes import quantity_words
from planning.presentation.why_left import why_left
from planning.services import owner_notices, quote_mail, quotes, visits
from planning.services.feeds import make_feed
from tests.clock import TODAY
from tests.factories import CrewFactory, PriceListFactory

SOON = TODAY + timedelta(days=5)


def plain(text):
    """With blanks as they are typed: French has narrow ones within numbers, and others before its marks."""
    return text.replace("\u00a0", " ").replace("\u202f", " ")


def speak(person, language="fr"):
    person.language = language
    person.save(update_fields=["language"])


def test_a_crew_is_told_in_whole_sentences_with_the_days_in_french():
    with override("fr"):
        moved = news_in_words(date(2026, 3, 3), date(2026, 3, 5), is_cancelled=False, sites="Cour Nord")

    assert plain(moved) == (
        "Votre intervention du mardi 3 mars 2026 est déplacée au jeudi 5 mars 2026 : Cour Nord."
    )


def test_the_defects_within_a_guarantee_are_counted_in_french():
    with override("fr"):
        said = [
            plain(guarantee_due(date(2026, 8, 1), None, n, date(2026, 7, 1)).why).split(": ")[1]
            for n in (0, 1, 2)
        ]

    assert [words.partition(".")[0] for words in said] == ["aucun défaut", "1 défaut", "2 défauts"]


def test_why_work_was_left_out_is_told_in_french_with_its_days_and_price():
    days = {"first_on": date(2026, 11, 2), "last_on": date(2026, 11, 27), "longest_min": 130}
    left = LeftOut("advice 1", "Test", uuid4(), "Cour", Why.TAKEN, 240, 1900.0, **days)

    with override("fr"):
        assert plain(why_left(left, "EUR")) == (
            "Aucune équipe qui peut le faire n’a 4 h 00 min libres entre le 2 nov. 2026 et le 27 nov. 2026 ; le plus "
            "long créneau libre est de 2 h 10 min. Des travaux plus rentables occupent ces jours. "
            "L’attendre coûte 1 900 EUR."
        )
        several = replace(left, whole_days=3, last_on=left.first_on, longest_min=0)
        assert "n’a 3 jours de suite libres de 4 h 00 min chacun le 2 nov. 2026." in plain(
            why_left(several, "EUR")
        )


def test_quantities_of_a_quote_have_the_marks_of_french():
    with override("fr"):
        assert plain(quantity_words(Decimal("1234.50"), QuoteUnit.M2, "si")) == "1 234,5 m²"


def test_a_plan_names_its_work_in_the_language_of_whoever_looks_and_an_old_one_as_it_was_stored():
    stop = PlannedStop("after 1", "Test after the cleaning", uuid4(), "Cour", 480, 540, 1.0)
    told = replace(stop, wording=Wording("test", moment="after"))

    with override("fr"):
        assert title_of(told).endswith("après le nettoyage")
        assert title_of(stop) == "Test after the cleaning"
    assert title_of(told) == "Test after the cleaning"


@pytest.fixture
def visit(firm):
    crew = CrewFactory(organisation=firm.organisation)
    crew.people.add(firm.technician)
    visit = visits.save_visit(
        visit=Visit(organisation=firm.organisation, crew=crew, visit_on=SOON, planned_by=firm.admin)
    )
    visits.add_task(visit=visit, surface=firm.surface, action="test")
    return visit


def mails_of_days():
    OwnerNotice.objects.filter(state=JobState.WAITING).update(
        due_at=owner_notices.now() - timedelta(seconds=1)
    )
    for notice in OwnerNotice.objects.filter(state=JobState.WAITING):
        jobs.run(OwnerNotice._meta.label, notice.pk)
    return mail.outbox


def test_an_owner_who_reads_french_is_told_the_days_in_french_whoever_set_them(firm, visit):
    speak(firm.owner)

    (sent,) = mails_of_days()

    assert sent.subject.startswith("Intervention de ")
    assert "vous annonce les jours des interventions" in sent.body
    assert "Pour ne plus recevoir ces courriels" in sent.body


def test_what_somebody_chose_for_themselves_comes_before_the_language_of_their_owner(firm, visit):
    speak(firm.owner)
    speak(firm.owner_person, "en-gb")

    (sent,) = mails_of_days()

    assert sent.subject.startswith("Visit on ")


def test_each_of_a_crew_is_told_in_their_own_language(firm, visit):
    crew = visit.crew
    speak(firm.admin)
    crew.people.add(firm.admin)
    visit.visit_on = SOON + timedelta(days=1)
    visits.save_visit(visit=visit)

    def texts(person):
        return [row.text for row in Notice.objects.filter(user=person).order_by("created_at", "occasion")]

    assert texts(firm.technician)[-1].startswith("Your visit on ")
    assert texts(firm.admin)[-1].startswith("Vous sortez le ")


def test_a_quote_is_written_and_mailed_in_the_language_of_its_owner(firm, django_capture_on_commit_callbacks):
    speak(firm.owner)
    PriceListFactory(organisation=firm.organisation)
    advice = Recommendation.objects.create(
        surface=firm.surface,
        action="clean",
        method="vacuum",
        grounds=Grounds(1, ("It clogs.",)),
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        cost=Decimal(500),
    )

    version = quotes.quote_advice(
        recommendations=[advice], by=firm.coordinator, valid_until=TODAY + timedelta(days=30)
    )
    with django_capture_on_commit_callbacks(execute=True):
        quote_mail.tell_owner(version=version, link="https://example.org/quote")

    assert f"Déplacement, {firm.site.name}" in [line.what for line in version.lines.all()]
    assert mail.outbox[0].subject.startswith("Devis ")
    assert "Il peut être accepté jusqu’au" in mail.outbox[0].body


def test_a_calendar_is_in_the_language_of_whose_it_is_whatever_the_program_asks_for(client, firm, visit):
    speak(firm.organisation)
    url = reverse("planning:feed-show", args=[make_feed(whose=visit.crew, by=firm.admin).secret])

    calendar = icalendar.Calendar.from_ical(client.get(url, headers={"accept-language": "en"}).content)

    assert str(calendar["X-WR-CALNAME"]).startswith("Interventions")
    (event,) = calendar.walk("VEVENT")
    assert "figurent sur la page de l’intervention" in str(event["DESCRIPTION"])
