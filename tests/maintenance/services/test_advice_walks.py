"""Advice led through months at random, by forecasts and people in any order: what is wanted is asked once, and what
people decided stands until its time has come."""

from datetime import timedelta
from decimal import Decimal
from random import Random

import pytest
from django.core.exceptions import ValidationError
from django.utils.timezone import now

from core.calc.paving import CleaningMethod
from core.errors import AlreadyDoneError, NotAllowedNowError
from maintenance.calc.actions import Advice, Option
from maintenance.calc.returning import LASTS
from maintenance.calc.vocabulary import Action, RecommendationStatus
from maintenance.calc.windows import Window
from maintenance.models import AdviceRelease
from maintenance.services import recommendations, releases
from tests.factories import CleaningFactory, InfiltrationTestFactory, RoundFactory

pytestmark = pytest.mark.django_db
REFUSALS = (ValidationError, AlreadyDoneError, NotAllowedNowError)
STEPS = 45
DAY = timedelta(days=1)
OPEN, PUT_OFF, PLANNED, DECLINED = "open", "put_off", "planned", "declined"
CLEANS = (Action.CLEAN, Action.REJOINT, Action.LOOK)


class Walk:
    """One surface, what forecasts ask of it, and what people make of that as days go by."""

    def __init__(self, firm, seed, clock):
        self.firm, self.rng, self.clock = firm, Random(seed), clock
        self.surface, self.by, self.done, self.wanted = firm.surface, firm.coordinator, 0, []

    def step(self):
        steps = [self.forecast] * 4 + [self.wait] * 3 + [self.clock_returns, self.release, self.release]
        steps += [self.put_off, self.decline, self.plan, self.drop, self.finish, self.withdraw, self.act]
        try:
            self.rng.choice(steps)()
            self.done += 1
        except (*REFUSALS, IndexError):  # refused, or there is nothing to do it with
            pass

    @property
    def today(self):
        return self.surface.site.today()

    def one(self, *statuses):
        rows = self.surface.recommendations.filter(status__in=statuses)
        return self.rng.choice(list(rows.order_by("created_at", "action")))

    def wait(self):
        self.clock.move_to(now() + self.rng.randrange(1, 150) * DAY)

    def forecast(self):
        """One answer at most to each question, as advice is given, some of it beyond what is looked ahead."""
        asked = [self.rng.choice(CLEANS), Action.TEST, Action.SOURCE]
        self.wanted = [self.piece(action) for action in asked if self.rng.random() < 0.6]
        self.surface.refresh_from_db()
        recommendations.sync_recommendations(surface=self.surface, advice=self.wanted)
        self.wanted = [each for each in self.wanted if each.window.due <= self.today + 365 * DAY]
        assert_what_is_wanted_is_asked(self)

    def piece(self, action):
        due = self.today + self.rng.choice([0, 20, 200, 365, 366]) * DAY
        option = None
        if action in (Action.CLEAN, Action.REJOINT):
            method = self.rng.choice([CleaningMethod.VACUUM, CleaningMethod.WASH_VACUUM])
            price = Decimal(self.rng.choice([400, 410, 900]))
            option = Option(method, 900.0, 2.5, 0.9, price, price / 2)
        chance, costs = self.rng.choice([0.1, 0.15, 0.4]), Decimal(self.rng.choice([0, 50, 900]))
        return Advice(
            action, Window(self.today, due), ("Because.",), option, chance=chance, waiting_costs=costs
        )

    def clock_returns(self):
        recommendations.return_put_off()
        late = self.surface.recommendations.filter(status=PUT_OFF, put_off_until__lte=self.today)
        assert not late.exists()

    def put_off(self):
        until = self.today + self.rng.choice([-1, 0, 1, 60, 365, 366]) * DAY
        recommendations.put_off(recommendations=[self.one(OPEN, PUT_OFF)], by=self.by, until=until)

    def decline(self):
        row = self.one(OPEN, PUT_OFF, PLANNED)
        recommendations.decline(recommendation=row, by=self.by, reason="Next year.")

    def plan(self):
        row = recommendations.lock_open(self.one(OPEN, PUT_OFF))
        recommendations.mark_planned(recommendation=row, by=self.by, reason="")

    def drop(self):
        recommendations.drop_planned(recommendation_ids=[self.one(PLANNED).pk])

    def finish(self):
        recommendations.mark_done(recommendation_id=self.one(PLANNED).pk)

    def release(self):
        statuses = [OPEN] if self.rng.random() < 0.8 else RecommendationStatus.values
        (made,) = releases.release(recommendations=[self.one(*statuses)], by=self.by)
        rows = AdviceRelease.objects.standing().filter(surface=self.surface).select_related("recommendation")
        same = [
            each.recommendation for each in rows if group(each.recommendation) is group(made.recommendation)
        ]
        assert made.recommendation in same
        assert not [row for row in same if row.status == "overtaken"]  # the new answer took its place

    def withdraw(self):
        rows = list(AdviceRelease.objects.order_by("released_at"))
        releases.withdraw(release=self.rng.choice(rows), by=self.by, reason="A slip.")

    def act(self):
        """Somebody tests or cleans without a visit."""
        if self.rng.random() < 0.5:
            InfiltrationTestFactory(round=RoundFactory(surface=self.surface, tested_on=self.today))
        else:
            CleaningFactory(surface=self.surface, cleaned_on=self.today)


@pytest.mark.parametrize("seed", range(6))
def test_whatever_happens_advice_is_asked_once_and_decisions_stand(firm, seed, time_machine):
    walk = Walk(firm, seed, time_machine)

    for _ in range(STEPS):
        walk.step()
        assert_each_question_is_asked_once(walk.surface)
        assert_each_row_is_as_its_status(walk.surface)
        assert_owners_see_only_what_is_to_be_done(walk.surface)

    assert walk.done > STEPS / 2, "too little happened to tell"


def group(row):
    return Action(row.action).answers


def assert_what_is_wanted_is_asked(walk):
    """After a forecast: it stands open, or a person's decision, work under way or a search of late answers it."""
    rows = list(walk.surface.recommendations.all())
    wanted = {piece.action for piece in walk.wanted}
    assert {row.action for row in rows if row.is_open} <= wanted
    for row in (row for row in rows if row.is_open):
        assert row.returned_because or not refused_before(row, rows)
    for action in wanted:
        same = [row for row in rows if group(row) is action.answers]
        answered = any(row.status in (PLANNED, PUT_OFF) for row in same)
        refused = any(row.status == DECLINED and now() - row.decided_at <= LASTS for row in same)
        searched = action is Action.SOURCE and any(row.status == "done" and row.decided_at for row in same)
        assert answered or refused or searched or any(row.is_open and row.action == action for row in same)


def refused_before(row, rows):
    """Whether an answer to the same question was turned down before, and nothing was done about it since."""
    same = [each for each in rows if group(each) is group(row)]
    declined = [each for each in same if each.status == DECLINED and each.decided_at < row.created_at]
    last = max(declined, key=lambda each: each.decided_at, default=None)
    done_since = any(each.status == "done" and last and each.created_at > last.created_at for each in same)
    return last is not None and not done_since


def assert_each_question_is_asked_once(surface):
    """One answer at most waits for a decision or for its day; none is given beside work that is planned."""
    ahead = [group(row) for row in surface.recommendations.filter(status__in=(OPEN, PUT_OFF, PLANNED))]
    assert len(set(ahead)) == len(ahead)


def assert_each_row_is_as_its_status(surface):
    for row in surface.recommendations.all():
        if row.status in (OPEN, PLANNED, DECLINED):
            assert row.put_off_until is None
        if row.status in (PLANNED, DECLINED, PUT_OFF):
            assert row.decided_by is not None
            assert row.decided_at <= now()
        if row.is_put_off:
            assert row.decided_on < row.put_off_until <= row.decided_on + recommendations.LOOK_AHEAD
        if row.status == DECLINED:
            assert row.decision_reason


def assert_owners_see_only_what_is_to_be_done(surface):
    """One release of a piece stands at most, none of what was declined; each that ended says when."""
    standing = list(AdviceRelease.objects.standing().filter(surface=surface).select_related("recommendation"))
    advice = [release.recommendation_id for release in standing]
    assert len(set(advice)) == len(advice)
    assert all(release.recommendation.status != DECLINED for release in standing)
    for ended in AdviceRelease.objects.filter(surface=surface).exclude(pk__in=[each.pk for each in standing]):
        assert ended.ended_at is not None
