"""Calendar addresses: what other programs read there, who makes and ends them, and that they stay secret."""

import logging
import re
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils.timezone import now

from core.calc.secrets import hash_of
from core.services.log_lines import MaskedLine
from planning.models import CalendarFeed
from planning.services import visits
from planning.services.feeds import make_feed
from tests.clock import TODAY
from tests.factories import (
    CrewFactory,
    OwnerFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)

BERLIN = "Europe/Berlin"
SOON = TODAY + timedelta(days=3)


@pytest.fixture
def crew(firm):
    return CrewFactory(organisation=firm.organisation, name="North, and its van; with ä")


@pytest.fixture
def visit(firm, crew):
    site = firm.site
    site.address, site.time_zone, site.access_note = "Mill Lane 3", BERLIN, "gate-code-1234"
    site.latitude_deg, site.longitude_deg = 52.5, 13.4
    site.save()
    visit = VisitFactory(crew=crew, visit_on=SOON, note="inner-note-of-a-visit")
    VisitTaskFactory(visit=visit, surface=firm.surface, action="test")
    return visit


@pytest.fixture(autouse=True)
def a_reader_that_knows_no_zone_yet():
    """It keeps the rules of a zone from the first calendar of the process, which may end before this one's winter."""
    vars(vobject.icalendar)["__tzidMap"].pop(BERLIN, None)


def address(whose, by):
    return reverse("planning:feed-show", args=[make_feed(whose=whose, by=by).secret])


def read(client, url):
    answer = client.get(url)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    return answer.content


def events(client, url):
    return icalendar.Calendar.from_ical(read(client, url)).walk("VEVENT")


@pytest.mark.parametrize("outcome", ["not_done", "given_up"])
def test_a_site_at_which_nothing_is_done_is_cancelled_and_the_other_stands(
    client, firm, crew, visit, outcome
):
    other = SurfaceFactory(site=SiteFactory(owner=OwnerFactory(organisation=firm.organisation)))
    VisitTaskFactory(visit=visit, surface=other, action="test")
    visit.tasks.filter(surface=firm.surface).update(outcome=outcome, ended_at=now())

    states = {
        str(event["LOCATION"]).split(",")[0]: str(event["STATUS"])
        for event in events(client, address(crew, firm.coordinator))
    }

    assert states == {firm.site.name: "CANCELLED", other.site.name: "CONFIRMED"}


def test_what_is_not_done_is_left_out_of_the_work_of_its_event(client, firm, crew, visit):
    VisitTaskFactory(visit=visit, surface=firm.surface, action="inspect", outcome="not_done", ended_at=now())

    (event,) = events(client, address(crew, firm.coordinator))

    assert str(event["STATUS"]) == "CONFIRMED"
    assert "Inspect" not in str(event["DESCRIPTION"])


def test_a_second_program_reads_the_same_day_place_and_work(client, firm, crew, visit):
    text = read(client, address(crew, firm.coordinator)).decode()

    (event,) = vobject.readOne(text).vevent_list

    begins, ends = (part.value.astimezone(ZoneInfo(BERLIN)) for part in (event.dtstart, event.dtend))
    assert (begins.date(), begins.hour, ends.hour) == (SOON, 7, 15)  # the crew's shift
    assert event.location.value == f"{firm.site.name}, Mill Lane 3"
    assert event.summary.value == f"{firm.site.name} (North, and its van; with ä)"
    assert event.description.value.startswith(f"Test: {firm.surface.name}")
    assert event.geo.value == "52.5;13.4"
    assert event.url.value.endswith(visit.get_absolute_url())
    assert event.status.value == "CONFIRMED"


def test_lines_end_and_fold_as_the_standard_asks(client, firm, crew, visit):
    """RFC 5545, 3.1: CR LF after each line, no line of more than 75 octets; folded inside no character."""
    firm.surface.name = "Ä" * 90
    firm.surface.save()
    raw = read(client, address(crew, firm.coordinator))

    lines = raw.split(b"\r\n")
    assert raw.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75
    assert [line.decode() for line in lines]  # every piece is whole UTF-8
    assert b"\xc3\x84" * 90 in raw.replace(b"\r\n ", b"")


def test_what_the_standard_asks_of_a_calendar_and_an_event_is_there_once(client, firm, crew, visit):
    text = read(client, address(crew, firm.coordinator)).decode().replace("\r\n ", "")

    for name in (
        "VERSION:2.0",
        "PRODID",
        "BEGIN:VTIMEZONE",
        "UID:",
        "DTSTAMP:",
        "SEQUENCE:",
        "LAST-MODIFIED:",
    ):
        assert len(re.findall(rf"^{name}", text, re.M)) == 1, name
    assert re.search(rf"^DTSTART;TZID={BERLIN}:{SOON:%Y%m%d}T070000\r?$", text, re.M)


def test_times_of_a_plan_take_the_place_of_the_shift(client, firm, crew, visit):
    visit.tasks.update(begins_min=8 * 60 + 30, ends_min=10 * 60)

    (event,) = events(client, address(crew, firm.coordinator))

    assert (event.start.hour, event.start.minute, event.end.hour) == (8, 30, 10)
    assert str(event.start.tzinfo) == BERLIN


def test_an_event_stays_the_same_one_and_its_number_rises_with_every_change(client, firm, crew, visit):
    url = address(crew, firm.coordinator)

    def state():
        (event,) = events(client, url)
        return (
            event["UID"],
            int(event["SEQUENCE"]),
            event["LAST-MODIFIED"].dt,
            event.start.date(),
            event["STATUS"],
        )

    told = [state()]
    visit.visit_on = SOON + timedelta(days=1)
    visits.save_visit(visit=visit)
    told.append(state())
    visits.add_task(visit=visit, surface=firm.surface, action="inspect")
    told.append(state())
    visits.cancel_visit(visit=visit, reason="Storm.")
    told.append(state())

    assert len({one[0] for one in told}) == 1
    assert [one[1] for one in told] == sorted({one[1] for one in told})
    assert [one[2] for one in told] == sorted(one[2] for one in told)
    assert [one[3] for one in told] == [SOON, *[SOON + timedelta(days=1)] * 3]
    assert [one[4] for one in told] == ["CONFIRMED"] * 3 + ["CANCELLED"]


def test_a_visit_of_several_sites_is_an_event_at_each_and_an_empty_one_is_one(client, firm, crew, visit):
    VisitTaskFactory(visit=visit, surface=SurfaceFactory(site=SiteFactory(owner=firm.owner)))
    VisitFactory(crew=crew, visit_on=SOON + timedelta(days=1))

    found = events(client, address(crew, firm.coordinator))

    assert len({event["UID"] for event in found}) == len(found) == 3
    assert "nothing planned yet" in found[-1]["SUMMARY"]


def test_an_owners_feed_holds_the_own_sites_and_nothing_internal(client, firm, crew, visit):
    other = SurfaceFactory(
        site=SiteFactory(owner=OwnerFactory(organisation=firm.organisation), name="Neighbour")
    )
    VisitTaskFactory(visit=visit, surface=other)
    reader = firm.owner_person.owner_links.get()

    text = read(client, address(reader, firm.owner_person)).decode().replace("\r\n ", "")

    assert firm.site.name in text
    for secret in ("Neighbour", "inner-note-of-a-visit", "gate-code-1234", "North", visit.get_absolute_url()):
        assert secret not in text, secret
    assert len(icalendar.Calendar.from_ical(text).walk("VEVENT")) == 1


def test_a_crews_feed_holds_no_way_in_either_since_its_address_is_all_that_guards_it(
    client, firm, crew, visit
):
    text = read(client, address(crew, firm.coordinator)).decode()

    assert "gate-code-1234" not in text
    assert "inner-note-of-a-visit" not in text


def test_a_persons_feed_is_of_their_crews_and_of_all_for_who_has_none(client, firm, crew, visit):
    other = VisitFactory(crew=CrewFactory(organisation=firm.organisation), visit_on=SOON)
    VisitTaskFactory(visit=other, surface=firm.surface)
    crew.people.add(firm.technician)

    of_crew = events(client, address(firm.technician.memberships.get(), firm.technician))
    of_all = events(client, address(firm.viewer.memberships.get(), firm.viewer))

    assert (len(of_crew), len(of_all)) == (1, 2)


def test_old_and_far_visits_are_left_out(client, firm, crew):
    for days in (-200, -30, 300, 500):
        VisitFactory(crew=crew, visit_on=TODAY + timedelta(days=days))

    found = [event.start.date() - TODAY for event in events(client, address(crew, firm.coordinator))]

    assert found == [timedelta(days=-30), timedelta(days=300)]


def made(client, url, **sent):
    answer = client.post(url, sent)
    assert answer.status_code == 200
    return re.search(r"/calendar/([\w-]{43})\.ics", answer.content.decode())[1]


def test_an_address_is_shown_once_and_only_its_hash_is_kept(client, firm):
    client.force_login(firm.viewer)
    secret = made(client, reverse("planning:own-feed-make"))

    assert secret not in client.get(reverse("planning:feed-list")).content.decode()
    feed = CalendarFeed.objects.get()
    assert feed.secret_hash == hash_of(secret)
    assert feed.member.user == firm.viewer
    assert secret not in str(feed.__dict__)
    assert secret not in str(dict(client.session))


def test_a_new_address_ends_the_old_one_and_ending_it_ends_both(client, firm):
    client.force_login(firm.owner_person)
    make, end = reverse("planning:own-feed-make"), reverse("planning:own-feed-revoke")

    def status(secret):
        return client.get(reverse("planning:feed-show", args=[secret])).status_code

    first = made(client, make)
    assert status(first) == 200
    second = made(client, make)
    assert (status(first), status(second)) == (404, 200)
    assert client.post(end).status_code == 302
    assert status(second) == 404


def test_nobody_makes_or_ends_the_address_of_somebody_else(client, firm):
    theirs = firm.technician.memberships.get()
    kept = address(theirs, firm.technician)
    client.force_login(firm.admin)

    for route in ("planning:own-feed-make", "planning:own-feed-revoke"):
        assert client.post(reverse(route), {"place": str(theirs.pk)}).status_code == 404

    assert client.get(kept).status_code == 200


def test_a_coordinator_makes_and_ends_the_address_of_a_crew(client, firm, crew):
    client.force_login(firm.coordinator)
    secret = made(client, reverse("planning:crew-feed-make", args=[crew.pk]))
    url = reverse("planning:feed-show", args=[secret])

    assert client.get(url).status_code == 200
    assert "End it" in client.get(reverse("planning:feed-list")).content.decode()
    client.post(reverse("planning:crew-feed-revoke", args=[crew.pk]))

    assert client.get(url).status_code == 404


@pytest.mark.parametrize("leaves", ["membership", "owner link", "account"])
def test_who_leaves_takes_the_address_along(client, firm, visit, leaves):
    person = firm.owner_person if leaves == "owner link" else firm.viewer
    whose = person.owner_links.get() if leaves == "owner link" else person.memberships.get()
    url = address(whose, person)
    assert client.get(url).status_code == 200

    if leaves == "account":
        type(person).objects.filter(pk=person.pk).update(is_active=False)
    else:
        whose.delete()

    assert client.get(url).status_code == 404


def test_it_stays_out_of_shared_caches_and_only_reads(client, firm, crew):
    url = address(crew, firm.coordinator)

    assert "private" in client.get(url)["Cache-Control"].split(",")[0]
    assert client.post(url).status_code == 405


def test_a_log_never_holds_the_secret(client, firm, crew):
    url = address(crew, firm.coordinator)
    secret = url.rpartition("/")[2].removesuffix(".ics")
    record = logging.LogRecord("django.request", logging.WARNING, "", 1, "Not Found: %s", (url,), None)

    line = MaskedLine().format(record)

    assert line.endswith("WARNING django.request: Not Found: /calendar/(secret).ics")
    assert secret not in line


def test_secrets_of_invitations_are_masked_too_and_other_addresses_are_not():
    line = MaskedLine()
    other = "/visits/calendar/?on=2026-06-10 /join/short/"
    record = logging.LogRecord("x", logging.INFO, "", 1, f"/join/{'a' * 43}/ {other}", (), None)

    assert line.format(record).endswith(f" x: /join/(secret)/ {other}")


def test_the_servers_own_log_masks_them(settings):
    assert settings.LOGGING["formatters"]["line"]["()"] == "core.services.log_lines.MaskedLine"


def test_an_address_belongs_to_one_alone(firm, crew):

    both = CalendarFeed(
        organisation=firm.organisation,
        crew=crew,
        member=firm.viewer.memberships.get(),
        secret_hash="x",
        made_at=now(),
        made_by=firm.admin,
    )

    with pytest.raises(ValidationError, match="of a crew or of one person"):
        both.full_clean()


def test_summer_and_winter_are_told_apart_by_a_second_program(client, firm, crew, visit):
    winter = VisitFactory(crew=crew, visit_on=date(SOON.year, 12, 15))
    VisitTaskFactory(visit=winter, surface=firm.surface)
    text = read(client, address(crew, firm.coordinator)).decode()

    for event in vobject.readOne(text).vevent_list:
        begins = event.dtstart.value
        assert begins.utcoffset() == begins.replace(tzinfo=ZoneInfo(BERLIN)).utcoffset()


def test_how_often_and_with_what_it_was_read_is_told_and_nothing_of_who(client, firm, crew):
    url = address(crew, firm.coordinator)
    client.head(url)
    for agent in ("Mozilla/5.0 (X11; Linux x86_64)", "SomeCalendar/1.0"):
        assert client.get(url, headers={"User-Agent": agent}).status_code == 200

    feed = CalendarFeed.objects.get(crew=crew)
    client.force_login(firm.coordinator)
    page = client.get(reverse("planning:feed-list")).content.decode()

    assert (feed.times_read, feed.last_read_by) == (2, "program")
    assert "read 2 times, last on" in page
    assert "(Program)" in page
