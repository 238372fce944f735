"""Every choice of a row that a form offers: rows of another firm are neither offered nor taken."""

from types import SimpleNamespace

import pytest
from django import forms

from accounts.models import Owner, OwnerPerson, User
from planning.models import Crew
from qa.models import Layer, Location, OwnBand, OwnLimit, RainRecord, Site, Surface
from tests.factories import (
    CrewFactory,
    LayerFactory,
    LocationFactory,
    MembershipFactory,
    OwnBandFactory,
    OwnerFactory,
    OwnerPersonFactory,
    OwnLimitFactory,
    RainRecordFactory,
    SiteFactory,
    SurfaceFactory,
)
from tests.sending import as_shown, everything_stored, url_of


@pytest.fixture
def firm(furnished):
    return furnished


def strangers():
    """One row of each kind that can be chosen, all of another firm."""
    surface = SurfaceFactory()
    firm = surface.site.organisation
    return {
        Owner: OwnerFactory(organisation=firm),
        Site: SiteFactory(owner__organisation=firm),
        Surface: surface,
        Layer: LayerFactory(surface=surface),
        Location: LocationFactory(surface=surface),
        OwnLimit: OwnLimitFactory(organisation=firm),
        OwnBand: OwnBandFactory(organisation=firm),
        RainRecord: RainRecordFactory(organisation=firm),
        Crew: CrewFactory(organisation=firm),
        OwnerPerson: OwnerPersonFactory(owner__organisation=firm),
        User: MembershipFactory(organisation=firm).user,
    }


def forms_on(answer):
    """Every form of a page, those of its formsets too."""
    for part in answer.context or ():
        for value in part.flatten().values() if hasattr(part, "flatten") else part.values():
            if isinstance(value, forms.BaseFormSet):
                yield from value.forms
            elif isinstance(value, forms.BaseForm):
                yield value


def choices_on(answer):
    """Name as it is sent, model and whether several can be chosen, of every field that names rows."""
    found = {}
    for form in forms_on(answer):
        for name, field in form.fields.items():
            if isinstance(field, forms.ModelChoiceField) and not isinstance(field.widget, forms.HiddenInput):
                several = isinstance(field, forms.ModelMultipleChoiceField)
                found[form.add_prefix(name)] = SimpleNamespace(
                    field=field, model=field.queryset.model, several=several
                )
    return found


CHOICES = [
    ("planning:crew-create", "people"),
    ("planning:crew-edit", "people"),
    ("planning:day-unworkable", "crews"),
    ("planning:finding-plan", "crew"),
    ("planning:recommendation-plan", "crew"),
    ("planning:task-create", "surface"),
    ("planning:task-rest-plan", "crew"),
    ("planning:task-test-plan", "crew"),
    ("planning:visit-create", "crew"),
    ("planning:visit-edit", "crew"),
    ("reporting:inspector-create", "owner"),
    ("reporting:inspector-create", "sites"),
    ("reporting:kept-send", "people"),
    ("reporting:report-due", "people"),
    ("reporting:report-send", "people"),
    ("qa:site-create", "owner"),
    ("qa:site-create", "rain_record"),
    ("qa:site-edit", "owner"),
    ("qa:site-edit", "rain_record"),
    ("qa:test-correct", "location"),
    ("qa:test-create", "location"),
]
# A filter, and the step before a form: they are sent by GET and store nothing.
NARROWING = {
    ("fieldwork:blank-test", "location"),  # what is entered goes to qa:test-create
    ("maintenance:surface-list", "site"),
    ("operations:trail-list", "person"),
    ("planning:budget-plan", "owner"),
    ("planning:calendar-show", "owner"),
    ("planning:calendar-show", "site"),
    ("planning:cost-show", "owner"),
    ("planning:visit-list", "crew"),
    ("qa:sieving-create", "layer"),
    ("reporting:start", "owner"),
    ("reporting:todo-list", "owner"),
}


def untried(answer, route):
    """The fields of a page that name rows and are not tried here; test_permissions.py asks of every page."""
    return sorted({(route, name) for name in choices_on(answer)} - NARROWING - set(CHOICES))


@pytest.mark.parametrize(("route", "name"), CHOICES)
def test_a_row_of_another_firm_is_not_offered(client, firm, route, name):
    rows, others = firm.rows, strangers()
    client.force_login(firm.admin)

    choice = choices_on(client.get(url_of(route, rows)))[name]

    offered = set(choice.field.queryset.values_list("pk", flat=True))
    assert others[choice.model].pk not in offered


@pytest.mark.parametrize(("route", "name"), CHOICES)
def test_a_row_of_another_firm_is_refused_and_nothing_is_stored(client, firm, route, name):
    rows, others = firm.rows, strangers()
    client.force_login(firm.admin)
    url = url_of(route, rows)
    page = client.get(url)
    choice = choices_on(page)[name]
    typed = as_shown(page.content.decode()) | {name: [str(others[choice.model].pk)]}
    before = everything_stored()

    answer = client.post(url, typed)

    errors = next(form.errors for form in forms_on(answer) if name in form.fields)
    assert answer.status_code == 200
    assert "not one of the available choices" in str(errors[name])
    assert everything_stored() == before
