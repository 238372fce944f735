"""Every measured field of every form: typed in the person's units, stored in SI, shown back as it was typed."""

import re
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from django.test import Client

from accounts.models import User
from core.calc.units import Quantity, UnitSystem, price_to_display, to_display, unit_of
from core.forms.prices import PriceField
from qa.forms.measures import MeasureField
from tests.permissions import TABLE
from tests.security.test_other_firms_rows import forms_on
from tests.sending import url_of

# What a name says of the unit that is stored.
SUFFIXES = {
    "_m2_h": Quantity.OUTPUT,
    "_per_m2": Quantity.PRICE_BY_AREA,
    "_m2_yr": Quantity.PRICE_BY_AREA,
    "_kg_price": Quantity.PRICE_BY_MASS,
    "_mm_h": Quantity.RATE,
    "_m2": Quantity.AREA,
    "_m3": Quantity.VOLUME,
    "_mm": Quantity.SHORT_LENGTH,
    "_m": Quantity.LENGTH,
    "_kg": Quantity.MASS,
    "_c": Quantity.TEMPERATURE,
}
# A sieve is called by its opening; the readings of a test stand in the units of its own procedure.
NO_MEASURES = {"sieve_mm"}
# Forms of prices by area or mass, and of outputs, which have no such name on every field.
PRICED = {
    "accounts:firm-settings",
    "accounts:owner-create",
    "accounts:owner-edit",
    "maintenance:care-value",
    "maintenance:method-terms",
    "maintenance:price-create",
    "planning:crew-work",
    "qa:site-create",
    "qa:site-edit",
}
CLOSE = 1e-3  # what is shown is rounded to be read
ELSEWHERE = {"qa:test-create", "qa:test-correct"}
FORMS = sorted(
    route
    for route, (method, _, answers) in TABLE.items()
    if method == "get" and answers[-1] == 200 and route not in ELSEWHERE
)


def measured(forms, kind=MeasureField):
    """Each measured field of the forms of a page, by its name as it is sent."""
    return {
        form.add_prefix(name): (form, name, field)
        for form in forms
        for name, field in form.fields.items()
        if isinstance(field, kind)
    }


@pytest.fixture(scope="module", params=list(UnitSystem), ids=str)
def reader(request, standing, django_db_blocker):
    """What a person's units are, and the forms of each page as they are shown to that person; opened once for all."""
    person, client = User.objects.filter(pk=standing.admin.pk), Client()
    with django_db_blocker.unblock(), transaction.atomic():
        person.update(units=request.param.value)
        client.force_login(person.get())
        forms = {route: list(forms_on(client.get(url_of(route, standing.rows)))) for route in FORMS}
        transaction.set_rollback(True)
    return SimpleNamespace(system=request.param, forms=forms)


def test_measured_fields_stand_in_the_readers_units_and_give_back_what_was_typed(reader):
    system, tried = reader.system, 0

    for route, forms in reader.forms.items():
        for where, (_, _, field) in measured(forms).items():
            assert field.unit == unit_of(field.quantity, system), (route, where)
            for typed in ("7.5", "12", "0.333"):
                tried, stored = tried + 1, field.to_python(typed)
                assert to_display(stored, field.quantity, system).value == pytest.approx(float(typed)), (
                    route,
                    where,
                )
                shown = field.prepare_value(stored)  # inches may come back as a fraction
                assert field.to_python(shown) == pytest.approx(stored, rel=CLOSE), (route, where)

    assert tried > 100


def test_prices_by_area_or_mass_stand_in_the_readers_units_and_give_back_what_was_typed(reader):
    system, found = reader.system, set()

    for route, forms in reader.forms.items():
        for where, (_, _, field) in measured(forms, PriceField).items():
            found.add(route)
            assert field.unit.endswith(unit_of(field.quantity, system)), (route, where)
            for typed in ("0.0725", "1.25", "9999"):
                stored = field.to_python(typed)
                if not field.disabled:
                    assert price_to_display(stored, field.quantity, system) == Decimal(typed), (route, where)
                    assert Decimal(field.prepare_value(stored)) == Decimal(typed), (route, where)

    assert found == PRICED


def test_a_name_that_ends_in_a_unit_is_a_measured_field_of_that_quantity(reader):
    odd = {
        (route, name)
        for route, forms in reader.forms.items()
        for form in forms
        for name, field in form.fields.items()
        if name not in NO_MEASURES and is_odd(name, field)
    }

    assert odd == set()


def is_odd(name, field):
    """Whether a name says another quantity than the field's."""
    suffix = next((end for end in SUFFIXES if name.endswith(end)), None)
    return suffix is not None and getattr(field, "quantity", None) is not SUFFIXES[suffix]


@pytest.mark.parametrize(
    "route", ["qa:surface-edit", "maintenance:cleaning-correct", "qa:own-limit-edit", "qa:round-amend"]
)
@pytest.mark.django_db
def test_what_is_stored_is_shown_in_the_readers_units(reader, route):
    found = measured(reader.forms[route])

    shown = 0
    for form, name, field in found.values():
        stored = getattr(form.instance, name, None)
        if stored is not None:
            shown += 1
            text = field.prepare_value(form[name].value())
            assert field.to_python(text) == pytest.approx(stored, rel=CLOSE), name
            assert not field.has_changed(stored, text), name
    assert found
    assert shown or route in ("maintenance:cleaning-correct", "qa:round-amend")


@pytest.mark.parametrize("quantity", list(Quantity))
@pytest.mark.parametrize("system", list(UnitSystem))
@pytest.mark.parametrize(
    ("given", "least", "most", "said"),
    [
        (4.0, 5.0, None, "too small"),
        (6.0, None, 5.0, "too large"),
    ],
)
def test_what_is_out_of_bounds_is_told_in_the_units_it_was_typed_in(
    quantity, system, given, least, most, said
):
    field = MeasureField(quantity=quantity, lowest=least, highest=most)
    field.system = system
    typed = field.prepare_value(given)
    end = to_display(5.0, quantity, system).value

    with pytest.raises(ValidationError, match=said) as refusal:
        field.clean(typed)

    told = [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?(?= )", refusal.value.messages[0])]
    assert told == [pytest.approx(float(typed), rel=1e-6), pytest.approx(end, rel=1e-3)]
    assert unit_of(quantity, system) in refusal.value.messages[0]


@pytest.mark.parametrize("quantity", list(Quantity))
@pytest.mark.parametrize("system", list(UnitSystem))
def test_a_form_sent_back_as_it_was_shown_has_changed_nothing(quantity, system):
    field = MeasureField(quantity=quantity)
    field.system = system

    for stored in (0.1, 1.0 / 3.0, 123.456789, 25.4, 98765.4321):
        assert not field.has_changed(stored, field.prepare_value(stored))
        assert field.has_changed(stored, f"{float(field.prepare_value(stored)) + 1.0:.8g}")
