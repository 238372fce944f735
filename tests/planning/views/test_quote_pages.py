"""The pages of quotes: made, changed, sent and answered, by who may; the mails; and where the answer stands."""

import re
from datetime import timedelta
from decimal import Decimal
from smtplib import SMTPException

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from accounts.calc.roles import Role
from accounts.models import Membership
from maintenance.calc.advice_payload import Grounds
from maintenance.models import Forecast, Recommendation
from planning.calc.vocabulary import Answer, QuoteState
from planning.models import Quote, QuoteLine, QuoteVersion
from planning.services import quotes
from planning.services.visits import plan
from qa.models import Surface
from tests.clock import TODAY
from tests.factories import (
    CrewFactory,
    MembershipFactory,
    OwnerFactory,
    OwnerPersonFactory,
    PriceListFactory,
    QuoteLineFactory,
    QuoteVersionFactory,
    SiteFactory,
    SurfaceFactory,
    small_outlook,
)
from tests.sending import as_shown

NEW, LIST = reverse("planning:quote-create"), reverse("planning:quote-list")
UNTIL = TODAY + timedelta(days=30)


def advise(surface, **changes):
    given = {"action": "clean", "method": "vacuum", "cost": Decimal(500), "crew_hours": 2.0}
    return Recommendation.objects.create(
        surface=surface,
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        waiting_costs=Decimal(50),
        grounds=Grounds(1, ("It clogs.",)),
        **given | changes,
    )


@pytest.fixture
def office(client, firm):
    """The coordinator of a firm with a price list, on pages in English."""
    PriceListFactory(organisation=firm.organisation)
    client.force_login(firm.coordinator)
    return client


@pytest.fixture
def sent(firm):
    """A version that was sent to the firm's owner, for the surface that is advised to be cleaned."""
    return QuoteLineFactory(
        version__quote__owner=firm.owner,
        version__quote__made_by=firm.coordinator,
        recommendation=advise(firm.surface),
        surface=firm.surface,
        site=firm.site,
    ).version


def draft_of(firm):
    """A version that was never sent, with one line."""
    never = {"version__state": "draft", "version__sent_at": None}
    return QuoteLineFactory(version__quote__owner=firm.owner, **never).version


def url(name, version):
    return reverse(f"planning:quote-{name}", args=[version.pk])


def text_of(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def test_what_is_ticked_on_the_first_page_becomes_a_draft_and_is_shown(office, firm):
    rows = [advise(firm.surface), advise(SurfaceFactory(site=firm.site))]
    trip = f"{firm.site.pk}:clean"
    first = office.get("/").content.decode()

    page = office.get(NEW, {"trip": trip, "next": "/"})
    answer = office.post(f"{NEW}?trip={trip}&next=/", as_shown(page.content.decode()) | {"note": "Gladly."})

    version = QuoteVersion.objects.get()
    assert f'formaction="{NEW}"' in first
    assert answer.url == version.get_absolute_url(), "not back to the list: it is still to be sent"
    assert {line.recommendation for line in version.lines.exclude(recommendation=None)} == set(rows)
    assert version.note == "Gladly."
    shown = text_of(office.get(answer.url))
    for said in (
        "draft",
        "Send to the owner",
        "1,000 m²",
        "Net 1,045.00 EUR",
        "Total 1,243.55 EUR",
        "Gladly.",
    ):
        assert said in shown


def test_work_of_two_owners_is_refused_with_their_names_and_what_was_typed_stays(office, firm):
    other = SurfaceFactory(
        site=SiteFactory(owner=OwnerFactory(organisation=firm.organisation, name="Other One"))
    )
    query = f"?advice={advise(firm.surface).pk}&advice={advise(other).pk}"
    page = as_shown(office.get(NEW + query).content.decode())

    answer = office.post(NEW + query, page | {"note": "My note"})

    assert answer.status_code == 200
    assert "Other One" in text_of(answer)
    assert "My note" in answer.content.decode()
    assert not Quote.objects.exists()


def test_without_a_price_list_the_page_leads_to_one_and_nothing_is_stored(client, firm):
    client.force_login(firm.coordinator)
    query = f"?advice={advise(firm.surface).pk}"

    page = client.get(NEW + query)
    answer = client.post(NEW + query, as_shown(page.content.decode()))

    assert reverse("maintenance:price-create") in page.content.decode()
    assert answer.status_code == 409
    assert not Quote.objects.exists()


def test_with_nothing_ticked_it_leads_back_and_says_so(office):
    answer = office.get(NEW, {"next": "/"}, follow=True)

    assert "Nothing is chosen" in text_of(answer)


def test_sending_mails_the_owners_people_each_by_itself(
    office, firm, mailoutbox, django_capture_on_commit_callbacks
):
    version = draft_of(firm)
    other = OwnerPersonFactory(owner=firm.owner).user

    with django_capture_on_commit_callbacks(execute=True):
        answer = office.post(url("send", version), follow=True)

    assert f"2 mails to {firm.owner}" in text_of(answer)
    assert sorted(mail.to for mail in mailoutbox) == sorted([[firm.owner_person.email], [other.email]])
    assert f"http://testserver{version.get_absolute_url()}" in mailoutbox[0].body
    assert "595.00 EUR" in mailoutbox[0].body


def test_no_mail_goes_out_before_the_commit_nor_where_sending_is_refused(office, firm, mailoutbox):
    unpriced = QuoteLineFactory(
        version__quote__owner=firm.owner, version__state="draft", unit_price=None
    ).version

    answer = office.post(url("send", unpriced), follow=True)

    assert "Give the price of" in text_of(answer)
    assert mailoutbox == []


def test_an_owner_without_people_is_said(office, firm):
    owner = OwnerFactory(organisation=firm.organisation)
    version = QuoteLineFactory(
        version__quote__owner=owner, version__state="draft", version__sent_at=None
    ).version

    assert "Nobody reads along for this owner" in text_of(office.post(url("send", version), follow=True))


def test_a_mail_that_fails_undoes_nothing(office, firm, monkeypatch, django_capture_on_commit_callbacks):
    version = draft_of(firm)

    def fail(*_):
        raise OSError("no mail server")

    monkeypatch.setattr("planning.services.quote_mail.send_mail", fail)
    with django_capture_on_commit_callbacks(execute=True):
        office.post(url("send", version))

    version.refresh_from_db()
    assert version.state == QuoteState.SENT


def test_an_address_that_is_refused_keeps_no_mail_from_the_others(
    office, firm, monkeypatch, caplog, django_capture_on_commit_callbacks
):
    version, tried = draft_of(firm), []
    OwnerPersonFactory(owner=firm.owner)

    def fail(*given):
        tried.append(given[3])
        raise SMTPException("no such address")

    monkeypatch.setattr("planning.services.quote_mail.send_mail", fail)
    with django_capture_on_commit_callbacks(execute=True):
        office.post(url("send", version))

    assert len(tried) == 2
    assert "no such address" in caplog.text


def test_where_mail_is_not_set_up_it_is_said_and_none_is_tried(
    client, office, firm, sent, settings, monkeypatch, django_capture_on_commit_callbacks
):
    draft, tried = draft_of(firm), []
    monkeypatch.setattr("planning.services.quote_mail.send_mail", lambda *given: tried.append(given))
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"

    with django_capture_on_commit_callbacks(execute=True):
        said = text_of(office.post(url("send", draft), follow=True))
        client.force_login(firm.owner_person)
        answered = text_of(client.post(url("answer", sent), {"answer": "approved"}, follow=True))

    assert "has no outgoing mail: tell the owner yourself" in said
    assert "The firm is told" not in answered
    assert tried == []


def test_an_owners_person_who_may_not_sign_in_is_mailed_nothing(
    office, firm, mailoutbox, django_capture_on_commit_callbacks
):
    other = OwnerPersonFactory(owner=firm.owner).user
    other.is_active = False
    other.save()

    with django_capture_on_commit_callbacks(execute=True):
        office.post(url("send", draft_of(firm)))

    assert [mail.to for mail in mailoutbox] == [[firm.owner_person.email]]


def answered_mails(client, firm, sent, mailoutbox, capture, *notes):
    client.force_login(firm.owner_person)
    with capture(execute=True):
        for note in notes:
            client.post(url("answer", sent), {"answer": "approved", "note": note})
    return sorted(mail.to[0] for mail in mailoutbox)


def test_who_left_the_firm_is_not_mailed_an_answer_and_the_admins_are(
    client, firm, sent, mailoutbox, django_capture_on_commit_callbacks
):
    Membership.objects.filter(user=firm.coordinator).delete()

    told = answered_mails(client, firm, sent, mailoutbox, django_capture_on_commit_callbacks, "")

    assert told == [firm.admin.email]


def test_who_only_looks_on_by_now_is_not_mailed_an_answer(
    client, firm, sent, mailoutbox, django_capture_on_commit_callbacks
):
    Membership.objects.filter(user=firm.coordinator).update(role=Role.VIEWER)

    told = answered_mails(client, firm, sent, mailoutbox, django_capture_on_commit_callbacks, "")

    assert told == [firm.admin.email]


def test_an_answer_that_is_repeated_is_mailed_once(
    client, firm, sent, mailoutbox, django_capture_on_commit_callbacks
):
    told = answered_mails(
        client, firm, sent, mailoutbox, django_capture_on_commit_callbacks, "In May.", "In May.", ""
    )

    assert told == [firm.coordinator.email]


def test_a_second_note_to_the_same_answer_is_kept_and_mailed(
    client, firm, sent, mailoutbox, django_capture_on_commit_callbacks
):
    answered_mails(
        client, firm, sent, mailoutbox, django_capture_on_commit_callbacks, "In May.", "Key at the gate."
    )

    sent.refresh_from_db()
    assert sent.decision_note == "In May.\n\nKey at the gate."
    assert len(mailoutbox) == 2
    assert "Key at the gate." in mailoutbox[1].body


def test_a_draft_is_changed_with_its_lines(office, firm):
    version = draft_of(firm)
    page = as_shown(office.get(url("edit", version)).content.decode())
    more = {"lines-1-what": "Sign at the gate", "lines-1-quantity": "2", "lines-1-unit_price": "12.345"}

    answer = office.post(url("edit", version), page | more | {"lines-0-unit_price": "0.40"})

    assert answer.url == version.get_absolute_url(), answer
    version.refresh_from_db()
    assert [(line.what, line.amount_in("EUR")) for line in version.lines.all()] == [
        ("Clean: vacuum sweeping", Decimal("400.00")),
        ("Sign at the gate", Decimal("24.69")),
    ]
    assert (version.net, version.total) == (Decimal("424.69"), Decimal("505.38"))  # 80.69 of tax


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("lines-0-quantity", "0", "too small"),
        ("lines-0-quantity", "", "required"),
        ("lines-0-quantity", "sNaN", "Enter a number"),
        ("lines-0-unit_price", "-1", "too small"),
        ("lines-0-unit", "miles", "valid choice"),
        ("valid_until", "2020-01-01", "is in the past"),
    ],
)
def test_what_cannot_be_quoted_is_said_and_nothing_is_lost(office, firm, field, typed, said):
    version = draft_of(firm)
    before = QuoteLine.objects.values().get()
    page = as_shown(office.get(url("edit", version)).content.decode())

    answer = office.post(url("edit", version), page | {field: typed, "note": "My note"})

    assert said in text_of(answer)
    assert "My note" in answer.content.decode()
    assert QuoteLine.objects.values().get() == before


def test_changing_what_was_sent_makes_a_version_that_names_the_other(office, sent):
    page = office.get(url("edit", sent))

    answer = office.post(
        url("edit", sent), as_shown(page.content.decode()) | {"lines-0-unit_price": "0.40"}, follow=True
    )

    assert "Saving makes a new version" in text_of(page)
    assert f"{sent.quote} v2" in text_of(answer)
    assert sent.get_absolute_url() in answer.content.decode()
    sent.refresh_from_db()
    assert (sent.total, sent.lines.get().unit_price) == (Decimal(595), Decimal("0.5"))


def test_the_owner_reads_approves_and_the_office_is_told(
    client, firm, sent, mailoutbox, django_capture_on_commit_callbacks
):
    client.force_login(firm.owner_person)
    start = client.get("/")
    detail = client.get(sent.get_absolute_url())

    with django_capture_on_commit_callbacks(execute=True):
        answer = client.post(
            url("answer", sent), {"answer": "approved", "note": "Please in May."}, follow=True
        )

    assert "Quotes that wait for your answer" in text_of(start)
    assert url("answer", sent) in detail.content.decode()
    assert "Approved by" in text_of(answer)
    assert "Please in May." in text_of(answer)
    assert "wait for your answer" not in text_of(client.get("/"))
    (mail,) = mailoutbox
    assert mail.to == [firm.coordinator.email]
    assert "is approved" in mail.subject
    assert "Please in May." in mail.body


def test_an_answer_needs_to_be_one_of_the_two_and_what_was_typed_stays(client, firm, sent):
    client.force_login(firm.owner_person)

    for given in ({}, {"answer": "maybe"}):
        answer = client.post(url("answer", sent), given | {"note": "My note"})

        assert answer.status_code == 200
        assert "My note" in answer.content.decode()
    sent.refresh_from_db()
    assert sent.state == QuoteState.SENT


def test_an_older_version_is_not_approved_and_the_page_leads_to_the_newer_one(client, firm, sent, mailoutbox):
    client.force_login(firm.owner_person)
    client.get(url("answer", sent))
    newer = quotes.change(
        version=sent, by=firm.coordinator, valid_until=UNTIL, note="", lines=list(sent.lines.all())
    )
    quotes.send(version=newer, by=firm.coordinator)

    answer = client.post(url("answer", sent), {"answer": "approved", "note": "My note"})

    assert answer.status_code == 409
    assert "was replaced by version 2" in text_of(answer)
    assert "My note" in answer.content.decode()
    assert newer.get_absolute_url() in answer.content.decode()
    sent.refresh_from_db()
    assert sent.state == QuoteState.REPLACED
    assert mailoutbox == []


def test_a_coordinator_of_another_firm_who_reads_for_the_owner_is_offered_no_change(client, firm, sent):
    elsewhere = MembershipFactory(role=Role.COORDINATOR).user
    OwnerPersonFactory(owner=firm.owner, user=elsewhere)
    client.force_login(elsewhere)

    page = client.get(sent.get_absolute_url())

    assert page.status_code == 200
    assert url("edit", sent) not in page.content.decode()
    assert url("withdraw", sent) not in page.content.decode()


def test_an_owners_person_sees_no_draft_and_nothing_of_other_owners(client, firm, sent):
    draft = QuoteLineFactory(
        version__quote=sent.quote, version__version=2, version__state="draft", version__sent_at=None
    )
    other = QuoteLineFactory(version__quote__owner=OwnerFactory(organisation=firm.organisation)).version
    client.force_login(firm.owner_person)

    listed = client.get(LIST).content.decode()

    assert sent.get_absolute_url() in listed
    assert other.get_absolute_url() not in listed
    for hidden in (draft.version, other):
        assert [client.get(url(name, hidden)).status_code for name in ("detail", "answer")] == [404, 404]
    assert draft.version.get_absolute_url() not in client.get(sent.get_absolute_url()).content.decode()


@pytest.mark.parametrize("who", ["viewer", "technician", "coordinator", "admin"])
def test_nobody_of_the_firm_answers_for_the_owner(client, firm, sent, who):
    client.force_login(getattr(firm, who))

    answer = client.post(url("answer", sent), {"answer": "approved"})

    sent.refresh_from_db()
    assert (answer.status_code, sent.state) == (403, QuoteState.SENT)
    assert url("answer", sent) not in client.get(sent.get_absolute_url()).content.decode()


def test_the_office_writes_down_what_the_owner_said_on_paper_and_the_page_says_who_did(office, firm, sent):
    given = {
        "answer": "declined",
        "answered_by": "Anna Owner",
        "answered_on": TODAY.isoformat(),
        "note": "Letter",
    }

    page = office.get(url("write-down", sent)).content.decode()
    answer = office.post(url("write-down", sent), given, follow=True)

    assert "on paper or by phone" in page
    assert f"Declined by Anna Owner (written down by {firm.coordinator})" in text_of(answer)
    assert url("write-down", sent) not in answer.content.decode()


def test_what_was_typed_of_an_answer_stays_when_its_day_is_refused(office, sent):
    given = {"answer": "approved", "answered_by": "Anna Owner", "answered_on": "2040-01-01", "note": "Letter"}

    answer = office.post(url("write-down", sent), given)

    sent.refresh_from_db()
    assert sent.state == QuoteState.SENT
    assert "is in the future" in text_of(answer)
    assert "Anna Owner" in answer.content.decode()


def test_a_quote_is_withdrawn_and_says_so(office, sent):
    answer = office.post(url("withdraw", sent), follow=True)

    assert "is withdrawn" in text_of(answer)
    assert "Send to the owner" not in text_of(answer)


def cited(firm, sent):
    return f"pproved by {firm.owner_person} on {TODAY.day}\u00a0{TODAY:%b}\u00a0{TODAY.year}, quote"


def test_the_answer_stands_on_the_advice_the_visit_and_the_site(office, firm, sent):
    row = sent.lines.get().recommendation
    quotes.decide(version=sent, by=firm.owner_person, answer=Answer.APPROVED)
    visit = plan(
        recommendation=row,
        by=firm.coordinator,
        visit_on=TODAY,
        crew=CrewFactory(organisation=firm.organisation),
    )

    pages = [
        office.get(page).content.decode()
        for page in (row.get_absolute_url(), visit.get_absolute_url(), firm.site.get_absolute_url())
    ]

    assert cited(firm, sent) in pages[0]
    assert f"{sent.quote} v1".removeprefix("Q") in pages[1]
    assert cited(firm, sent) in pages[1]
    assert sent.get_absolute_url() in pages[2]


def test_a_declined_quote_stands_on_the_advice_which_stays_open(office, firm, sent):
    row = sent.lines.get().recommendation
    quotes.decide(version=sent, by=firm.owner_person, answer=Answer.DECLINED, note="Too dear")

    page = text_of(office.get(row.get_absolute_url()))

    assert "Declined by" in page
    assert "Plan a visit" in page


def test_work_above_the_firms_sum_is_marked_until_it_is_approved(office, firm, sent):
    firm.organisation.approval_above = Decimal("499.99")
    firm.organisation.save()
    Forecast.objects.create(surface=firm.surface, outlook=small_outlook())
    row = sent.lines.get().recommendation
    places = {
        "first": "/",
        "advice": row.get_absolute_url(),
        "plan": reverse("planning:recommendation-plan", args=[row.pk]),
        "several": f"{reverse('planning:advice-plan')}?advice={row.pk}",
        "surface": firm.surface.get_absolute_url(),
    }
    needs = "needs the owner&#x27;s approval"

    before = {name for name, place in places.items() if needs in office.get(place).content.decode()}
    quotes.decide(version=sent, by=firm.owner_person, answer=Answer.APPROVED)
    after = {name for name, place in places.items() if needs in office.get(place).content.decode()}

    assert before == set(places)
    assert after == set()
    assert "approved by the owner" in office.get("/").content.decode()


def test_a_planned_visit_says_that_an_approval_is_missing(office, firm):
    firm.organisation.approval_above = Decimal(100)
    firm.organisation.save()
    crew = CrewFactory(organisation=firm.organisation)
    visit = plan(recommendation=advise(firm.surface), by=firm.coordinator, visit_on=TODAY, crew=crew)

    assert "needs the owner" in office.get(visit.get_absolute_url()).content.decode()


def test_without_a_sum_nothing_needs_an_approval(office, firm):
    row = advise(firm.surface, cost=Decimal(999_999))

    assert "needs the owner" not in office.get(row.get_absolute_url()).content.decode()


def queries_of(client, place):
    with CaptureQueriesContext(connection) as seen:
        assert client.get(place).status_code == 200
    return len(seen)


def test_the_list_and_the_first_page_take_as_many_queries_for_one_quote_as_for_twenty(office, firm, sent):
    firm.organisation.approval_above = Decimal(100)
    firm.organisation.save()
    office.get(LIST)
    few = [queries_of(office, place) for place in (LIST, "/", firm.site.get_absolute_url())]

    for _ in range(19):
        surface = SurfaceFactory(site=firm.site)
        version = QuoteVersionFactory(quote__owner=firm.owner, state="approved", decided_by=firm.owner_person)
        QuoteLineFactory(version=version, recommendation=advise(surface), surface=surface, site=firm.site)
    many = [queries_of(office, place) for place in (LIST, "/", firm.site.get_absolute_url())]

    assert many[:2] == few[:2]
    assert Surface.objects.filter(site=firm.site).count() == 20


def test_a_quote_is_begun_from_a_surface_and_from_a_site_by_those_who_plan(client, firm):
    Forecast.objects.create(surface=firm.surface, outlook=small_outlook())
    row = advise(firm.surface)
    ways = {
        firm.surface.get_absolute_url(): f"{NEW}?advice={row.pk}",
        firm.site.get_absolute_url(): f"/?site={firm.site.pk}#work-t",
    }

    offered = {}
    for who in ("coordinator", "technician", "owner_person"):
        client.force_login(getattr(firm, who))
        offered[who] = [way in client.get(page).content.decode() for page, way in ways.items()]

    assert offered == {
        "coordinator": [True, True],
        "technician": [False, False],
        "owner_person": [False, False],
    }


def test_the_sites_advice_is_listed_to_be_ticked(office, firm):
    advise(firm.surface)
    elsewhere = advise(SurfaceFactory(site=SiteFactory(owner=firm.owner, organisation=firm.organisation)))

    page = office.get("/", {"site": str(firm.site.pk)}).content.decode()

    assert f"{firm.site.pk}:clean" in page
    assert elsewhere.surface.name not in page
