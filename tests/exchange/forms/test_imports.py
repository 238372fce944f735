"""What a person says that columns hold: offered, sent, refused."""

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile

from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.payloads import Matching, SheetHead, SheetHeads, SheetMatch
from exchange.forms.imports import LEFT_OUT, MatchForm, SheetFilesField
from exchange.services.files import MOST_FILES

HEADS = SheetHeads(
    (
        SheetHead("Clients", ("Who", "Tel", ""), (("A", "1", "x"), ("", "2", ""), ("B", "3", "")), 3),
        SheetHead("Yards", ("Area (sq ft)", "Mass (kg)"), (), 0),
    )
)
MATCHING = Matching((SheetMatch("owners", ("name", "phone", "")), SheetMatch("surfaces", ("area_m2", ""))))


def form(data=None):
    return MatchForm(data, heads=HEADS, matching=MATCHING)


def sent(**changes):
    usual = {"sheet0": "owners", "sheet0_0": "name", "sheet0_1": "phone", "sheet0_2": "", "sheet1": "surfaces",
             "sheet1_0": "area_m2", "sheet1_1": ""}  # fmt: skip
    return form(usual | changes)


def test_what_seems_so_is_offered_first():
    shown = form()

    assert {name: shown[name].value() for name in shown.fields} == {
        "sheet0": "owners", "sheet0_0": "name", "sheet0_1": "phone", "sheet0_2": "",
        "sheet1": "surfaces", "sheet1_0": "area_m2", "sheet1_1": "",
    }  # fmt: skip


def test_each_column_may_be_any_of_its_kind_or_left_out():
    choices = form().fields["sheet0_0"].choices

    assert choices[0] == ("", LEFT_OUT)
    assert [key for key, _ in choices[1:]] == [column.key for column in KINDS[SheetKind.OWNERS].columns]
    assert ("name", "Name (needed)") in choices
    assert ("phone", "Phone") in choices


def test_a_page_shows_the_headers_and_what_stands_below_them():
    first, second = form().parts

    assert [(header, below) for header, below, _ in first.columns] == [
        ("Who", "A, B"), ("Tel", "1, 2"), ("Column 3", "x"),
    ]  # fmt: skip
    assert (first.matched, second.matched) == (2, 1)


def test_of_a_sheet_that_is_left_out_no_columns_are_shown():
    (first, _) = sent(sheet0="").parts

    assert first.columns == ()


def test_what_is_sent_is_what_was_chosen():
    chosen = sent(sheet0_1="", sheet1="")

    assert chosen.is_valid()
    assert chosen.chosen() == Matching((SheetMatch("owners", ("name", "", "")), SheetMatch("", ("", ""))))


def test_a_sheet_is_left_out_whatever_its_columns_were_shown_to_hold():
    """A browser sends them all the same, and no page shows what would be wrong with them."""
    left = sent(sheet0="")

    assert left.is_valid()
    assert left.errors == {}
    assert left.chosen().sheets[0] == SheetMatch("", ("", "", ""))
    assert left.parts[0].matched == 0


def test_two_columns_for_one_thing_are_told_at_the_second():
    refused = sent(sheet0_1="name")

    assert not refused.is_valid()
    assert refused.errors == {"sheet0_1": ["Two columns are “Name”. Leave one of them out."]}


def test_two_columns_may_be_left_out():
    assert sent(sheet0_0="", sheet0_1="").is_valid()


def test_a_column_whose_header_says_another_kind_of_unit_is_refused():
    refused = sent(sheet1_0="", sheet1_1="area_m2")

    assert not refused.is_valid()
    assert "“Mass (kg)” says the unit kg, which is none of “Area”" in refused.errors["sheet1_1"][0]


@pytest.mark.parametrize(
    "changes", [{"sheet0": "wages"}, {"sheet0_0": "area_m2"}, {"sheet0_0": "password"}], ids=str
)
def test_what_is_no_kind_and_no_column_of_it_is_refused(changes):
    refused = sent(**changes)

    assert not refused.is_valid()
    assert changes.keys() <= refused.errors.keys()


def test_columns_of_another_kind_than_was_shown_are_asked_for_anew():
    """The page shows those of the kind that was thought; they say nothing of the one that is meant."""
    assert sent(sheet0="sites").sent_kinds() == [
        SheetMatch("sites", ()), SheetMatch("surfaces", ("area_m2", "")),
    ]  # fmt: skip
    assert sent(sheet0="").sent_kinds()[0] == SheetMatch("", ("", "", ""))
    assert sent(sheet0="wages").sent_kinds()[0] == SheetMatch("", ("", "", ""))
    assert sent(sheet0_0="area_m2").sent_kinds()[0] == SheetMatch("owners", ())


# ---- files ------------------------------------------------------------------------------------------------


def several(count, content=b"Name\n"):
    return [SimpleUploadedFile(f"{n}.csv", content) for n in range(count)]


def test_as_many_files_as_are_taken_come_in_their_order():
    assert [file.name for file in SheetFilesField().clean(several(MOST_FILES))] == [
        f"{n}.csv" for n in range(MOST_FILES)
    ]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (several(MOST_FILES + 1), f"{MOST_FILES + 1} files at once; at most {MOST_FILES}"),
        ([], "Choose a file."),
        (None, "Choose a file."),
        ([*several(1), *several(1, b"")], "empty"),
    ],
    ids=["too many", "none", "nothing", "one is empty"],
)
def test_too_many_none_or_an_empty_one_are_refused(data, said):
    with pytest.raises(ValidationError) as refused:
        SheetFilesField().clean(data)

    assert said in refused.value.messages[0]
