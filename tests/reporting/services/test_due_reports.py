"""Reports in the months of an agreement: proposed once, approved by a person, then by themselves until that ends."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.utils.timezone import now

from accounts.calc.audience import Audience
from accounts.models import Notice
from core.calc.months import Months
from core.errors import AlreadyDoneError, NoRoomError
from planning.models import Agreement
from reporting.calc.sharing import DueState
from reporting.models import DueReport, ReportRoutine, Sending, Snapshot
from reporting.selectors.sendings import to_send
from reporting.services import due_reports, kept, links, sendings
from reporting.services.sendings import Mailing, Recipient
from reporting.tasks import propose_reports
from tests.factories import OwnerFactory, OwnerPersonFactory, SharedLinkFactory, SiteFactory, SurfaceFactory
from tests.refusals import refused

WRITTEN = datetime(2030, 1, 15, 12, tzinfo=UTC)
MARCH, SEPTEMBER = datetime(2030, 3, 1, 3, tzinfo=UTC), datetime(2030, 9, 1, 3, tzinfo=UTC)


@pytest.fixture
def clock():
    with time_machine.travel(WRITTEN, tick=False) as traveller:
        yield traveller


@pytest.fixture
def agreement(firm, clock):
    return Agreement.objects.create(site=firm.site, report_months=Months([3, 9]))


def turn(clock, at):
    clock.move_to(at)
    return due_reports.propose_reports(now())


def told_of(due):
    return {notice.user for notice in Notice.objects.filter(about_id=due.pk)}


def mailing(firm, **changes):
    reader = firm.owner.people.get()
    recipients = (Recipient(reader.user.email, reader), Recipient("city@authority.example"))
    return Mailing(recipients, "https://office.example/", "As agreed.", **changes)


def approve(firm, due, by_themselves=True, **changes):
    return due_reports.send_due(
        due=due,
        audience=Audience.OWNER,
        since=due.since,
        mailing=mailing(firm, **changes),
        by=firm.coordinator,
        by_themselves=by_themselves,
    )


def test_the_first_day_of_a_report_month_proposes_one_report_and_sends_nothing(firm, agreement, clock):
    assert turn(clock, MARCH - timedelta(hours=4)) == 0
    assert turn(clock, MARCH) == 1
    assert turn(clock, MARCH + timedelta(hours=1)) == 0
    propose_reports()

    due = DueReport.objects.get()
    assert (due.site, due.month.isoformat(), due.state) == (firm.site, "2030-03-01", DueState.OPEN)
    assert due.since.isoformat() == "2029-09-01"  # half a year, as two are agreed
    assert told_of(due) == {firm.coordinator, firm.admin}
    assert not Sending.objects.exists()
    assert to_send(firm.coordinator, firm.organisation).due == 1
    assert to_send(firm.technician, firm.organisation).due == 0


def test_it_is_the_firms_day_that_begins_the_month(firm, agreement, clock):
    firm.site.time_zone = "Pacific/Auckland"
    firm.site.save()

    assert turn(clock, datetime(2030, 2, 28, 12, tzinfo=UTC)) == 1


def test_months_that_were_missed_are_caught_up_with_once_from_the_last_report_on(firm, agreement, clock):
    turn(clock, MARCH)
    approve(firm, DueReport.objects.get(), by_themselves=False)

    assert turn(clock, datetime(2032, 5, 20, tzinfo=UTC)) == 1

    due = DueReport.objects.get(state=DueState.OPEN)
    assert (due.month.isoformat(), due.since.isoformat()) == ("2032-03-01", "2030-03-01")


def test_a_proposal_that_nobody_took_up_gives_way_to_the_next(firm, agreement, clock):
    turn(clock, MARCH)
    turn(clock, SEPTEMBER)

    states = dict(DueReport.objects.values_list("month__month", "state"))
    assert states == {3: DueState.REPLACED, 9: DueState.OPEN}


def test_months_before_the_agreement_was_written_or_begins_and_after_its_end_ask_for_nothing(
    firm, agreement, clock
):
    agreement.report_months = Months([1])
    agreement.save()
    assert turn(clock, MARCH) == 0

    agreement.report_months, agreement.since = Months([3]), MARCH.date() + timedelta(days=1)
    agreement.save()
    assert turn(clock, MARCH) == 0

    agreement.since, agreement.until = None, MARCH.date() - timedelta(days=1)
    agreement.save()
    assert turn(clock, MARCH) == 0


def test_a_site_without_a_surface_in_service_has_nothing_to_report(firm, agreement, clock):
    firm.surface.removed_on = WRITTEN.date()
    firm.surface.save()

    assert turn(clock, MARCH) == 0


def test_an_agreement_of_another_edition_does_not_keep_the_others_from_their_reports(
    firm, agreement, clock, caplog
):
    other = SurfaceFactory(site=SiteFactory(owner=firm.owner)).site
    Agreement.objects.create(site=other, report_months=Months([3]))
    Agreement.objects.filter(pk=agreement.pk).update(report_months_json={"schema": 99})

    assert turn(clock, MARCH) == 1
    assert DueReport.objects.get().site == other
    assert "cannot be read" in caplog.text


@pytest.mark.parametrize("step", ["_terms", "_propose"])
def test_what_nobody_foresaw_at_one_site_does_not_keep_the_others_from_their_reports(
    firm, agreement, clock, monkeypatch, caplog, step
):
    other = SurfaceFactory(site=SiteFactory(owner=firm.owner)).site
    Agreement.objects.create(site=other, report_months=Months([3]))
    usual = getattr(due_reports, step)

    def fail_here(about, *rest):
        if firm.site in (about, getattr(about, "site", None)):
            raise KeyError("broken")
        return usual(about, *rest)

    monkeypatch.setattr(due_reports, step, fail_here)

    assert turn(clock, MARCH) == 1

    assert DueReport.objects.get().site == other
    assert "KeyError: 'broken'" in caplog.text


def test_a_report_handed_on_as_a_link_is_where_the_next_one_begins(firm, agreement, clock):
    clock.move_to(MARCH - timedelta(days=20))
    handed = kept.freeze_report(
        site=firm.site, audience=Audience.OWNER, since=WRITTEN.date(), by=firm.coordinator
    )
    links.make_address(link=SharedLinkFactory(document=handed), to=firm.coordinator)
    clock.move_to(MARCH - timedelta(days=10))
    nobody_has = kept.freeze_report(
        site=firm.site, audience=Audience.OWNER, since=WRITTEN.date(), by=firm.coordinator
    )
    SharedLinkFactory(document=nobody_has)  # whose address was never shown

    turn(clock, MARCH)

    assert DueReport.objects.get().since == handed.until


@pytest.mark.parametrize(("sent_at", "proposed"), [(MARCH, 0), (MARCH - timedelta(days=1), 1)])
def test_a_month_whose_report_was_sent_before_it_was_proposed_asks_for_none(
    firm, agreement, clock, sent_at, proposed
):
    clock.move_to(sent_at)
    sent = kept.freeze_report(
        site=firm.site, audience=Audience.OWNER, since=WRITTEN.date(), by=firm.coordinator
    )
    links.make_address(link=SharedLinkFactory(document=sent), to=firm.coordinator)

    assert turn(clock, MARCH + timedelta(days=20)) == proposed
    assert turn(clock, SEPTEMBER) == 1


def test_approved_it_is_sent_and_without_the_tick_the_next_one_waits_again(firm, agreement, clock):
    turn(clock, MARCH)
    due = DueReport.objects.get()

    document = approve(firm, due, by_themselves=False)

    due.refresh_from_db()
    assert (due.state, due.document, due.decided_by) == (DueState.SENT, document, firm.coordinator)
    assert document.sendings.count() == 2
    turn(clock, SEPTEMBER)
    due = DueReport.objects.get(month__month=9)
    assert due.state == DueState.OPEN
    assert told_of(due) == {firm.coordinator, firm.admin}
    assert Snapshot.objects.count() == 1


def test_with_the_tick_the_next_one_goes_by_itself_once_to_the_same_people(firm, agreement, clock):
    turn(clock, MARCH)
    first = approve(firm, DueReport.objects.get(), units="us")

    for hours in (0, 1, 2):
        turn(clock, SEPTEMBER + timedelta(hours=hours))

    second = Snapshot.objects.exclude(pk=first.pk).get()
    assert told_of(DueReport.objects.get(document=second)) == set()
    assert (second.since, second.recorded_by, second.audience) == (first.until, None, Audience.OWNER)
    rows = second.sendings.order_by("address")
    assert {row.address for row in rows} == {firm.owner_person.email, "city@authority.example"}
    assert {(row.message, row.asked_by, row.link.units) for row in rows} == {("As agreed.", None, "us")}
    assert DueReport.objects.get(month__month=9).state == DueState.SENT


def test_two_processes_send_what_goes_by_itself_once(firm, agreement, clock):
    """Both have read that it is to be sent; the second finds that it was."""
    turn(clock, MARCH)
    approve(firm, DueReport.objects.get())
    routine = ReportRoutine.objects.get()
    ReportRoutine.objects.update(ended_at=now())
    turn(clock, SEPTEMBER)
    ReportRoutine.objects.filter(pk=routine.pk).update(ended_at=None)
    seen_by_both = [due_reports._going_by_themselves()[0] for _ in range(2)]

    due_reports._send_by_itself(seen_by_both[0])
    with pytest.raises(AlreadyDoneError):
        due_reports._send_by_itself(seen_by_both[1])

    assert Snapshot.objects.count() == 2
    assert Sending.objects.count() == 4


def test_who_reads_for_the_owner_no_longer_gets_no_more_and_a_new_address_is_used(firm, agreement, clock):
    turn(clock, MARCH)
    approve(firm, DueReport.objects.get())
    leaves = firm.owner.people.get()
    stays = OwnerPersonFactory(owner=firm.owner)
    before = Sending.objects.get(person=leaves)
    Sending.objects.create(
        **{
            name: getattr(before, name)
            for name in ("organisation", "document", "server", "asked_by", "message")
        },
        link=SharedLinkFactory(document=before.document),
        address="old@owner.example",
        for_reader=True,
        person=stays,
    )
    leaves.delete()

    turn(clock, SEPTEMBER)

    sent = Sending.objects.exclude(document=before.document)
    assert {row.address for row in sent} == {"city@authority.example", stays.user.email.lower()}


def send_on(firm, document, address, message):
    """Somebody sends the approved document to one more address."""
    later = Mailing((Recipient(address),), "https://office.example/", message)
    sendings.send_document(document=document, mailing=later, by=firm.coordinator)


def test_who_got_the_approved_one_later_gets_no_next_one_and_their_message_stays_theirs(
    firm, agreement, clock
):
    turn(clock, MARCH)
    first = approve(firm, DueReport.objects.get())
    clock.move_to(MARCH + timedelta(days=30))
    send_on(firm, first, "claims@insurer.example", "For you alone: our dispute.")

    turn(clock, SEPTEMBER)

    rows = Sending.objects.exclude(document=first)
    assert {row.address for row in rows} == {firm.owner_person.email, "city@authority.example"}
    assert {row.message for row in rows} == {"As agreed."}


def test_who_was_sent_it_anew_still_gets_the_next_one_with_the_approved_message(firm, agreement, clock):
    turn(clock, MARCH)
    first = approve(firm, DueReport.objects.get())
    clock.move_to(MARCH + timedelta(days=120))  # its links have expired
    send_on(firm, first, "city@authority.example", "As you asked on the telephone.")

    turn(clock, SEPTEMBER)

    rows = Sending.objects.exclude(document=first)
    assert {row.address for row in rows} == {firm.owner_person.email, "city@authority.example"}
    assert {row.message for row in rows} == {"As agreed."}


def test_where_all_were_sent_it_anew_no_message_of_one_goes_to_the_others(firm, agreement, clock):
    turn(clock, MARCH)
    first = approve(firm, DueReport.objects.get())
    clock.move_to(MARCH + timedelta(days=120))
    for address in (firm.owner_person.email, "city@authority.example"):
        send_on(firm, first, address, "For you alone.")

    turn(clock, SEPTEMBER)

    rows = Sending.objects.exclude(document=first)
    assert rows.count() == 2
    assert {row.message for row in rows} == {""}


def test_whose_link_was_revoked_gets_no_next_one(firm, agreement, clock):
    turn(clock, MARCH)
    first = approve(firm, DueReport.objects.get())
    links.revoke_link(link=first.sendings.get(address="city@authority.example").link, by=firm.admin)

    turn(clock, SEPTEMBER)

    assert [row.address for row in Sending.objects.exclude(document=first)] == [firm.owner_person.email]


def test_with_every_link_revoked_the_office_decides(firm, agreement, clock):
    turn(clock, MARCH)
    first = approve(firm, DueReport.objects.get())
    for row in first.sendings.select_related("link"):
        links.revoke_link(link=row.link, by=firm.admin)

    turn(clock, SEPTEMBER)

    assert DueReport.objects.get(month__month=9).state == DueState.OPEN


def test_a_site_that_was_sold_waits_for_a_person_again(firm, agreement, clock):
    turn(clock, MARCH)
    approve(firm, DueReport.objects.get())
    firm.site.owner = OwnerFactory(organisation=firm.organisation)
    firm.site.save()

    turn(clock, SEPTEMBER)

    assert DueReport.objects.get(month__month=9).state == DueState.OPEN


def test_with_nobody_left_to_get_it_the_office_decides(firm, agreement, clock):
    turn(clock, MARCH)
    approve(firm, DueReport.objects.get())
    Sending.objects.filter(for_reader=False).delete()
    firm.owner.people.all().delete()

    turn(clock, SEPTEMBER)

    due = DueReport.objects.get(month__month=9)
    assert due.state == DueState.OPEN
    assert told_of(due) == {firm.coordinator, firm.admin}
    assert Snapshot.objects.count() == 1


@pytest.mark.parametrize(
    "error", [NoRoomError("no room"), KeyError("of nobody"), ReportRoutine.DoesNotExist()]
)
def test_what_fails_by_itself_stays_proposed_and_the_others_go(
    firm, agreement, clock, monkeypatch, caplog, error
):
    turn(clock, MARCH)
    approve(firm, DueReport.objects.get())

    def fail(**_):
        raise error

    with monkeypatch.context() as patched:
        patched.setattr(sendings, "send_report", fail)
        turn(clock, SEPTEMBER)
    assert DueReport.objects.get(month__month=9).state == DueState.OPEN
    assert "could not be sent by itself" in caplog.text

    turn(clock, SEPTEMBER + timedelta(hours=1))
    assert DueReport.objects.get(month__month=9).state == DueState.SENT


def test_that_they_go_by_themselves_can_be_ended_once_and_who_did_is_kept(firm, agreement, clock):
    turn(clock, MARCH)
    approve(firm, DueReport.objects.get())
    routine = ReportRoutine.objects.get()

    due_reports.end_routine(routine=routine, by=firm.admin)

    routine.refresh_from_db()
    assert (routine.ended_by, routine.set_by) == (firm.admin, firm.coordinator)
    with refused(AlreadyDoneError, "wait for you already"):
        due_reports.end_routine(routine=routine, by=firm.admin)
    turn(clock, SEPTEMBER)
    assert DueReport.objects.get(month__month=9).state == DueState.OPEN


def test_set_anew_it_goes_as_the_newest_approval_says(firm, agreement, clock):
    turn(clock, MARCH)
    approve(firm, DueReport.objects.get())
    due_reports.end_routine(routine=ReportRoutine.objects.get(), by=firm.admin)
    turn(clock, SEPTEMBER)
    document = approve(firm, DueReport.objects.get(month__month=9))

    assert ReportRoutine.objects.going().get().document == document
    assert ReportRoutine.objects.count() == 2


def test_of_two_people_one_decides_and_a_double_tap_is_one_sending(firm, agreement, clock):
    turn(clock, MARCH)
    due, once = DueReport.objects.get(), uuid4()

    first, second = (approve(firm, due, device_id=once) for _ in range(2))

    assert first == second
    with refused(AlreadyDoneError, "was sent by somebody before"):
        approve(firm, due, device_id=uuid4())
    with refused(AlreadyDoneError, "was sent by somebody before"):
        due_reports.skip_due(due=due, by=firm.admin)


def test_skipped_it_is_asked_for_no_more_and_the_next_covers_its_time(firm, agreement, clock):
    turn(clock, MARCH)
    due = DueReport.objects.get()

    due_reports.skip_due(due=due, by=firm.admin)

    assert turn(clock, MARCH + timedelta(days=20)) == 0
    turn(clock, SEPTEMBER)
    assert DueReport.objects.get(month__month=9).since.isoformat() == "2030-03-01"
