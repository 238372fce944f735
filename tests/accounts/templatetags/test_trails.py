"""The trail above a heading."""

from types import SimpleNamespace

import pytest
from django.template import Context, Template

from accounts.templatetags.trails import steps_to
from accounts.views.current_organisation import CurrentOrganisation
from qa.models import Attachment
from tests.factories import (
    CheckEntryFactory,
    CorrectiveWorkFactory,
    InfiltrationTestFactory,
    InspectionFindingFactory,
    RecommendationFactory,
    RoundFactory,
)

pytestmark = pytest.mark.django_db
DAY = "2026-05-14"


def acting(organisation):
    return CurrentOrganisation(organisation, 20, (), "si")


def titles(row, current):
    return [step.title for step in steps_to(row, current)]


def test_it_leads_from_the_firm_to_the_surface(firm):
    current = acting(firm.organisation)

    assert titles(firm.surface, current) == [
        firm.organisation.name,
        firm.owner.name,
        firm.site.name,
        firm.surface.name,
    ]
    assert titles(firm.site.owner, current) == [firm.organisation.name, firm.owner.name]
    assert titles(firm.organisation, current) == [firm.organisation.name]


@pytest.mark.parametrize("current", [None, acting(None)])
def test_who_does_not_act_for_the_firm_begins_with_their_sites(firm, current):
    steps = list(steps_to(firm.site, current))

    assert steps[0].title == "My sites"
    assert steps[0].url == "/"
    assert steps[-1].url == firm.site.get_absolute_url()


def test_a_test_lies_below_its_round_and_a_finding_below_its_inspection(firm):
    current = acting(firm.organisation)
    round_ = RoundFactory(surface=firm.surface, tested_on="2026-05-14")
    test = InfiltrationTestFactory(round=round_)
    test.refresh_from_db()
    finding = InspectionFindingFactory(inspection__surface=firm.surface)

    assert titles(test, current)[3:5] == [firm.surface.name, "Round of 14\u00a0May\u00a02026"]
    assert len(titles(test, current)) == 6
    assert titles(finding, current)[4] == str(finding.inspection)
    assert titles(finding, current)[5] == finding.get_item_display()


def test_what_has_no_page_of_its_own_is_passed_over(firm):
    entry = CheckEntryFactory(construction_check__record__surface=firm.surface)
    work = CorrectiveWorkFactory(entry=entry)

    shown = titles(work, acting(firm.organisation))

    assert shown[:5] == [
        firm.organisation.name,
        firm.owner.name,
        firm.site.name,
        firm.surface.name,
        "Construction record",
    ]


def test_a_file_lies_below_what_it_hangs_on(firm):
    photo = Attachment(surface=firm.surface)

    assert titles(photo, acting(firm.organisation))[3] == firm.surface.name


def test_advice_is_named_by_what_it_says(firm):
    advice = RecommendationFactory(surface=firm.surface)

    assert titles(advice, acting(firm.organisation))[-1] == advice.title


def shown(content="", **context):
    text = "{% load trails %}{% trail row %}" + content + "{% endtrail %}"
    return Template(text).render(Context(context))


def test_the_tag_shows_the_steps_and_further_ones(firm):
    html = shown("<li><a href='/x/'>Further</a></li>", row=firm.surface, current=acting(firm.organisation))

    assert html.count("<li>") == 5
    assert 'aria-label="Trail"' in html
    assert html.index(firm.surface.name) < html.index("Further")


def test_names_are_escaped(firm):
    firm.site.name = "<b>Yard</b>"

    assert "&lt;b&gt;Yard" in shown(row=firm.site, current=acting(firm.organisation))


def test_without_a_row_it_is_its_content_or_nothing():
    assert shown(row=None) == ""
    assert "Further" in shown("<li>Further</li>", row=None)


def test_it_asks_for_nothing_beyond_the_rows_on_the_way(firm, django_assert_num_queries):
    current = SimpleNamespace(acts_for=lambda organisation: True)
    surface = type(firm.surface).objects.select_related("site__owner__organisation").get(pk=firm.surface.pk)

    with django_assert_num_queries(0):
        titles(surface, current)
