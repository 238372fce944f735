"""What a save asks the database: no more for much than for little, and nothing for the page it throws away."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.timezone import localdate

from core.calc.paving import TestMethod
from maintenance.models import Recommendation
from planning.models import VisitTask
from qa.calc.outlines import SurfacePlan
from qa.models import ConstructionCheck, ConstructionRecord, Outline
from qa.services import assembly
from tests.factories import (
    BECAUSE,
    CheckEntryFactory,
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    LocationFactory,
    RoundFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.qa.views.test_field_methods import RING, typed

# Statements of one save, those of the session, of access and of savepoints among them. A row that is stored once costs
# the look for an earlier sending, a visit with its task twice that and their savepoints.
MOST = {
    "ring test": 29,  # one of them asks what is expected there
    "falling_head": 25,
    "square_double_ring": 25,
    "flooding": 25,
    "frame": 26,  # as the ring
    "spreading_area": 25,
    "outflow_meter": 25,
    "round": 17,
    "cleaning": 24,
    "finding": 33,
    "failed finding": 25,
    "planned visit": 54,  # three of them hold the rule that an end has an outcome, eleven have owner and crew told
    "outline": 22,
}


class Site:
    """A firm at work: `more` adds to the record, `sent` gives the address and the form of each kind of save."""

    def __init__(self, firm):
        self.firm, self.surface = firm, firm.surface
        self.round = RoundFactory(surface=self.surface)
        self.record = assembly.open_record(
            record=ConstructionRecord(surface=self.surface), parts=["base"], by=firm.admin
        )
        Outline.objects.create(surface=self.surface, plan=SurfacePlan(((0, 0), (50, 0), (50, 20))))
        self.crew = CrewFactory(organisation=firm.organisation)

    def more(self):
        by = self.firm.technician
        location = LocationFactory(surface=self.surface)
        InfiltrationTestFactory(round=self.round, location=location, recorded_by=by)
        CleaningFactory(surface=self.surface, recorded_by=by)
        last = ConstructionCheck.objects.filter(record=self.record).last()
        CheckEntryFactory(construction_check=last, recorded_by=by)
        VisitTaskFactory(visit=VisitFactory(crew=self.crew), surface=self.surface)

    def sent(self, kind):
        if kind in TestMethod.__members__.values():
            url = f"{reverse('qa:test-create', args=[self.round.pk])}?method={kind}"
            return url, typed(kind, spot=f"spot {kind}")
        return getattr(self, kind.replace(" ", "_"))()

    def ring_test(self):
        location = LocationFactory(surface=self.surface)
        return reverse("qa:test-create", args=[self.round.pk]), RING | {"location": str(location.pk)}

    def round_(self):
        url = reverse("qa:round-create", args=[self.surface.pk])
        return url, {"tested_on": "2024-05-01", "purpose": "routine"}

    def cleaning(self):
        url = reverse("maintenance:cleaning-create", args=[self.surface.pk])
        return url, {
            "cleaned_on": "2024-05-01",
            "method": "vacuum",
            "share_of_area": "1",
            "wetness": "dry",
        }

    def finding(self):
        return self.found("yes")

    def failed_finding(self):
        return self.found("no")

    def found(self, answer):
        utilities = ConstructionCheck.objects.get(record=self.record, key="utilities_located")
        url = reverse("qa:check-record", args=[utilities.pk])
        return url, {"reading": answer, "done_on": "2024-03-01"}

    def outline(self):
        url = reverse("qa:plan-edit", args=[self.surface.pk])
        fields = {"corners": "0 0\n50 0\n50 20\n0 20", "count": "0", "draw": "1", "existing": "keep"}
        return url, fields | {"do": "save"}

    def planned_visit(self):
        today = localdate()
        Recommendation.objects.update(status="done")
        row = Recommendation.objects.create(
            surface=self.surface,
            action="clean",
            method="vacuum",
            due_on=today,
            earliest_on=today,
            currency="EUR",
            grounds=BECAUSE,
        )
        url = reverse("planning:recommendation-plan", args=[row.pk])
        day = (today + timedelta(days=400 + VisitTask.objects.count())).isoformat()
        return url, {"visit_on": day, "crew": str(self.crew.pk), "method": "vacuum"}


@pytest.fixture
def site(firm):
    return Site(firm)


def cost_of(client, site, kind):
    url, fields = site.sent("round_" if kind == "round" else kind)
    client.force_login(site.firm.coordinator)
    with CaptureQueriesContext(connection) as asked:
        response = client.post(url, fields)
    assert response.status_code == 302, response.context["form"].errors
    return len(asked)


@pytest.mark.parametrize("kind", MOST)
def test_a_save_costs_as_much_in_a_long_record_as_in_a_short_one(client, site, kind):
    site.more()
    few = cost_of(client, site, kind)
    for _ in range(11):
        site.more()

    many = cost_of(client, site, kind)

    assert many == few <= MOST[kind]


@pytest.mark.parametrize(
    ("kind", "page"),
    [
        ("ring test", "qa.views.rounds.guide_page"),
        ("ring test", "qa.views.rounds.start_values"),
        ("flooding", "qa.views.rounds.guide_page"),
        ("finding", "qa.views.construction._check_context"),
        ("outline", "qa.views.plans.plan_start"),
        ("outline", "qa.views.plans._preview"),
    ],
)
def test_a_save_puts_together_no_page_that_nobody_sees(client, site, monkeypatch, kind, page):
    def not_asked(*_args):
        raise AssertionError(f"{page} was called for a page that is thrown away.")

    monkeypatch.setattr(page, not_asked)

    assert cost_of(client, site, kind) > 0


def test_a_ring_test_that_is_refused_brings_its_page_back(client, site):
    """The other side of the test above: what was not built for the save is there when it is needed."""
    url, fields = site.sent("ring test")
    client.force_login(site.firm.coordinator)

    page = client.post(url, fields | {"elapsed_s": "-1"}).content.decode()

    assert "0 of at least 3 spots tested" in page
    assert 'id="spots-tested"' in page
