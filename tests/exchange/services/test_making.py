"""What an import is worked out to be: what is told of a row, what is the same, what is kept of it all."""

from datetime import date
from decimal import Decimal

import pytest
from django import forms
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from accounts.calc.roles import Role
from accounts.models import Owner
from core.errors import NotAllowedNowError
from exchange.calc.cells import OFF
from exchange.calc.kinds import SheetKind
from exchange.calc.payloads import ImportReport, KindCount
from exchange.calc.problems import MOST_KEPT
from exchange.calc.rows import Sheet, SheetRow
from exchange.calc.ways import Ways
from exchange.services.making import (
    CORRECT,
    Making,
    differences,
    remarks_of,
    rules_asked_later,
    same,
    starts_of,
    take_errors,
    typed,
)
from qa.models import Surface

SHEET = Sheet("Clients", SheetKind.OWNERS, ("Who", "Tel"), ("name", "phone"), ())


def row(**values):
    return SheetRow(SHEET, 4, dict(values), raw=dict(values))


def making():
    return Making(None, None, Role.COORDINATOR, Ways())


# ---- the same value ---------------------------------------------------------------------------------------


@given(st.floats(1e-3, 1e9), st.floats(-0.9e-6, 0.9e-6))
def test_numbers_that_differ_by_how_they_were_typed_are_the_same(number, hair):
    assert same(number, number * (1 + hair))


@given(st.floats(1.0, 1e9), st.floats(3e-6, 1.0))
def test_numbers_that_differ_by_more_are_not(number, more):
    assert not same(number, number * (1 + more))
    assert not same(number * (1 + more), number)


@pytest.mark.parametrize(
    ("new", "old", "alike"),
    [
        (None, None, True),
        (None, "", True),
        ("", None, True),
        (None, 0.0, False),
        ("", 0, False),
        (0.0, 0, True),
        (1, 1.0, True),
        (" Yard ", "Yard", True),
        ("Yard", "yard", False),
        (True, True, True),
        (True, False, False),
        (True, 1.0, False),
        (Decimal("1.50"), Decimal("1.5"), True),
        (Decimal("1.50"), Decimal("1.51"), False),
        (date(2024, 6, 3), date(2024, 6, 3), True),
        (date(2024, 6, 3), date(2024, 6, 4), False),
    ],
)
def test_what_is_the_same_and_what_is_not(new, old, alike):
    assert same(new, old) is alike


# ---- what is told -----------------------------------------------------------------------------------------


def test_a_refusal_is_told_beside_the_column_that_the_sheet_calls_it():
    error = ValidationError({"name": ["Too long. Shorten it."], "phone": ["Odd."], "email": ["No."]})

    told = [(r.column, r.value, r.what, r.remedy) for r in remarks_of(row(name="x", phone="1"), error)]

    assert told == [
        ("Who", "x", "Too long", "Shorten it."),
        ("Tel", "1", "Odd", CORRECT),
        ("E-mail for reports", "", "No", CORRECT),
    ]


@pytest.mark.parametrize(
    "error",
    [
        ValidationError("Not now. Wait."),
        NotAllowedNowError("Not now. Wait."),
        ValidationError(["Not now. Wait."]),
    ],
)
def test_a_refusal_of_the_whole_row_names_no_column(error):
    (remark,) = remarks_of(row(name="x"), error)

    assert (remark.sheet, remark.row, remark.column, remark.value) == ("Clients", 4, "", "")
    assert (remark.what, remark.remedy) == ("Not now", "Wait.")


def test_what_a_form_calls_otherwise_is_told_beside_the_columns_of_sheets():
    tests = Sheet("Tests", SheetKind.TESTS, ("Where",), ("location",), ())
    told = remarks_of(SheetRow(tests, 2, raw={"location": "A1"}), ValidationError({"spot": "Too long."}))

    assert [(remark.column, remark.value) for remark in told] == [("Where", "A1")]


def test_numbers_of_a_message_are_filled_in():
    error = ValidationError(
        {"name": ValidationError("%(count)d of them. Leave out some.", params={"count": 3})}
    )

    assert [remark.what for remark in remarks_of(row(), error)] == ["3 of them"]


class OwnerLike(forms.Form):
    name = forms.CharField()
    phone = forms.CharField(required=False, max_length=3)
    keep = forms.BooleanField(required=False, initial=True)
    since = forms.DateField(required=False, initial=date(2024, 6, 3))
    hidden = forms.CharField(required=False, initial="secret", widget=forms.HiddenInput)
    kinds = forms.MultipleChoiceField(required=False, choices=[("1", "A"), ("2", "B")], initial=[1])

    def clean(self):
        if self.cleaned_data.get("phone") == "000":
            raise ValidationError("Nobody has that. Ask again.")
        return self.cleaned_data


def test_what_is_missing_is_told_once_as_missing():
    made, form = making(), OwnerLike({})

    assert not take_errors(made, row(), form)
    assert [(p.column, p.what) for p in made.problems] == [("Who", "Name is missing")]


def test_a_cell_that_could_not_be_read_is_not_told_to_be_missing_too():
    made, broken = making(), row()
    broken.problems.append(broken.remark("name", "the sheet has an error here"))

    assert not take_errors(made, broken, OwnerLike({}))
    assert made.problems == []


def test_beside_a_cell_that_could_not_be_read_other_cells_are_still_told():
    made, broken = making(), row(phone="12345")
    broken.problems.append(broken.remark("name", "the sheet has an error here"))

    take_errors(made, broken, OwnerLike({"phone": "12345"}))

    assert [problem.column for problem in made.problems] == ["Tel"]


def test_rules_between_cells_are_not_asked_of_a_row_that_is_there():
    sent = {"name": "A", "phone": "000"}
    first, again = making(), making()

    assert not take_errors(first, row(**sent), OwnerLike(sent))
    assert take_errors(again, row(**sent), OwnerLike(sent), fields_alone=True)
    assert [problem.what for problem in first.problems] == ["Nobody has that"]
    assert again.problems == []


def test_a_form_begins_as_a_browser_would_send_it():
    assert starts_of(OwnerLike()) == {"keep": "on", "since": "2024-06-03", "kinds": ["1"]}


def test_what_the_sheet_says_comes_before_what_the_form_begins_with_and_a_no_takes_the_tick_off():
    sent = typed(OwnerLike(), row(name="A", keep=OFF, since="2025-01-01", colour="red"), phone="1")

    assert sent == {"name": "A", "since": "2025-01-01", "kinds": ["1"], "phone": "1"}


def test_where_the_sheet_says_something_else_than_is_stored_both_are_told():
    stored = Owner(name="Harbour Homes", phone="")

    told = differences(row(name="Harbour", phone="1"), {"name": "Harbour", "phone": "1"}, stored)

    assert [(r.column, r.value, r.what) for r in told] == [
        ("Who", "Harbour", "“Harbour Homes” is stored"),
        ("Tel", "1", "nothing is stored"),
    ]
    assert all("Nothing is overwritten" in remark.remedy for remark in told)


def test_columns_that_the_sheet_has_not_do_not_differ():
    assert differences(row(name="A"), {"name": "A", "phone": "1"}, Owner(name="A")) == []


def test_a_stored_number_is_told_in_six_figures_and_a_choice_by_its_label():
    sheet = Sheet("s", SheetKind.SURFACES, ("Area", "Type"), ("area_m2", "surface_type"), ())
    given = SheetRow(sheet, 2, {"area_m2": "1", "surface_type": "clay"})
    stored = Surface(area_m2=1234.56789, surface_type="picp")

    told = differences(given, {"area_m2": 1.0, "surface_type": "clay"}, stored)

    label = stored.get_surface_type_display()
    assert [remark.what for remark in told] == ["1234.57 is stored", f"“{label}” is stored"]


# ---- what is kept of it -------------------------------------------------------------------------------------


def test_of_many_remarks_the_first_are_kept_and_all_are_counted():
    made = making()
    for number in range(MOST_KEPT + 7):
        made.refuse(SheetRow(SHEET, number), NotAllowedNowError("No."))
        made.notices.append(SheetRow(SHEET, number).remark("", "so"))

    report = made.report()

    assert (len(report.problems), report.problem_count) == (MOST_KEPT, MOST_KEPT + 7)
    assert (len(report.notices), report.notice_count) == (MOST_KEPT, MOST_KEPT + 7)
    assert report.problems[-1].row == MOST_KEPT - 1


def test_rows_are_counted_by_kind_in_the_order_of_the_sheets():
    made = making()
    made.add(SheetKind.SURFACES, row(), object())
    made.is_there(SheetKind.OWNERS, row())
    made.is_there(SheetKind.OWNERS, row(), [row().remark("", "a"), row().remark("", "b")])
    made.add(SheetKind.OWNERS, row(), object())

    report = made.report([("Yard", "/yard/")])

    assert report.counts == (KindCount("owners", 1, 2, 1), KindCount("surfaces", 1, 0, 0))
    assert (report.new, report.notice_count, report.places) == (2, 2, (("Yard", "/yard/"),))


def test_a_report_is_read_back_as_it_was_kept():
    made = making()
    made.refuse(row(name="x"), ValidationError({"name": "Ä. Ö."}))
    made.add(SheetKind.TESTS, row(), object())
    report = made.report([("Yard", "/yard/")])

    assert ImportReport.from_json(report.to_json()) == report


def test_the_rules_of_a_model_are_asked_again_once_the_form_is_done():
    owner = Owner(name="")
    asked = owner.full_clean

    with rules_asked_later(owner):
        owner.full_clean()  # an owner without a name and a firm is refused else

    assert owner.full_clean == asked


def test_they_are_asked_again_also_where_the_form_failed():
    owner = Owner(name="")
    with pytest.raises(ZeroDivisionError), rules_asked_later(owner):
        raise ZeroDivisionError

    assert "full_clean" not in vars(owner)
