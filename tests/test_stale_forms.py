"""Every form that changes a stored row, sent from a page that is older than what somebody else stored since."""

import inspect
import re
from decimal import Decimal
from functools import cache
from importlib import import_module
from pkgutil import walk_packages

import pytest
from django.apps import apps
from django.forms import Form, ModelForm
from django.urls import reverse

from accounts.calc.roles import Role
from accounts.forms import people as people_forms
from accounts.models import Membership
from core.calc.format import day
from core.forms.fresh import FreshForm, SeenForm
from maintenance.models import MethodTerms
from maintenance.services.cleanings import terms_of
from planning.calc.vocabulary import TaskOutcome
from planning.models import Agreement
from planning.services.visits import end_task
from qa.calc.outlines import SurfacePlan
from qa.models import ConstructionCheck, Layer, Location, Outline, TestRound
from qa.services.plans import save_plan
from tests.clock import TODAY
from tests.factories import CrewFactory, LocationFactory, QuoteLineFactory, SitePlanFactory, VisitTaskFactory
from tests.permissions import TABLE
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


def test_how_a_day_went_is_not_told_over_what_another_told(admin, firm):
    task = firm_task(firm)
    url = reverse("planning:visit-tell", args=[task.visit_id])
    page = as_shown(admin.get(url).content.decode())
    mine = {f"task-{task.pk}-outcome": "not_done", f"task-{task.pk}-reason": "No key."}
    end_task(task=task, outcome=TaskOutcome.NOT_DONE, reason="Rain.")

    answer = admin.post(url, page | mine)

    task.refresh_from_db()
    assert "Changed since this page was opened" in answer.content.decode()
    assert task.outcome_reason == "Rain."


def test_hours_that_another_told_are_not_told_over_unseen(admin, firm):
    task = firm_task(firm)
    end_task(task=task, outcome=TaskOutcome.DONE)
    url = reverse("planning:visit-tell", args=[task.visit_id])
    page = as_shown(admin.get(url).content.decode())
    mine = {f"task-{task.pk}-taken_h": "3"}
    type(task).objects.filter(pk=task.pk).update(taken_min=90)

    answer = admin.post(url, page | mine)

    task.refresh_from_db()
    assert "is now 1.5" in answer.content.decode()
    assert task.taken_min == 90
    assert admin.post(url, as_shown(answer.content.decode()) | mine).status_code == 302
    task.refresh_from_db()
    assert task.taken_min == 180


def firm_task(firm):
    crew = CrewFactory(organisation=firm.organisation)
    return VisitTaskFactory(surface=firm.surface, visit__crew=crew, outcome="", ended_at=None)


def test_a_role_that_another_gave_is_not_taken_back_unseen(admin, firm):
    member = Membership.objects.get(organisation=firm.organisation, user=firm.viewer)
    page = admin.get(reverse("accounts:firm")).content.decode()
    url = reverse("accounts:member-role", args=[member.pk])
    shown = re.search(rf'action="{url}".*?name="seen" value="(.*?)"', page, re.S)[1]
    Membership.objects.filter(pk=member.pk).update(role=Role.COORDINATOR)
    mine = {"role": str(Role.TECHNICIAN.value), "seen": shown}

    text = admin.post(url, mine, follow=True).content.decode()

    member.refresh_from_db()
    assert "Changed since this page was opened" in text
    assert f"is now {Role.COORDINATOR.label}" in text
    assert member.role == Role.COORDINATOR


# Of rows that the table above cannot find: route, the kind of row in its address, and as there.
ALSO = {
    "qa:check-edit": ("check", "readings_asked", 9, {"reason": "Drawing 12"}),
    "qa:round-amend": ("round", "note", "Their note", {"note": "Mine", "reason": "Misread."}),
    "maintenance:care-value": ("surface", "below_price_m2_yr", Decimal("2.50"), {"below_price_m2_yr": "3"}),
}


def changed_row(firm, kind):
    rows = {"check": ConstructionCheck, "round": TestRound}
    return rows[kind].objects.get(pk=firm.rows[kind]) if kind in rows else firm.site


@pytest.mark.parametrize("route", ALSO)
def test_an_older_page_of_other_rows_stores_nothing_until_it_is_sent_again(admin, firm, route):
    kind, column, theirs, mine = ALSO[route]
    row, url = changed_row(firm, kind), reverse(route, args=[firm.rows[kind]])
    page = as_shown(admin.get(url).content.decode())
    type(row)._base_manager.filter(pk=row.pk).update(**{column: theirs})

    answer = admin.post(url, page | mine)

    row.refresh_from_db()
    assert "Changed since this page was opened" in answer.content.decode()
    assert getattr(row, column) == theirs
    again = admin.post(url, as_shown(answer.content.decode()))
    assert again.status_code == 302, as_told(again)


# Routes whose page shows marks of stored rows, and which are held by tests of their own here.
HELD_ELSEWHERE = {
    "maintenance:method-terms",
    "planning:visit-tell",
    "accounts:firm",
    "qa:layer-edit",
    "qa:location-edit",
    "qa:plan-edit",
}


def marks_held_nowhere(page, route):
    """The marks of a row that a page shows although no test here holds them; test_permissions.py asks of every page."""
    held = route in EDITS.keys() | ALSO.keys() | HELD_ELSEWHERE
    return [] if held else re.findall(r'name="[^"]*\bseen"[^>]*value="[^"]', page)


# What is shown to an admin who opens any other page is looked at in test_permissions.py.
@pytest.mark.parametrize(
    "route",
    [route for route, (method, _, answers) in TABLE.items() if method == "get" and answers[-1] != 200],
)
def test_a_page_that_shows_marks_of_a_row_is_held_here(admin, firm, route):
    kind = TABLE[route][1]
    page = admin.get(reverse(route, args=[firm.rows[kind]] if kind else []))
    if not page.streaming and "html" in page.headers["Content-Type"]:
        assert marks_held_nowhere(page.content.decode(), route) == []


APPS = (
    "accounts",
    "qa",
    "maintenance",
    "planning",
    "reporting",
    "fieldwork",
    "exchange",
    "operations",
    "api",
)


@cache
def forms_loaded():
    """Imports the forms of every app: some are found by a name in the settings, and only once they are asked for."""
    for app in APPS:
        for module in walk_packages(import_module(app).__path__, f"{app}."):
            if ".forms" in module.name:
                import_module(module.name)


def forms_below(base):
    """Every form of the apps that inherits from a class."""
    forms_loaded()
    found, left = set(), [base]
    while left:
        for sub in left.pop().__subclasses__():
            if sub not in found:
                found.add(sub)
                left.append(sub)
    ours = tuple(f"{app}." for app in APPS)
    return {form for form in found if form.__module__.startswith(ours) and not inspect.isabstract(form)}


def test_every_form_of_a_row_is_a_fresh_one_or_is_known_to_change_none():
    assert {form for form in forms_below(ModelForm) if not issubclass(form, FreshForm)} - MAKE_ONLY == set()


# Forms without a model that store into no row that was there before, or not over what another stored; each with why.
LOOKS = "it says what is shown, and stores nothing"
MAKES = "it makes a row, known by its id"
ONE_STEP = "it takes a step that is taken once: whoever is second is told that it was taken"
PARTS = "it is sent with a form that is held, or whose record is replaced by a correction"
OWN = "what it changes belongs to the person alone who sends it"
UNMODELLED = {
    "accounts.forms.notices.NoticeChoiceForm": OWN,
    "accounts.forms.passkeys.AddPasskeyForm": OWN,
    "accounts.forms.passkeys.PasskeyConfirmForm": OWN,
    "accounts.forms.passkeys.PasskeyFactorForm": OWN,
    "accounts.forms.passkeys.PasskeySignInForm": OWN,
    "accounts.forms.passkeys.RenamePasskeyForm": OWN,
    "accounts.forms.passkeys._Answered": "each form made of it is named here",
    "accounts.forms.sign_up.SignUpForm": MAKES,
    "api.forms.tokens.TokenForm": MAKES,
    "exchange.forms.imports.MatchForm": ONE_STEP,
    "fieldwork.forms.take_in.TakeInForm": MAKES,
    "operations.forms.jobs.JobFilter": LOOKS,
    "planning.forms.budget.BudgetForm": LOOKS,
    "planning.forms.calendar.CalendarFilter": LOOKS,
    "planning.forms.calendar.DayForm": LOOKS,
    "planning.forms.cost_months.CostMonthsForm": LOOKS,
    "planning.forms.day_end.DayToldForm": PARTS,
    "planning.forms.drives.DriveFileForm": MAKES,
    "planning.forms.postponing.UnworkableForm": ONE_STEP,
    "operations.forms.trail.TrailFilter": LOOKS,
    "planning.forms.quotes.AnswerForm": ONE_STEP,
    "planning.forms.quotes.QuoteStartForm": MAKES,
    "planning.forms.quotes.WrittenAnswerForm": ONE_STEP,
    "planning.forms.visits.FindingForm": ONE_STEP,
    "planning.forms.visits.OnVisitForm": ONE_STEP,
    "planning.forms.visits.PlanForm": ONE_STEP,
    "planning.forms.work.ChosenForm": ONE_STEP,
    "planning.forms.work.DeclineManyForm": ONE_STEP,
    "planning.forms.work.PlanManyForm": ONE_STEP,
    "planning.forms.work.PutOffForm": ONE_STEP,
    "planning.forms.work.WorkFilter": LOOKS,
    "planning.forms.work_plans.AcceptForm": ONE_STEP,
    "planning.forms.work_plans.BoardForm": LOOKS,
    "planning.forms.work_plans.MoveForm": ONE_STEP,
    "qa.forms.buildups.KeepAsForm": MAKES,
    "qa.forms.inspections.WellRowForm": PARTS,
    "qa.forms.plans.PlanForm": "held above: an outline that another drew",
    "qa.forms.rain.RainTableForm": PARTS,
    "qa.forms.sievings.BandChoiceForm": LOOKS,
    "qa.forms.sievings.BandRowForm": PARTS,
    "qa.forms.stage.StageForm": MAKES,
    "qa.forms.water.RainForm": LOOKS,
    "reporting.forms.kept.KeepForm": MAKES,
    "reporting.forms.kept.KeepReportForm": MAKES,
    "reporting.forms.portfolio.PortfolioForm": LOOKS,
    "reporting.forms.sendings.DueReportForm": ONE_STEP,
    "reporting.forms.sendings.SendForm": MAKES,
    "reporting.forms.sendings.SendReportForm": MAKES,
    "reporting.forms.sources.SourceFilter": LOOKS,
}


def test_of_every_other_form_it_is_known_why_it_stores_over_nothing():
    others = {form for form in forms_below(Form) if not issubclass(form, (ModelForm, SeenForm))}

    assert {f"{form.__module__}.{form.__qualname__}" for form in others} == UNMODELLED.keys()
