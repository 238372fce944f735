"""Sheets, reports and archives for people who read French."""

import json
from datetime import date
from io import BytesIO

import pytest
from django.urls import resolve, reverse
from django.utils.timezone import now
from django.utils.translation import override

from core.calc.units import UnitSystem
from core.services import jobs
from exchange.calc.cells import read_cell
from exchange.calc.columns import Cell
from exchange.calc.example import header
from exchange.calc.french_words import HEADERS, SHEETS
from exchange.calc.headers import suggest_columns, suggest_kind
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.reading import read_file
from exchange.calc.tongues import in_every_language
from exchange.calc.ways import DecimalMark, UnreadableCellError, Ways
from exchange.models import DataImport
from exchange.selectors.tables import stored_tables
from qa.models import InfiltrationTest, Layer, Location, Surface
from tests.conftest import new_firm
from tests.exchange.archives import archive_of, parts_of
from tests.exchange.books import xlsx
from tests.exchange.sheets import example_sheets, sheet, taken_in
from tests.exchange.views.test_imports import look_through, send

LANGUAGES = ("en-gb", "fr")
FRENCH = Ways(decimals=DecimalMark.COMMA)
IN_EACH = pytest.mark.parametrize("reader", LANGUAGES)
SURFACES = (
    [
        "Maître d'ouvrage",
        "Site",
        "Nom",
        "Type de revêtement",
        "Surface (m²)",
        "Mise en service le",
        "Trafic",
        "Arbres",
        "Seuil (mm/h)",
        "Où il est convenu",
    ],
    [
        "Ville-Neuve",
        "Cour du Port",
        "Parking",
        "Enrobé drainant",
        "1 234,5",
        "12 févr. 2021",
        "Poids lourds",
        "oui",
        "250,5",
        "Contrat",
    ],
)


def column(kind, key):
    return KINDS[kind].by_key[key]


@IN_EACH
@pytest.mark.parametrize("written", LANGUAGES)
@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize("kind", SheetKind)
def test_every_column_and_sheet_is_found_by_its_name_in_either_language(kind, system, written, reader):
    columns = KINDS[kind].columns
    with override(written):
        headers, title = [header(each, system) for each in columns], kind.label

    with override(reader):
        assert suggest_columns(kind, headers) == tuple(each.key for each in columns)
        assert suggest_kind(title, ()) is kind


@pytest.mark.parametrize("kind", SheetKind)
def test_what_else_people_write_in_french_leads_to_its_column(kind):
    """But for words that are the name of another column, which comes first."""
    named = set().union(*in_every_language(lambda: {each.said.casefold() for each in KINDS[kind].columns}))
    words = [(key, word) for key, said in HEADERS[kind.value].items() for word in said]

    assert {key for key, _ in words} <= KINDS[kind].by_key.keys()
    assert {(key, word): suggest_columns(kind, [word])[0] for key, word in words if word not in named} == {
        (key, word): key for key, word in words if word not in named
    }
    assert [suggest_kind(name, ()) for name in SHEETS[kind.value]] == [kind] * len(SHEETS[kind.value])


CHOICES = [(kind, each.key) for kind in SheetKind for each in KINDS[kind].columns if each.cell is Cell.CHOICE]


@IN_EACH
@pytest.mark.parametrize(("kind", "key"), CHOICES)
def test_every_choice_is_read_by_its_name_in_either_language(kind, key, reader):
    asked = column(kind, key)
    with override(reader):
        for labels in in_every_language(lambda: asked.choices_said):
            assert {value: read_cell(said, asked, Ways()).text for value, said in labels.items()} == {
                value: value for value in labels
            }
        for word, value in asked.other_values.items():
            assert value in asked.choices
            assert read_cell(word, asked, Ways()).text in asked.choices


@pytest.mark.parametrize(
    ("kind", "key", "cell", "read"),
    [
        (SheetKind.SURFACES, "surface_type", "Enrobe drainant", "porous_asphalt"),
        (SheetKind.SURFACES, "area_m2", "1 234,5 m²", "1234.5"),
        (SheetKind.SURFACES, "opened_on", "1er août 2021", "2021-08-01"),
        (SheetKind.SURFACES, "opened_on", "le 3 décembre 2021", "2021-12-03"),
        (SheetKind.SURFACES, "opened_on", "12/02/2021 à 10h30", "2021-02-12"),
        (SheetKind.SITES, "frost_months", "déc., janv., févr", ["12", "1", "2"]),
        (SheetKind.SITES, "leaf_fall_months", "octobre ; novembre", ["10", "11"]),
        (SheetKind.SITES, "closed_weekdays", "sam., dimanche", ["6", "7"]),
        (SheetKind.SITES, "works_from", "7 h 30", "07:30"),
        (SheetKind.SURFACES, "trees", "Oui", "on"),
        (SheetKind.LAYERS, "kind", "Couche de fondation", "subbase"),
        (SheetKind.CLEANINGS, "cost", "1 420,50 €", "1420.50"),
        (SheetKind.TESTS, "elapsed_s", "5,5 minutes", "330"),
    ],
)
@IN_EACH
def test_what_people_write_in_french_is_read(kind, key, cell, read, reader):
    with override(reader):
        assert read_cell(cell, column(kind, key), FRENCH).text == read


def test_more_than_a_time_is_read_in_french():
    reading = read_cell("plus de 1 800", column(SheetKind.TESTS, "elapsed_s"), FRENCH)

    assert (float(reading.text), reading.over) == (1800.0, True)


def test_two_months_that_begin_alike_are_not_guessed():
    with pytest.raises(UnreadableCellError):
        read_cell("jui", column(SheetKind.SITES, "frost_months"), FRENCH)


def test_what_cannot_be_read_is_told_in_french_with_a_decimal_comma():
    area = column(SheetKind.SURFACES, "area_m2")
    with override("fr"):
        with pytest.raises(UnreadableCellError) as told:
            read_cell("beaucoup", area, FRENCH)
        reading = read_cell("1,5 ha", area, FRENCH)
        share = read_cell(0.4, column(SheetKind.SURFACES, "subgrade_slope_percent"), FRENCH)

    assert str(told.value) == "Aire\u00a0: ce n’est pas un nombre"
    assert told.value.remedy == "Écrivez un nombre ou videz la cellule."
    assert reading.told == "1,5 ha est enregistré comme 15000 m²"
    assert share.told.startswith("0,4 est lu comme 0,4\u00a0%")


def figures(firm):
    """What an import stored, without the names that are in a language."""
    mine = {"surface__site__organisation": firm.organisation}
    surfaces = Surface.objects.filter(site__organisation=firm.organisation).exclude(pk=firm.surface.pk)
    tests = InfiltrationTest.objects.filter(round__surface__in=surfaces)
    return (
        sorted(
            surfaces.values_list(
                "area_m2",
                "surface_type",
                "traffic",
                "opened_on",
                "trees",
                "agreed_limit_mm_h",
                "joint_width_mm",
            )
        ),
        sorted(
            Layer.objects.filter(**mine, surface__in=surfaces).values_list("kind", "thickness_mm", "porosity")
        ),
        sorted(Location.objects.filter(surface__in=surfaces).values_list("label", "zone")),
        sorted(
            tests.values_list(
                "method", "elapsed_s", "ended", "test_mass", "round__tested_on", "round__purpose"
            )
        ),
        sorted(str((site.frost_months, site.leaf_fall_months)) for site in {each.site for each in surfaces}),
    )


def worked_on(row):
    """An import after its job, which runs in the language of the server."""
    with override("en-gb"):
        jobs.run("exchange.DataImport", row.pk)
    row.refresh_from_db()
    return row


@pytest.fixture
def reader(client, firm, monkeypatch):
    """Somebody of the firm who reads French. Files are read in this process, which takes less time."""
    monkeypatch.setattr("exchange.services.files.read_apart", read_file)
    firm.coordinator.language = "fr"
    firm.coordinator.save(update_fields=["language"])
    client.force_login(firm.coordinator)
    return firm.coordinator


def sent(client, content):
    file = BytesIO(content)
    file.name = "classeur.xlsx"
    answer = send(client, file)
    assert answer.status_code == 302
    row = DataImport.objects.get(pk=resolve(answer.url).kwargs["pk"])
    look_through(client, row)
    return worked_on(row)


@pytest.mark.django_db
def test_the_sample_is_in_the_language_of_who_asks_and_comes_back_the_same(client, firm, reader):
    other = new_firm()
    taken_in(other, *example_sheets())
    sample = b"".join(client.get(reverse("exchange:import-sample")).streaming_content)

    titles = [title for title, _ in read_file("classeur.xlsx", sample)]
    row = sent(client, sample)
    assert [(problem.what, problem.value) for problem in row.report.problems] == []
    client.post(reverse("exchange:import-store", args=[row.pk]))

    assert worked_on(row).is_stored
    assert titles[:5] == ["Lisez-moi", "Colonnes", "Maîtres d’ouvrage", "Sites", "Surfaces"]
    assert figures(firm) == figures(other)
    assert Surface.objects.filter(site__organisation=firm.organisation, name="Cour de récréation").exists()


@pytest.mark.django_db
def test_a_look_through_sheets_is_told_in_the_language_of_who_sent_them(client, firm, reader):
    headers, values = SURFACES
    wrong = [*values[:4], "beaucoup", *values[5:]]

    row = sent(client, xlsx(Surfaces=[headers, wrong]))
    page = client.get(row.get_absolute_url()).content.decode()
    listed = b"".join(
        client.get(reverse("exchange:import-remarks", args=[row.pk])).streaming_content
    ).decode()

    (problem,) = row.report.problems
    assert (problem.column, problem.what) == ("Surface (m²)", "Aire\u00a0: ce n’est pas un nombre")
    assert "1 problème trouvé." in page
    assert listed.splitlines()[0] == "Feuille,Ligne,Colonne,Valeur,Ce qui ne va pas,Que faire"


@pytest.mark.django_db
def test_a_list_of_surfaces_in_french_is_taken_in(firm):
    headers, row = SURFACES

    making = taken_in(firm, sheet(SheetKind.SURFACES, headers, row), ways=FRENCH)

    assert making.problems == []
    surface = Surface.objects.get(name="Parking")
    assert (str(surface.site.owner), surface.area_m2, surface.opened_on) == (
        "Ville-Neuve",
        1234.5,
        date(2021, 2, 12),
    )
    assert (surface.surface_type, surface.traffic, surface.trees) == ("porous_asphalt", 2, True)
    assert surface.agreed_limit_mm_h == 250.5


@pytest.mark.django_db
def test_a_file_that_is_none_is_refused_in_french_by_the_program_that_reads_it(client, firm):
    """It runs apart, and knows nothing of who asks."""
    firm.coordinator.language = "fr"
    firm.coordinator.save(update_fields=["language"])
    client.force_login(firm.coordinator)
    file = BytesIO(b"PK\x03\x04 nothing")
    file.name = "liste.xlsx"

    page = send(client, file).content.decode()

    assert "liste.xlsx n’est pas une feuille de calcul lisible" in page


def parts_without_times(archive):
    """What an archive holds, its spreadsheet by its own parts, but for when that was made."""
    parts = parts_of(archive)
    book = parts_of(BytesIO(parts.pop("everything.xlsx")))
    return parts | {name: part for name, part in book.items() if name != "docProps/core.xml"}


@pytest.mark.django_db
def test_an_archive_is_in_english_to_the_byte_whoever_asks_for_it(furnished, monkeypatch):
    at = now()
    monkeypatch.setattr("exchange.services.archive.now", lambda: at)
    made = {}
    for language in ("fr", "en-gb"):
        stored_tables.cache_clear()
        with override(language):
            made[language] = parts_without_times(archive_of(furnished.organisation))

    assert made["fr"] == made["en-gb"]
    described = json.loads(made["fr"]["csv/csv-metadata.json"])
    assert {"Address", "Opened on"} <= {
        column["dc:title"] for table in described["tables"] for column in table["tableSchema"]["columns"]
    }
