"""What a US contractor is shown in forms is what he would write."""

import re

import pytest

from core.calc.paving import SurfaceType, Traffic
from core.calc.units import UnitSystem
from qa.calc.band_starts import STARTS
from qa.calc.buildups import typical_layers
from qa.calc.check_model import HeaviestUse
from qa.calc.check_units import in_units
from qa.calc.checks import BOUND_BEDS, checks_for
from qa.forms.buildups import LayerForm, layer_formset, vars_of
from qa.forms.construction import CriterionForm, EntryForm, OpenRecordForm, OwnCheckForm
from qa.forms.plans import PlanForm, plan_start
from qa.forms.sievings import BandChoiceForm, band_rows
from qa.forms.surfaces import SurfaceForm
from qa.forms.water import RainForm, example_rain
from qa.models import CheckEntry, ConstructionCheck, ConstructionRecord, OwnBand, Surface
from qa.services import assembly, construction
from tests.factories import LayerFactory

# Whole numbers, fractions of a rule, or at most two decimals.
WRITTEN = re.compile(r"-?(\d[\d,\u202f]*)?( ?\d+/\d+)?(\.\d{1,2})?")
METRIC = re.compile(r"\b\d[\d.]* ?(mm|cm|m|m²|kg|kN|°C|metres)\b(?! \(No\. 200\))")


def written(text):
    return bool(WRITTEN.fullmatch(str(text)))


def shown(form):
    """Every number that a form is filled with before anybody types."""
    for bound in form:
        value = bound.value()
        if value not in (None, "", True, False) and not isinstance(value, list):
            text = bound.field.prepare_value(value)
            if re.fullmatch(r"[-\d.,/ \u202f]+", str(text)):
                yield bound.name, str(text)


@pytest.mark.parametrize("kind", SurfaceType)
@pytest.mark.parametrize("use", HeaviestUse)
@pytest.mark.parametrize("bound_bed", [False, True])
def test_every_criterion_reads_in_numbers_and_words_of_a_us_contractor(kind, use, bound_bed):
    for cbr in (None, 2.0, 0.7):
        for check in checks_for(kind, use, cbr, bound_bed):
            read = in_units(check, UnitSystem.US)
            numbers = re.findall(r"\d[\d.]*(?: \d+)?(?:/\d+)?", read.range_text)
            assert all(written(number) for number in numbers), read.range_text
            texts = f"{read.asked} {read.otherwise} {read.each} {read.range_text}"
            assert not METRIC.search(texts), texts
            assert "{" not in texts


@pytest.mark.parametrize("kind", SurfaceType)
@pytest.mark.parametrize("traffic", Traffic)
def test_every_layer_is_proposed_in_sizes_of_a_us_contractor(kind, traffic):
    surface = Surface(surface_type=kind.value, traffic=traffic, area_m2=600)

    for form in rows_of(surface, kind in BOUND_BEDS):
        for name, text in shown(form):
            assert written(text), (name, text)


def rows_of(surface, bound_bed):
    for layer in typical_layers(surface.surface_type, surface.traffic, UnitSystem.US, bound_bed=bound_bed):
        yield LayerForm(initial=vars_of(layer), units="us")


@pytest.mark.django_db
def test_every_other_form_starts_with_numbers_of_a_us_contractor(firm):
    surface = firm.surface
    assembly.open_record(
        record=ConstructionRecord(surface=surface), parts=list(assembly.PARTS), by=firm.technician, units="us"
    )
    record = surface.construction
    forms = [
        SurfaceForm(instance=Surface(site=firm.site), units="us"),
        OpenRecordForm(instance=ConstructionRecord(surface=surface)),
        OwnCheckForm(instance=ConstructionCheck(record=record), units="us"),
        RainForm(initial=example_rain(surface, "us"), units="us"),
        PlanForm(surface=surface, units="us", initial=plan_start(surface, 3, "us")),
        BandChoiceForm(surface=surface, units="us"),
        *(CriterionForm(instance=check, units="us") for check in record.checks.all()),
        *(
            EntryForm(instance=CheckEntry(construction_check=check), check=check, units="us")
            for check in record.checks.all()
        ),
        *layer_formset(surface, "us"),
    ]

    for form in forms:
        for name, text in shown(form):
            assert written(text), (type(form).__name__, name, text)
        for bound in form:
            assert not METRIC.search(f"{bound.label} {bound.help_text}"), (type(form).__name__, bound.name)


@pytest.mark.django_db
def test_a_criterion_opened_and_saved_in_inches_keeps_both_sizes(firm):
    assembly.open_record(record=ConstructionRecord(surface=firm.surface), parts=["base"], by=firm.technician)
    check = ConstructionCheck.objects.get(key="bedding_thickness")

    blank = CriterionForm(instance=check, units="us")
    assert dict(shown(blank)) == {"least": "1 1/2", "most": "2", "readings_asked": "5"}
    form = CriterionForm(
        {"least": "1 1/2", "most": "2 1/4", "readings_asked": "3", "reason": "Drawing 3"},
        instance=check,
        units="us",
    )

    assert form.is_valid(), form.errors
    assert (check.least, check.least_us) == (40.0, 1.5)
    assert check.most == pytest.approx(57.15)


@pytest.mark.django_db
@pytest.mark.parametrize(("typed", "mm"), [("2", 50.8), ("1 1/2", 38.1), ("1.5", 38.1), ("1½", 38.1)])
def test_a_reading_is_typed_as_it_is_read_off_the_rule(firm, typed, mm):
    assembly.open_record(record=ConstructionRecord(surface=firm.surface), parts=["base"], by=firm.technician)
    check = ConstructionCheck.objects.get(key="bedding_thickness")

    form = EntryForm(
        {"reading": typed, "done_on": "2024-03-01"},
        instance=CheckEntry(construction_check=check),
        check=check,
        units="us",
    )

    assert form.is_valid(), form.errors
    assert form.instance.reading == pytest.approx(mm)
    assert form.instance.units == "us"


@pytest.mark.django_db
def test_a_correction_that_leaves_the_reading_keeps_it_in_the_units_it_was_taken_in(firm):
    assembly.open_record(record=ConstructionRecord(surface=firm.surface), parts=["base"], by=firm.technician)
    check = ConstructionCheck.objects.get(key="bedding_thickness")
    initial = {"reading": 45.0, "units": "si"}
    blank = EntryForm(instance=CheckEntry(construction_check=check), check=check, units="us", initial=initial)
    as_shown = dict(shown(blank))["reading"]

    form = EntryForm(
        {"reading": as_shown, "done_on": "2024-03-01"},
        instance=CheckEntry(construction_check=check),
        check=check,
        units="us",
        initial=initial,
    )

    assert as_shown == "1.772"
    assert form.is_valid(), form.errors
    assert (form.instance.reading, form.instance.units) == (45.0, "si")


@pytest.mark.django_db
def test_a_check_of_the_job_s_own_in_inches_is_kept_in_millimetres_and_asked_in_inches(firm):
    assembly.open_record(record=ConstructionRecord(surface=firm.surface), parts=["base"], by=firm.technician)
    check = ConstructionCheck(record=firm.surface.construction)
    data = {"stage": "edge", "asked": "The kerb stands proud.", "unit": "in", "least": "0.75", "most": "1",
            "readings_asked": "1"}  # fmt: skip

    form = OwnCheckForm(data, instance=check, units="us")

    assert form.is_valid(), form.errors
    construction.add_check(check=check, by=firm.technician)
    assert (check.unit, check.least, check.least_us) == ("mm", pytest.approx(19.05), 0.75)
    assert check.as_read("us").range_text == "3/4 to 1 in"


@pytest.mark.parametrize(("key", "coarsest", "finest"), [("en13242-1", 80.0, 0.063), ("canada", 53.0, 0.075)])
def test_a_band_starts_with_the_sieves_of_its_standard_and_no_limits(key, coarsest, finest):
    rows = band_rows(OwnBand(), start=STARTS[key])

    sieves = [float(form.initial["sieve_mm"]) for form in rows if form.initial]
    assert (sieves[0], sieves[-1]) == (coarsest, finest)
    assert sieves == sorted(sieves, reverse=True)
    assert all(set(form.initial) <= {"sieve_mm"} for form in rows)


def posted(*rows):
    data = {"rows-TOTAL_FORMS": str(len(rows)), "rows-INITIAL_FORMS": str(len(rows))}
    for n, (sieve, low, high) in enumerate(rows):
        data |= {f"rows-{n}-sieve_mm": sieve, f"rows-{n}-low": low, f"rows-{n}-high": high}
    return data


def test_a_sieve_left_without_limits_is_not_of_the_band():
    rows = band_rows(OwnBand(), posted(("31.5", "", ""), ("22.4", "90", "100"), ("2", "0", "5")))

    assert rows.is_valid(), rows.errors
    assert rows.limits == [(22.4, 90.0, 100.0), (2.0, 0.0, 5.0)]


def test_half_a_limit_and_no_limit_at_all_are_refused():
    half = band_rows(OwnBand(), posted(("31.5", "90", "")))
    none = band_rows(OwnBand(), posted(("31.5", "", "")))

    assert "Enter both ends" in str(half.errors)
    assert not none.is_valid()
    assert "at least one sieve with its limits" in str(none.non_form_errors())


@pytest.mark.django_db
@pytest.mark.parametrize(("units", "name"), [("si", "19 mm clear crushed"), ("us", "3/4 in clear crushed")])
def test_a_size_is_offered_with_its_common_name(firm, units, name):
    LayerFactory(surface=firm.surface, kind="base")

    form = BandChoiceForm(surface=firm.surface, units=units)

    assert name in str(form["band"])
