"""The pages of price lists: a new one starts from the one before, and refuses what cannot be."""

from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.models import MethodTerms, PriceList
from tests.clock import TODAY
from tests.factories import PriceListFactory
from tests.sending import as_shown, confirm

NEW = reverse("maintenance:price-create")


@pytest.fixture
def office(client, firm):
    client.force_login(firm.coordinator)
    return client


def shown(office):
    return as_shown(office.get(NEW).content.decode())


def test_the_first_list_starts_from_the_terms_that_advice_reckons_with(office, firm):
    page = shown(office)

    assert (page["vacuum-m2"], page["vacuum-minimum"]) == (["0.45"], ["220.00"])
    assert page["valid_from"] == [TODAY.isoformat()]


def test_a_new_list_starts_from_the_one_in_force_and_is_stored_as_shown(office, firm):
    old = PriceListFactory(organisation=firm.organisation)

    answer = office.post(NEW, shown(office) | {"vacuum-m2": "0.55"})

    new = PriceList.objects.exclude(pk=old.pk).get()
    assert answer.url == new.get_absolute_url()
    assert new.methods.of("vacuum").per_m2 == Decimal("0.55")
    assert new.methods.of("broom") == old.methods.of("broom")
    assert (new.tax_name, new.tax_percent, new.material_kg_price) == ("VAT", Decimal(19), Decimal("0.85"))
    assert old.methods.of("vacuum").per_m2 == Decimal("0.50")


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("vacuum-minimum", "", "Give both prices, or neither"),
        ("vacuum-m2", "0.45555", "0.45555 has more than 4 decimals"),
        ("vacuum-minimum", "0.455", "0.455 has more than 2 decimals"),
        ("test_price", "-3", "-3 is too small"),
        ("tax_name", "", "Name the tax"),
        ("tax_percent", "120", "120 is too"),
        ("valid_from", "soon", "Enter a valid date"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field_and_nothing_is_lost(office, firm, field, typed, said):
    PriceListFactory(organisation=firm.organisation)

    answer = office.post(NEW, shown(office) | {field: typed, "note": "My note"})

    page = answer.content.decode()
    assert answer.status_code == 200
    assert said in page
    assert "My note" in page
    assert PriceList.objects.count() == 1


def test_a_currency_with_thousandths_takes_prices_in_them(office, firm):
    firm.organisation.currency = "KWD"
    firm.organisation.save()
    PriceListFactory(organisation=firm.organisation)

    answer = office.post(NEW, shown(office) | {"vacuum-m2": "0.455"})

    assert answer.status_code == 302


def test_the_lists_are_read_by_all_of_the_firm_and_a_new_one_is_offered_to_those_who_plan(client, firm):
    row = PriceListFactory(organisation=firm.organisation)
    pages = {}
    for who in ("viewer", "coordinator"):
        client.force_login(getattr(firm, who))
        pages[who] = client.get(reverse("maintenance:price-list")).content.decode()
    detail = client.get(row.get_absolute_url()).content.decode()

    assert "in force" in pages["viewer"]
    assert NEW not in pages["viewer"]
    assert NEW in pages["coordinator"]
    for said in ("0.50 EUR a m²", "200.00 EUR a site", "0.85 EUR a kg", "VAT of 19\u00a0%, to be added"):
        assert said in detail


def test_prices_of_the_list_are_not_changed_beside_it(office, firm):
    office.post(NEW, shown(office) | {"vacuum-m2": "0.61", "test_price": "170"})
    url = reverse("maintenance:method-terms")
    page = office.get(url)
    rows = [form for form in page.context["formset"] if form.instance.method == "vacuum"]

    answer = office.post(url, as_shown(page.content.decode()) | {f"{rows[0].prefix}-cost_per_m2": "0.01"})

    assert answer.status_code == 302
    assert "price list in force" in page.content.decode()
    assert MethodTerms.objects.get(organisation=firm.organisation, method="vacuum").cost_per_m2 == Decimal(
        "0.61"
    )


def test_a_firm_gives_a_currency_that_there_is(client, firm):
    client.force_login(firm.admin)
    confirm(client)
    url = reverse("accounts:firm-settings")
    page = as_shown(client.get(url).content.decode())

    refused, taken = (
        client.post(url, page | {"currency": "EUX"}),
        client.post(url, page | {"currency": "nok"}),
    )

    firm.organisation.refresh_from_db()
    assert "is not a currency of ISO 4217" in refused.content.decode()
    assert taken.status_code == 302
    assert firm.organisation.currency == "NOK"


def test_a_list_written_in_us_customary_units_comes_back_as_it_was_typed_and_counts_in_them(office, firm):
    firm.coordinator.units = "us"
    firm.coordinator.save()
    before = PriceListFactory(organisation=firm.organisation)
    page = shown(office)
    assert (page["vacuum-m2"], page["material_kg_price"]) == (["0.0465"], ["0.3856"])  # 0.50 a m², 0.85 a kg

    answer = office.post(NEW, page | {"vacuum-m2": "0.0725", "material_kg_price": "0.40"})

    new = PriceList.objects.exclude(pk=before.pk).get()
    assert answer.url == new.get_absolute_url()
    assert new.methods.of("broom") == before.methods.of("broom"), "what nobody touched did not creep"
    assert new.methods.of("vacuum").per_m2 == Decimal("0.7804")  # 0.0725 / 0.09290304
    again, detail = shown(office), office.get(answer.url).content.decode()
    assert (again["vacuum-m2"], again["material_kg_price"]) == (["0.0725"], ["0.40"])
    assert "0.0725 EUR a ft²" in detail
    assert "0.40 EUR a lb" in detail
    assert "count areas in ft² and material in lb" in detail
    assert MethodTerms.objects.get(organisation=firm.organisation, method="vacuum").cost_per_m2 == Decimal(
        "0.7804"
    )
