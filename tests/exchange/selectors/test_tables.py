"""The tables of an archive: which there are, what their columns hold, which lead where. No row is read."""

import pytest
from django.apps import apps
from django.db import models

from accounts.models import Organisation, User
from core.models.folded import FoldedText
from exchange.calc.csvw import metadata
from exchange.calc.tables import Kind
from exchange.selectors.tables import (
    NOT_EXPORTED,
    PEOPLE,
    PERSON,
    SECRET_COLUMNS,
    TO_READ_ONLY,
    all_tables,
    columns_of,
    kind_of,
    left_out,
    stored_tables,
    table_name,
)
from qa.models import InfiltrationTest, Site, TestRound

STORED = stored_tables()
BY_NAME = {stored.table.name: stored for stored in STORED}
NAMES = sorted(BY_NAME)


@pytest.mark.parametrize(
    ("model", "name"),
    [
        (Site, "site"),
        (TestRound, "test_round"),
        (InfiltrationTest, "infiltration_test"),
        (TestRound.history.model, "test_round_history"),
        (Organisation.history.model, "organisation_history"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_table_is_called_as_its_rows_are(model, name):
    assert table_name(model) == name


def test_no_two_tables_are_called_alike_nor_too_long_for_a_sheet():
    names = [table.name for table in all_tables()]

    assert len(set(names)) == len(names) == len(STORED) + 1
    assert max(map(len, names)) <= 31  # ECMA-376
    assert names[0] == PERSON


@pytest.mark.parametrize("name", NAMES)
def test_a_table_has_its_key_and_every_column_once(name):
    table = BY_NAME[name].table
    columns = [column.name for column in table.columns]

    assert len(set(columns)) == len(columns)
    assert table.key in columns
    assert [field.attname for field in BY_NAME[name].fields] == columns
    assert table.about


@pytest.mark.parametrize("name", NAMES)
def test_no_column_holds_a_secret_or_what_is_worked_out_of_others(name):
    model = BY_NAME[name].model
    left = {field.name for field in model._meta.concrete_fields} - {field.name for field in columns_of(model)}

    assert not {field.name for field in columns_of(model)} & SECRET_COLUMNS
    assert all(
        field.name in SECRET_COLUMNS or field.generated or isinstance(field, FoldedText)
        for field in model._meta.concrete_fields
        if field.name in left
    )


@pytest.mark.parametrize("name", [name for name in NAMES if not BY_NAME[name].is_history])
def test_a_column_leads_to_a_table_that_is_there_or_says_that_it_leads_nowhere(name):
    stored = BY_NAME[name]
    tables = {table.name for table in all_tables()}
    for field, column in zip(stored.fields, stored.table.columns, strict=True):
        if not field.is_relation:
            assert column.refers_to == ""
        elif field.related_model is User:
            assert column.refers_to == PERSON
        else:
            hidden = field.related_model._meta.label in NOT_EXPORTED
            assert column.refers_to == ("" if hidden else table_name(field.related_model))
            assert hidden or column.refers_to in tables


@pytest.mark.parametrize("name", [name for name in NAMES if BY_NAME[name].table.comes_back])
def test_what_comes_back_needs_nothing_that_does_not(name):
    """Else its rows could not be stored in an empty firm."""
    for column in BY_NAME[name].table.columns:
        if column.refers_to and column.refers_to != PERSON and column.required:
            assert BY_NAME[column.refers_to].table.comes_back


@pytest.mark.parametrize("name", [name for name in NAMES if BY_NAME[name].is_history])
def test_earlier_versions_lead_nowhere_since_what_they_led_to_may_be_gone(name):
    assert {column.refers_to for column in BY_NAME[name].table.columns} == {""}
    assert BY_NAME[name.removesuffix("_history")]


@pytest.mark.parametrize(
    ("field", "kind"),
    [
        (models.CharField(max_length=3), Kind.TEXT),
        (models.EmailField(), Kind.TEXT),
        (models.TextField(), Kind.TEXT),
        (models.BooleanField(), Kind.YES),
        (models.PositiveSmallIntegerField(), Kind.WHOLE),
        (models.FloatField(), Kind.NUMBER),
        (models.DecimalField(max_digits=3, decimal_places=1), Kind.MONEY),
        (models.DateField(), Kind.DAY),
        (models.DateTimeField(), Kind.INSTANT),
        (models.TimeField(), Kind.CLOCK),
        (models.UUIDField(), Kind.ID),
        (models.JSONField(), Kind.DATA),
        (models.FileField(), Kind.FILE),
        (models.ImageField(), Kind.FILE),
    ],
    ids=lambda value: type(value).__name__ if isinstance(value, models.Field) else value.name,
)
def test_what_a_column_holds_follows_from_its_field(field, kind):
    assert kind_of(field) is kind


def test_a_column_that_leads_to_a_row_holds_its_id():
    assert kind_of(Site._meta.get_field("owner")) is Kind.ID
    assert kind_of(TestRound._meta.get_field("recorded_by")) is Kind.WHOLE


def test_measured_columns_say_their_unit_and_counted_ones_none():
    surface = {column.name: column for column in BY_NAME["surface"].table.columns}

    units = {"area_m2": "m2", "limit_mm_h": "mm/h", "joint_width_mm": "mm", "record_version": "", "name": ""}
    assert {name: surface[name].unit for name in units} == units


def test_choices_are_told_with_their_labels():
    kinds = dict(next(c for c in BY_NAME["surface"].table.columns if c.name == "surface_type").choices)

    assert "picp" in kinds
    assert all(label and label != value for value, label in kinds.items())


def test_each_table_that_is_left_out_or_to_be_read_only_is_told_with_its_reason():
    told = left_out()

    assert len(told) == len(NOT_EXPORTED) + len(TO_READ_ONLY)
    assert all(name[0].isupper() and why.endswith(".") for name, why in told)
    assert {apps.get_model(label) for label in (*NOT_EXPORTED, *TO_READ_ONLY)}


def test_the_description_names_every_table_column_and_key():
    described = metadata(all_tables(), "2026-01-01T00:00:00Z", "Firm")

    assert [table["url"] for table in described["tables"]] == [f"{table.name}.csv" for table in all_tables()]
    for told, table in zip(described["tables"], all_tables(), strict=True):
        schema = told["tableSchema"]
        assert [column["name"] for column in schema["columns"]] == [column.name for column in table.columns]
        assert schema["primaryKey"] == table.key
        assert len(schema.get("foreignKeys", ())) == sum(bool(column.refers_to) for column in table.columns)
    assert PEOPLE.comes_back is False
