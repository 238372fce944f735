import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from qa.models import OwnLimit, Surface
from tests.factories import InfiltrationTestFactory, OwnLimitFactory, RoundFactory
from tests.pages import as_shown

FIELDS = {
    "name": "Yard",
    "surface_type": "picp",
    "area_m2": "1000",
    "opened_on": "2024-05-01",
    "traffic": "1",
    "run_on_area_m2": "1000",
    "clogging_share": "0.1",
}


@pytest.fixture
def office(client, firm):
    client.force_login(firm.coordinator)
    return client


def add_surface(office, firm, **more):
    return office.post(reverse("qa:surface-create", args=[firm.site.pk]), FIELDS | more)


def test_a_surface_gets_the_limit_of_the_chosen_document(office, firm):
    response = add_surface(office, firm, rule="netherlands")

    surface = Surface.objects.get(name="Yard")
    assert response.status_code == 302
    assert surface.limit_mm_h == pytest.approx(500 / 24)


def test_the_highest_of_rule_and_design_rain_applies(office, firm):
    add_surface(office, firm, rule="ontario", design_intensity_mm_h="200")

    page = as_shown(office.get(Surface.objects.get(name="Yard").get_absolute_url()).content.decode())

    assert Surface.objects.get(name="Yard").limit_mm_h == 400
    assert (
        "400 mm/h, from the design rain (200 mm/h, times 1 + 1 for run-on); it is the highest: Ontario"
        in page
    )


def test_a_surface_gets_the_firms_own_limit(office, firm):
    own = OwnLimitFactory(organisation=firm.organisation)

    add_surface(office, firm, rule=f"own:{own.pk}")

    assert Surface.objects.get(name="Yard").own_limit == own


def test_a_limit_of_another_firm_is_not_offered(office, firm):
    theirs = OwnLimitFactory()

    response = add_surface(office, firm, rule=f"own:{theirs.pk}")

    assert theirs.name not in response.content.decode()
    assert "is not one of the available choices" in response.content.decode()


def test_a_surface_without_any_limit_is_refused_with_what_to_do(office, firm):
    response = add_surface(office, firm)

    assert "No limit is known. Choose a rule that gives one in service" in response.content.decode()
    assert not Surface.objects.filter(name="Yard").exists()


def test_clearing_everything_does_not_keep_the_old_limit(office, firm):
    add_surface(office, firm, agreed_limit_mm_h="300")
    surface = Surface.objects.get(name="Yard")

    response = office.post(reverse("qa:surface-edit", args=[surface.pk]), FIELDS)

    assert "No limit is known" in response.content.decode()


def test_the_form_shows_what_was_chosen(office, firm):
    add_surface(office, firm, rule="ontario")
    surface = Surface.objects.get(name="Yard")

    page = as_shown(office.get(reverse("qa:surface-edit", args=[surface.pk])).content.decode())

    assert '<option value="ontario" selected>Ontario: clean below 250 mm/h (looked up)' in page


def test_an_own_limit_is_entered_in_the_persons_units(office, firm):
    firm.coordinator.units = "us"
    firm.coordinator.save(update_fields=["units"])

    office.post(reverse("qa:own-limit-create"), {"name": "Ours", "limit_mm_h": "10", "source": "contract"})

    assert OwnLimit.objects.get(organisation=firm.organisation).limit_mm_h == pytest.approx(254)


def test_the_rules_page_lists_documents_with_their_status(office, firm):
    OwnLimitFactory(organisation=firm.organisation, name="Ours")
    OwnLimitFactory(name="Theirs")

    page = as_shown(office.get(reverse("qa:rule-list")).content.decode())

    assert "15A NCAC 02H .1055(6)" in page
    assert "from memory: verify against the current edition" in page
    assert "Ours" in page
    assert "Theirs" not in page


def test_the_rules_page_asks_the_same_number_of_questions_for_one_and_for_ten(
    office, firm, django_assert_num_queries
):
    OwnLimitFactory(organisation=firm.organisation)
    url = reverse("qa:rule-list")
    with CaptureQueriesContext(connection) as one:
        office.get(url)
    for _ in range(9):
        OwnLimitFactory(organisation=firm.organisation)

    with django_assert_num_queries(len(one)):
        office.get(url)


def test_retiring_takes_a_limit_off_the_list_and_back(office, firm):
    own = OwnLimitFactory(organisation=firm.organisation)
    url = reverse("qa:own-limit-retire", args=[own.pk])

    office.post(url)
    retired = OwnLimit.objects.get(pk=own.pk).retired
    office.post(url, {"again": "1"})

    assert retired
    assert not OwnLimit.objects.get(pk=own.pk).retired


def acceptance_round(firm, seconds):
    firm.surface.acceptance_rate_mm_h = 1000.0
    firm.surface.save()
    round_ = RoundFactory(surface=firm.surface, purpose="acceptance")
    for _ in range(3):
        InfiltrationTestFactory(round=round_, elapsed_s=seconds)
    return round_


@pytest.mark.parametrize(("seconds", "word"), [(150.0, "passes"), (600.0, "fails")])
def test_an_acceptance_round_is_judged_on_its_page_and_on_the_surfaces(office, firm, seconds, word):
    round_ = acceptance_round(firm, seconds)

    on_round = as_shown(office.get(round_.get_absolute_url()).content.decode())
    on_surface = as_shown(office.get(firm.surface.get_absolute_url()).content.decode())
    in_report = as_shown(office.get(reverse("reporting:report-site", args=[firm.site.pk])).content.decode())

    assert f"Acceptance: {word}." in on_round
    assert f"<b>{word.capitalize()}</b>" in on_surface
    assert f"<b>{word.capitalize()}</b>" in in_report


def test_a_routine_round_is_not_judged_for_acceptance(office, firm):
    round_ = acceptance_round(firm, 150.0)
    round_.purpose = "routine"
    round_.save()

    assert "Acceptance:" not in office.get(round_.get_absolute_url()).content.decode()
