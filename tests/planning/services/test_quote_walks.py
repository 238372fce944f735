"""Quotes led through steps at random, by everybody and in any order: what must never happen does not."""

from datetime import timedelta
from decimal import Decimal
from random import Random

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from core.errors import NotAllowedNowError
from maintenance.models import Recommendation
from planning.calc.vocabulary import Answer, QuoteState
from planning.models import Quote, QuoteVersion
from planning.services import quotes
from tests.clock import TODAY
from tests.factories import BECAUSE, OwnerPersonFactory, PriceListFactory, SurfaceFactory

pytestmark = pytest.mark.django_db
UNTIL = TODAY + timedelta(days=30)
REFUSALS = (NotAllowedNowError, ValidationError, PermissionDenied)
STEPS = 40


class Walk:
    """One firm's quotes, and steps that somebody may try with any version."""

    def __init__(self, firm, seed):
        self.firm, self.rng = firm, Random(seed)
        self.people = [
            firm.owner_person,
            OwnerPersonFactory(owner=firm.owner).user,
            firm.coordinator,
            firm.outsider,
        ]
        self.shown = {}  # what was sent, as it was sent
        self.done = 0

    def step(self):
        """Try one step; a refusal is an answer too."""
        versions = list(QuoteVersion.objects.order_by("quote__number", "version"))
        steps = [self.make] + [self.change, self.send, self.withdraw, self.answer, self.answer] * bool(
            versions
        )
        step = self.rng.choice(steps)
        try:
            step(self.rng.choice(versions) if versions else None)
            self.done += 1
        except REFUSALS:
            pass
        self.note()

    def make(self, _):
        row = Recommendation.objects.create(
            surface=SurfaceFactory(site=self.firm.site, area_m2=self.rng.choice([50.0, 900.0, 1234.5])),
            action="clean",
            method=self.rng.choice(["vacuum", "broom"]),
            due_on=TODAY,
            earliest_on=TODAY,
            currency="EUR",
            grounds=BECAUSE,
        )
        quotes.quote_advice(recommendations=[row], by=self.firm.coordinator, valid_until=UNTIL)

    def change(self, version):
        lines = list(version.lines.all())
        lines[0].unit_price = Decimal(self.rng.randrange(1, 500)) / 1000
        kept, removed = (lines, []) if self.rng.random() < 0.7 else (lines[:1], lines[1:])
        quotes.change(
            version=version, by=self.firm.admin, valid_until=UNTIL, note="", lines=kept, removed=removed
        )

    def send(self, version):
        quotes.send(version=version, by=self.firm.coordinator)

    def withdraw(self, version):
        quotes.withdraw(version=version)

    def answer(self, version):
        quotes.decide(version=version, by=self.rng.choice(self.people), answer=self.rng.choice(list(Answer)))

    def note(self):
        """Keep what was sent just now as it stands."""
        for version in QuoteVersion.objects.filter(sent_at__isnull=False).exclude(pk__in=self.shown):
            self.shown[version.pk] = content_of(version)


def content_of(version):
    sums = (version.net, version.tax, version.total, version.valid_until, version.note)
    return sums, tuple(version.lines.values_list("pk", "what", "quantity", "unit", "unit_price"))


@pytest.mark.parametrize("seed", range(4))
def test_whatever_is_tried_quotes_stay_sound_and_what_was_sent_stays_as_it_was(firm, seed):
    PriceListFactory(organisation=firm.organisation)
    walk = Walk(firm, seed)

    for _ in range(STEPS):
        walk.step()

    assert walk.done > STEPS / 5, "too little happened to tell"
    numbers = sorted(Quote.objects.values_list("number", flat=True))
    assert numbers == list(range(1, len(numbers) + 1))
    for quote in Quote.objects.all():
        assert_sound(quote)
    for version in QuoteVersion.objects.all():
        assert_adds_up(version)
        assert_answered_by(version, {firm.owner_person, walk.people[1]})
        assert version.sent_at is None or content_of(version) == walk.shown[version.pk]


def assert_sound(quote):
    """Versions without gaps, and one at most that counts."""
    versions = list(quote.versions.order_by("version"))
    states = [version.state for version in versions]
    assert [version.version for version in versions] == list(range(1, len(versions) + 1))
    assert states.count(QuoteState.APPROVED) <= 1
    assert states.count(QuoteState.SENT) <= 1
    assert not {QuoteState.APPROVED, QuoteState.SENT} <= set(states)
    assert (quote.first_sent_at is not None) == any(version.sent_at for version in versions)


def assert_adds_up(version):
    listed = sum((line.amount_in("EUR") for line in version.lines.all()), Decimal(0))
    assert version.net == listed
    assert version.net + version.tax == version.total


def assert_answered_by(version, people):
    """An answer is of the owner's people, and to what was sent."""
    if version.decided_at is None:
        assert version.state not in {answer.value for answer in Answer}
    else:
        assert version.decided_by in people
        assert version.sent_at is not None
