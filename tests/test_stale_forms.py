"""Every form that changes a stored row, sent from a page that is older than what somebody else stored since."""

import inspect
import re

import pytest
from django.apps import apps
from django.forms import ModelForm
from django.urls import reverse

from accounts.forms import people as people_forms
from core.calc.format import day
from core.forms.fresh import FreshForm
from maintenance.models import MethodTerms
from maintenance.services.cleanings import terms_of
from planning.models import Agreement
from qa.calc.outlines import SurfacePlan
from qa.models import Layer, Location, Outline
from qa.services.plans import save_plan
from tests.clock import TODAY
from tests.factories import LocationFactory, QuoteLineFactory, SitePlanFactory
from tests.sending import as_shown, confirm

# Forms of model rows that change none: they make one, or correct by making one.
MAKE_ONLY = {people_forms.MemberInvitationForm, people_forms.OwnerInvitationForm}

# Route: kind of row, a column that somebody else changes, to what, the field and text that are sent, the row's field.
EDITS = {
    "accounts:firm-settings": ("organisation", "name", "Other name", {"name": "My name"}),
    "accounts:owner-edit": ("owner", "phone", "0100 1", {"note": "Mine"}),
    "accounts:me": ("user", "full_name", "Other Name", {"full_name": "My Name"}),
    "qa:site-edit": ("site", "address", "Elsewhere 2", {"access_note": "Mine"}),
    "qa:surface-edit": ("surface", "area_m2", 777.0, {"note": "Mine"}),
    "qa:rain-edit": ("rain", "place", "Elsewhere 3", {"source": "Mine"}),
    "qa:own-limit-edit": ("own_limit", "source", "Other letter", {"name": "Mine"}),
    "qa:own-band-edit": ("own_band", "source", "Other letter", {"name": "Mine"}),
    "maintenance:site-plan-edit": ("plan", "spread", "Other text", {"clearing": "Mine"}),
    "planning:agreement-edit": ("agreement", "tests_per_year", 4.0, {"note": "Mine"}),
    "planning:visit-edit": ("visit", "note", "Bring the long hose", {"note": "Mine"}),
    "planning:crew-work": ("crew", "hours_a_day", 5.0, {"depot": "Mine"}),
    "planning:quote-edit": ("draft", "note", "Their words", {"note": "Mine"}),
    "planning:crew-edit": ("crew", "name", "Other crew", {"name": "Mine"}),
}


@pytest.fixture
def firm(furnished):
    return furnished


def as_told(answer):
    """What a page says is wrong."""
    return re.findall(r"<li>(.*?)</li>", answer.content.decode().split("Please correct this")[-1], re.S)[:4]


@pytest.fixture
def admin(client, firm):
    client.force_login(firm.admin)
    confirm(client)
    type(firm.surface).objects.filter(pk=firm.surface.pk).update(
        agreed_limit_mm_h=254.0
    )  # the form asks for a rule
    return client


def row_of(firm, kind):
    """The row that a form changes, and the address of the form."""
    if kind == "organisation":
        return firm.organisation, None
    if kind == "user":
        return firm.admin, None
    if kind == "plan":
        return SitePlanFactory(site=firm.site), firm.site.pk
    if kind == "draft":
        version = QuoteLineFactory(version__quote__owner=firm.owner, version__state="draft").version
        return version, version.pk
    if kind == "agreement":
        return Agreement.objects.create(
            site=firm.site, tests_per_year=1.0, since=firm.site.today()
        ), firm.site.pk
    row = firm.rows[kind]
    models = [
        model for label in ("accounts", "qa", "planning") for model in apps.get_app_config(label).get_models()
    ]
    found = (
        model._base_manager.filter(pk=row).first() for model in models if not model._meta.pk.remote_field
    )
    return next(one for one in found if one is not None and not isinstance(one, int)), row


@pytest.mark.parametrize("route", EDITS)
def test_an_older_page_stores_nothing_and_says_what_changed(admin, firm, route):
    kind, column, theirs, mine = EDITS[route]
    row, key = row_of(firm, kind)
    url = reverse(route, args=[key] if key else [])
    page = as_shown(admin.get(url).content.decode())
    type(row)._base_manager.filter(pk=row.pk).update(**{column: theirs})

    answer = admin.post(url, page | mine)

    row.refresh_from_db()
    assert answer.status_code == 200
    text = answer.content.decode()
    assert "Changed since this page was opened" in text
    assert str(theirs).removesuffix(".0") in text
    assert getattr(row, column) == theirs
    ((name, typed),) = mine.items()
    assert getattr(row, name) != typed
    assert typed in text, "what was typed is kept"


@pytest.mark.parametrize("route", EDITS)
def test_sent_again_it_is_stored(admin, firm, route):
    kind, column, theirs, mine = EDITS[route]
    row, key = row_of(firm, kind)
    url = reverse(route, args=[key] if key else [])
    page = as_shown(admin.get(url).content.decode())
    type(row)._base_manager.filter(pk=row.pk).update(**{column: theirs})

    again = as_shown(admin.post(url, page | mine).content.decode())
    answer = admin.post(url, again)

    row.refresh_from_db()
    assert answer.status_code == 302, as_told(answer)
    ((name, typed),) = mine.items()
    assert getattr(row, name) == typed


@pytest.mark.parametrize("route", EDITS)
def test_a_page_that_is_up_to_date_is_stored_at_once(admin, firm, route):
    kind, _, _, mine = EDITS[route]
    _, key = row_of(firm, kind)
    url = reverse(route, args=[key] if key else [])

    answer = admin.post(url, as_shown(admin.get(url).content.decode()) | mine)

    assert answer.status_code == 302, as_told(answer)


def test_what_others_changed_beside_the_forms_own_columns_does_not_matter(admin, firm):
    url = reverse("qa:surface-edit", args=[firm.surface.pk])
    page = as_shown(admin.get(url).content.decode())
    type(firm.surface).objects.filter(pk=firm.surface.pk).update(record_version=99)

    assert admin.post(url, page | {"note": "Mine"}).status_code == 302


def test_the_page_says_who_changed_it_and_when(admin, firm):
    url = reverse("qa:surface-edit", args=[firm.surface.pk])
    page = as_shown(admin.get(url).content.decode())
    admin.post(url, as_shown(admin.get(url).content.decode()) | {"area_m2": "912"})

    text = admin.post(url, page | {"note": "Mine"}).content.decode()

    assert f"Changed since this page was opened by {firm.admin} at {day(TODAY)}" in text
    assert "is now 912" in text


def test_prices_are_held_row_by_row(admin, firm):
    url = reverse("maintenance:method-terms")
    terms_of(firm.organisation)
    page = as_shown(admin.get(url).content.decode())
    row = MethodTerms.objects.filter(organisation=firm.organisation).first()
    MethodTerms.objects.filter(pk=row.pk).update(cost_per_m2="7.77")

    text = admin.post(url, page).content.decode()

    assert "Changed since this page was opened" in text
    assert "7.77" in text


def test_the_price_of_a_test_visit_is_held_too(admin, firm):
    url = reverse("maintenance:method-terms")
    page = as_shown(admin.get(url).content.decode())
    type(firm.organisation).objects.filter(pk=firm.organisation.pk).update(test_visit_price="310.50")

    text = admin.post(url, page | {"visit-test_visit_price": "99"}).content.decode()

    assert "is now 310.50" in text
    firm.organisation.refresh_from_db()
    assert str(firm.organisation.test_visit_price) == "310.50"


def test_removing_a_layer_twice_removes_it_once(admin, firm):
    url = reverse("qa:layer-edit", args=[firm.surface.pk])
    admin.post(url, as_shown(admin.get(url).content.decode()))
    page = as_shown(admin.get(url).content.decode()) | {"layers-0-DELETE": "on"}
    before = Layer.objects.filter(surface=firm.surface).count()

    first, second = admin.post(url, page), admin.post(url, page)

    assert (first.status_code, second.status_code) == (302, 302)
    assert Layer.objects.filter(surface=firm.surface).count() == before - 1


def test_a_layer_that_another_removed_comes_back_as_a_new_row_with_what_was_typed(admin, firm):
    url = reverse("qa:layer-edit", args=[firm.surface.pk])
    admin.post(url, as_shown(admin.get(url).content.decode()))
    page = as_shown(admin.get(url).content.decode()) | {"layers-0-material": "my own stone"}
    Layer.objects.get(pk=page["layers-0-id"][0]).delete()
    left = Layer.objects.filter(surface=firm.surface).count()

    answer = admin.post(url, page)

    assert "a row was removed" in answer.content.decode()
    assert "my own stone" in answer.content.decode()
    assert Layer.objects.filter(surface=firm.surface).count() == left
    assert admin.post(url, as_shown(answer.content.decode())).status_code == 302
    assert Layer.objects.filter(surface=firm.surface, material="my own stone").count() == 1


def test_an_order_that_another_gave_the_layers_is_not_undone_unseen(admin, firm):
    url = reverse("qa:layer-edit", args=[firm.surface.pk])
    admin.post(url, as_shown(admin.get(url).content.decode()))
    page = as_shown(admin.get(url).content.decode())
    admin.post(url, page | {"layers-0-place": "1.5", "layers-1-place": "1"})
    theirs = list(Layer.objects.filter(surface=firm.surface).values_list("pk", flat=True))

    answer = admin.post(url, page)

    assert "the order was changed" in answer.content.decode()
    assert list(Layer.objects.filter(surface=firm.surface).values_list("pk", flat=True)) == theirs
    assert admin.post(url, as_shown(answer.content.decode())).status_code == 302


def test_a_location_that_another_added_stands_among_the_rows_and_stays(admin, firm):
    url = reverse("qa:location-edit", args=[firm.surface.pk])
    page = as_shown(admin.get(url).content.decode())
    LocationFactory(surface=firm.surface, label="Theirs")

    answer = admin.post(url, page)

    assert "Theirs" in answer.content.decode()
    assert admin.post(url, as_shown(answer.content.decode())).status_code == 302
    assert Location.objects.filter(surface=firm.surface, label="Theirs", retired=False).exists()


def test_an_outline_that_another_drew_is_not_drawn_over_unseen(admin, firm):
    url = reverse("qa:plan-edit", args=[firm.surface.pk])
    mine = {"corners": "0 0\n20 0\n20 10\n0 10", "count": "0", "do": "save"}
    page = as_shown(admin.get(url).content.decode()) | mine
    theirs = SurfacePlan(((0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (0.0, 10.0)))
    save_plan(surface=firm.surface, plan=theirs, spots=(), keep_locations=True)

    answer = admin.post(url, page)

    assert "changed since this page was opened" in answer.content.decode()
    assert Outline.objects.get(surface=firm.surface).plan == theirs
    assert admin.post(url, as_shown(answer.content.decode()) | mine).status_code == 302
    assert Outline.objects.get(surface=firm.surface).plan.outline[1] == (20.0, 0.0)


def model_forms():
    """Every form of a model row in the apps."""
    found, left = set(), [ModelForm]
    while left:
        for sub in left.pop().__subclasses__():
            if sub not in found:
                found.add(sub)
                left.append(sub)
    ours = ("accounts.", "qa.", "maintenance.", "planning.", "reporting.", "fieldwork.")
    return {form for form in found if form.__module__.startswith(ours) and not inspect.isabstract(form)}


def test_every_form_of_a_row_is_a_fresh_one_or_is_known_to_change_none():
    assert {form for form in model_forms() if not issubclass(form, FreshForm)} - MAKE_ONLY == set()
