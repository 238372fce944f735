"""Sieve analyses, own bands and soil tests as they are stored, and what is refused of them."""

from datetime import date
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from core.errors import AlreadyDoneError, NotAllowedNowError
from qa.calc.sieving import SieveReadings
from qa.calc.soil import SoilReadings, SoilRun
from qa.models import OwnBand, Sieving, SoilTest
from qa.services import sievings, soil_tests
from tests.factories import LayerFactory, OwnBandFactory, SievingFactory, SoilTestFactory, SurfaceFactory
from tests.refusals import FAR_AHEAD, refused, version_of

DAY = date(2024, 4, 1)
ROWS = ((12.5, 100.0), (9.5, 92.0), (4.75, 20.0), (2.36, 4.0), (1.18, 2.0))
MASSES = ((9.5, 100.0), (4.75, 600.0), (2.36, 200.0))
LIMITS = [(4.75, 0.0, 10.0), (25.0, 90.0, 100.0)]
RUN = SoilRun(200.0, 180.0, 60.0)


def sieving_of(surface, rows=ROWS, **fields):
    values = {"sampled_on": DAY, "readings": SieveReadings(tuple(rows))} | fields
    return Sieving(surface=surface, **{"designation": "" if "own_band" in fields else "8"} | values)


def record(firm, sieving):
    return sievings.record_sieving(sieving=sieving, by=firm.technician)


# ---- Sieve analyses ------------------------------------------------------------------------------


def test_a_sample_is_stored_with_who_entered_it_and_the_name_of_its_layer(firm):
    layer = LayerFactory(surface=firm.surface, material="washed stone")

    stored = record(firm, sieving_of(firm.surface, layer=layer))

    layer.delete()
    stored.refresh_from_db()
    assert stored.recorded_by == firm.technician
    assert (stored.layer, "washed stone" in stored.layer_name) == (None, True)


def test_a_sample_sent_twice_is_stored_once(firm):
    key = uuid4()

    first = record(firm, sieving_of(firm.surface, device_id=key))
    second = record(firm, sieving_of(firm.surface, device_id=key))

    assert first == second
    assert Sieving.objects.count() == 1


def test_a_sample_of_a_day_to_come_is_refused(firm):
    with refused(ValidationError, FAR_AHEAD, "the sample was taken", beside="sampled_on"):
        record(firm, sieving_of(firm.surface, sampled_on=FAR_AHEAD))


def test_a_layer_of_another_surface_is_named(firm):
    elsewhere = LayerFactory()

    with refused(ValidationError, elsewhere, "Choose one of its layers", beside="layer"):
        record(firm, sieving_of(firm.surface, layer=elsewhere))


def test_a_band_of_another_firm_is_named(firm):
    theirs = OwnBandFactory(name="Their fine mix")

    with refused(ValidationError, "Their fine mix is a band of another firm. Choose one of your own."):
        record(firm, sieving_of(firm.surface, own_band=theirs))


@pytest.mark.parametrize("rows", [(), ((9.5, 92.0),)])
def test_a_sample_of_fewer_than_two_sieves_is_refused_with_their_number(firm, rows):
    with refused(ValidationError, f"at least 2 sieves, got {len(rows)}. Enter more of the sheet."):
        record(firm, sieving_of(firm.surface, rows=rows))


def test_every_finer_sieve_that_passes_more_is_told(firm):
    swapped = ((12.5, 80.0), (9.5, 92.0), (4.75, 20.0), (2.36, 40.0))

    with refused(ValidationError, "passes 92 %, more than the 80 %", "passes 40 %, more than the 20 %"):
        record(firm, sieving_of(firm.surface, rows=swapped))


@pytest.mark.parametrize(
    ("rows", "fields", "words"),
    [
        (((9.5, -1.0), (4.75, 600.0)), {"pan_g": 10.0}, "-1"),
        (MASSES, {"pan_g": -4.0}, "-4"),
        (MASSES, {"pan_g": 10.0, "dry_mass_g": 500.0}, "add up to 910 g, more than the dry mass of 500 g"),
        (((9.5, 0.0), (4.75, 0.0)), {"pan_g": 0.0}, "Dry mass"),
    ],
)
def test_masses_that_cannot_be_are_told_with_their_values(firm, rows, fields, words):
    with refused(ValidationError, words):
        record(firm, sieving_of(firm.surface, rows=rows, entry="retained", **fields))


@pytest.mark.parametrize("both", [True, False])
def test_a_sample_is_held_to_exactly_one_band(firm, both):
    own = OwnBandFactory(organisation=firm.organisation) if both else None
    sample = sieving_of(firm.surface)
    sample.own_band, sample.designation = own, "8" if both else ""

    with refused(ValidationError, "Choose one band: a size designation or a band of the firm."):
        record(firm, sample)


def test_a_corrected_sample_stands_in_place_of_the_old_one_on_its_surface(firm):
    old = SievingFactory(surface=firm.surface)
    new = sieving_of(SurfaceFactory(), rows=ROWS[:4])

    sievings.correct_sieving(old=old, new=new, by=firm.technician, reason="A sieve too many.")

    old.refresh_from_db()
    assert (old.state, new.replaces, new.surface) == ("replaced", old, firm.surface)


def test_a_correction_sent_twice_gives_the_first(firm):
    old, key = SievingFactory(surface=firm.surface), uuid4()

    def correct():
        new = sieving_of(firm.surface, device_id=key)
        return sievings.correct_sieving(old=old, new=new, by=firm.technician, reason="Misread.")

    assert correct() == correct()
    assert Sieving.objects.filter(replaces=old).count() == 1


def test_a_correction_that_cannot_be_leaves_the_old_sample_counting(firm):
    old = SievingFactory(surface=firm.surface)

    with refused(ValidationError, "at least 2 sieves"):
        new = sieving_of(firm.surface, rows=ROWS[:1])
        sievings.correct_sieving(old=old, new=new, by=firm.technician, reason="Misread.")


def test_of_two_corrections_of_a_sample_the_second_is_told(firm):
    sample = SievingFactory(surface=firm.surface)
    second = Sieving.objects.get(pk=sample.pk)
    sievings.correct_sieving(old=sample, new=sieving_of(firm.surface), by=firm.technician, reason="Misread.")

    with refused(AlreadyDoneError, "already replaced by a correction"):
        sievings.correct_sieving(old=second, new=sieving_of(firm.surface), by=firm.admin, reason="No.")
    with refused(AlreadyDoneError, "already replaced by a correction"):
        sievings.void_sieving(sieving=second, by=firm.admin, reason="No.")


def test_a_sample_is_set_aside_with_a_reason_and_once(firm):
    sample = SievingFactory(surface=firm.surface)
    second = Sieving.objects.get(pk=sample.pk)

    with refused(ValidationError, "Say why", beside="reason"):
        sievings.void_sieving(sieving=sample, by=firm.technician, reason=" ")
    sievings.void_sieving(sieving=sample, by=firm.technician, reason="Another pile.")
    with refused(AlreadyDoneError, "already set aside"):
        sievings.void_sieving(sieving=second, by=firm.admin, reason="Another pile.")


def test_what_was_sieved_says_nothing_of_how_the_surface_clogs(firm):
    before = version_of(firm.surface)

    record(firm, sieving_of(firm.surface))

    assert version_of(firm.surface) == before


# ---- Own bands -----------------------------------------------------------------------------------


def band_of(firm, **fields):
    return OwnBand(organisation=firm.organisation, **{"name": "Pit 4", "source": "Pit sheet"} | fields)


def test_an_own_band_is_kept_coarse_first(firm):
    stored = sievings.save_own_band(band=band_of(firm), limits=LIMITS)

    assert [row[0] for row in OwnBand.objects.get(pk=stored.pk).limits.rows] == [25.0, 4.75]


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ([], "The band Pit 4 has no sieves. Enter at least one."),
        ([(4.75, 20.0, 10.0)], "goes from 20 to 10 %. Enter the lower percent first"),
        ([(4.75, -1.0, 10.0)], "goes from -1 to 10 %"),
        ([(4.75, 10.0, 101.0)], "goes from 10 to 101 %"),
        ([(0.0, 0.0, 10.0)], "Enter the opening of the sieve."),
    ],
)
def test_a_band_that_no_stone_could_meet_is_told_with_its_sieve(firm, limits, words):
    with refused(ValidationError, words):
        sievings.save_own_band(band=band_of(firm), limits=limits)


def test_a_band_has_a_name_of_its_own_within_the_firm(firm):
    OwnBandFactory(organisation=firm.organisation, name="Pit 4")
    OwnBandFactory(name="Pit 5")

    with refused(ValidationError, "already has a band of this name. Tell them apart."):
        sievings.save_own_band(band=band_of(firm), limits=LIMITS)
    assert sievings.save_own_band(band=band_of(firm, name="Pit 5"), limits=LIMITS).name == "Pit 5"


def test_a_band_that_samples_were_held_to_keeps_its_sieves(firm):
    band = OwnBandFactory(organisation=firm.organisation, name="Pit 4")
    for _ in range(2):
        SievingFactory(surface=firm.surface, own_band=band, designation="")

    with refused(NotAllowedNowError, "2 sample(s) were checked against Pit 4", "Retire it and add a new one"):
        sievings.save_own_band(band=band, limits=[(25.0, 80.0, 100.0)])


def test_a_band_in_use_may_still_be_called_otherwise(firm):
    band = OwnBandFactory(organisation=firm.organisation)
    SievingFactory(surface=firm.surface, own_band=band, designation="")
    band.name = "Pit 4, east face"

    sievings.save_own_band(band=band, limits=list(band.limits.rows))

    assert OwnBand.objects.get(pk=band.pk).name == "Pit 4, east face"


def test_a_retired_band_stays_with_its_samples_and_comes_back(firm):
    band = OwnBandFactory(organisation=firm.organisation)
    sample = SievingFactory(surface=firm.surface, own_band=band, designation="")

    sievings.retire_own_band(band=band)
    offered = list(OwnBand.objects.of_organisation(firm.organisation).offered())
    sievings.retire_own_band(band=band, retired=False)

    sample.refresh_from_db()
    assert (offered, sample.own_band) == ([], band)
    assert list(OwnBand.objects.of_organisation(firm.organisation).offered()) == [band]


# ---- Soil tests ----------------------------------------------------------------------------------


def soil_test_of(surface, *runs, **fields):
    values = {"tested_on": DAY, "place": "North corner", "readings": SoilReadings(runs or (RUN,))}
    return SoilTest(surface=surface, **values | fields)


def record_soil(firm, test):
    return soil_tests.record_soil_test(test=test, by=firm.technician)


def test_a_soil_test_is_stored_once_with_its_place_in_single_blanks(firm):
    key = uuid4()

    first = record_soil(firm, soil_test_of(firm.surface, place="  North   corner ", device_id=key))
    second = record_soil(firm, soil_test_of(firm.surface, device_id=key))

    assert (first.place, first.recorded_by) == ("North corner", firm.technician)
    assert second == first


def test_a_soil_test_of_a_day_to_come_is_refused(firm):
    with refused(ValidationError, FAR_AHEAD, "the day of the test", beside="tested_on"):
        record_soil(firm, soil_test_of(firm.surface, tested_on=FAR_AHEAD))


@pytest.mark.parametrize(
    ("sides", "missing"),
    [
        ({}, {"pit_length_mm", "pit_width_mm"}),
        ({"pit_length_mm": 900.0}, {"pit_width_mm"}),
        ({"pit_width_mm": 900.0}, {"pit_length_mm"}),
    ],
)
def test_a_pit_needs_both_sides_of_its_floor(firm, sides, missing):
    with pytest.raises(ValidationError) as refusal:
        record_soil(firm, soil_test_of(firm.surface, method="pit", **sides))

    assert set(refusal.value.message_dict) == missing
    assert "Enter the floor of the pit" in str(refusal.value)
    assert not SoilTest.objects.exists()


@pytest.mark.parametrize(
    ("run", "words"),
    [
        (SoilRun(180.0, 200.0, 60.0), "The water rose from 180 to 200 mm"),
        (SoilRun(200.0, 180.0, 0.0), "Enter the minutes between the two levels."),
        (SoilRun(200.0, -3.0, 60.0), "-3"),
    ],
)
def test_a_run_that_cannot_be_is_told_with_its_levels(firm, run, words):
    with refused(ValidationError, words):
        record_soil(firm, soil_test_of(firm.surface, RUN, run))


def test_a_soil_test_without_a_run_is_refused(firm):
    test = soil_test_of(firm.surface)
    test.readings = SoilReadings(())

    with refused(ValidationError, "at least 1 run, got 0"):
        record_soil(firm, test)


def test_a_soil_test_is_set_aside_with_a_reason_and_once(firm):
    test = SoilTestFactory(surface=firm.surface)
    second = SoilTest.objects.get(pk=test.pk)

    with refused(ValidationError, "Say why", beside="reason"):
        soil_tests.void_soil_test(test=test, by=firm.technician, reason="")
    soil_tests.void_soil_test(test=test, by=firm.technician, reason="Frozen ground.")
    with refused(AlreadyDoneError, "already set aside"):
        soil_tests.void_soil_test(test=second, by=firm.admin, reason="Frozen.")
