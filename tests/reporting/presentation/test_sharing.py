"""How sendings and links stand, in words: what a person at the office may rely on and what they have to do."""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from core.calc.jobs import JobState
from reporting.calc.sharing import LinkState
from reporting.presentation.sharing import LOOKS, link_stands, opened_words, sending_stands

AT = datetime(2026, 6, 10, 8, 5, tzinfo=UTC)
ZONE = ZoneInfo("Europe/Paris")  # two hours ahead on that day


@dataclass(frozen=True)
class Link:
    """What the words need of a link."""

    state: LinkState = LinkState.OPEN
    shown_to: str | None = None
    address_made_at: datetime | None = None
    revoked_by: str | None = None
    revoked_at: datetime | None = None
    ends_on: date = date(2026, 9, 8)

    def state_at(self, at):
        assert at == AT
        return self.state


@dataclass(frozen=True)
class Sending:
    """What the words need of a sending."""

    link: Link = Link()
    state: str = JobState.WAITING
    sent_at: datetime | None = None
    error: str = ""


def said(row):
    found = sending_stands(row, AT, ZONE)
    return found.word, found.said.replace("\xa0", " "), found.may_again


def test_what_went_out_is_sent_on_its_day_and_hour():
    assert said(Sending(sent_at=AT)) == ("sent", "10 Jun 2026, 10:05", False)


def test_what_went_out_stays_sent_though_its_link_ended_since():
    assert said(Sending(Link(LinkState.REVOKED), sent_at=AT))[0] == "sent"


def test_what_waits_is_on_its_way():
    assert said(Sending()) == ("on its way", "It goes out within some minutes.", False)
    assert said(Sending(Link(LinkState.UNSEEN)))[0] == "on its way"


def test_what_a_mail_server_refused_once_is_not_sent_yet_and_says_why():
    assert said(Sending(error="mailbox full")) == ("not sent yet", "mailbox full", False)


@pytest.mark.parametrize("state", [LinkState.OPEN, LinkState.UNSEEN])
def test_what_was_given_up_says_why_and_can_be_tried_again(state):
    row = Sending(Link(state), JobState.FAILED, error="no such mailbox")

    assert said(row) == ("not sent", "no such mailbox", True)


def test_a_link_that_somebody_took_to_pass_on_is_told_with_who_and_when():
    row = Sending(Link(shown_to="Ida Berg", address_made_at=AT), JobState.FAILED, error="no mail server")

    assert said(row) == (
        "link taken",
        "By Ida Berg on 10 Jun 2026, 10:05, to be passed on by hand.",
        True,
    )


@pytest.mark.parametrize("state", [LinkState.EXPIRED, LinkState.REVOKED, LinkState.WITHDRAWN])
@pytest.mark.parametrize("job", list(JobState))
def test_nothing_is_sent_again_whose_link_opens_no_more(state, job):
    word, why, may_again = said(Sending(Link(state, "Ida Berg", AT), job, error="no mail server"))

    assert (word, may_again) == ("not sent", False)
    assert why == f"Its link has ended: {state.in_sentence}."


def test_a_link_says_until_when_it_opens_and_a_revoked_one_who_closed_it():
    still = link_stands(Link(), AT, ZONE)
    closed = link_stands(Link(LinkState.REVOKED, revoked_by="Ida Berg", revoked_at=AT), AT, ZONE)

    assert (still.word, still.said.replace("\xa0", " "), still.look) == (
        "opens",
        "until 8 Sep 2026",
        "tag--good",
    )
    assert closed.said.replace("\xa0", " ") == "by Ida Berg on 10 Jun 2026, 10:05"
    assert closed.look == ""


def test_every_state_of_a_link_has_a_look():
    assert set(LOOKS) == set(LinkState)
    assert [state for state, look in LOOKS.items() if look == "tag--good"] == [LinkState.OPEN]


@pytest.mark.parametrize(
    ("times", "last", "words"),
    [
        (None, None, "not opened yet"),
        (0, AT, "not opened yet"),
        (3, None, "not opened yet"),
        (1, AT, "opened 1 time, last on 10 Jun 2026, 10:05"),
        (12, AT, "opened 12 times, last on 10 Jun 2026, 10:05"),
    ],
)
def test_how_often_something_was_opened(times, last, words):
    assert opened_words(times, last, ZONE).replace("\xa0", " ") == words
