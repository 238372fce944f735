from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from core.errors import NotAllowedNowError
from qa.calc.sieving import SieveReadings
from qa.forms.sievings import likely_band
from qa.models import Layer, OwnBand, Sieving
from qa.selectors.gradation import grading_of, surface_gradation
from qa.services.sievings import correct_sieving, record_sieving, save_own_band, void_sieving
from tests.factories import LayerFactory, OwnBandFactory, SievingFactory, SurfaceFactory, UserFactory
from tests.pages import as_shown

pytestmark = pytest.mark.django_db

BASE = SieveReadings(((37.5, 100.0), (25.0, 96.0), (12.5, 40.0), (4.75, 5.0), (2.36, 2.0)))


@pytest.fixture
def field_work(client, firm):
    client.force_login(firm.technician)
    return client


def new_sieving(**fields):
    surface = fields.pop("surface", None) or SurfaceFactory()
    return SievingFactory.build(surface=surface, **fields)


def post(field_work, firm, band="57", layer="", **fields):
    url = reverse("qa:sieving-create", args=[firm.surface.pk]) + f"?band={band}&layer={layer}"
    return field_work.post(url, {"sampled_on": "2024-04-01", "entry": "passing", **fields})


FIFTY_SEVEN = {
    "sieve_37_5": "100",
    "sieve_25": "94",
    "sieve_12_5": "40",
    "sieve_4_75": "5",
    "sieve_2_36": "2",
}


def test_percent_passing_is_checked_sieve_by_sieve(field_work, firm):
    post(field_work, firm, **FIFTY_SEVEN)

    page = as_shown(field_work.get(Sieving.objects.get().get_absolute_url()).content.decode())

    assert "Outside the band of No. 57." in page
    assert "Only 94 % pass the 25 mm (1 in) sieve; 95 to 100 % is asked. Too coarse here." in page
    assert "The sample does not meet No. 57 on 1 sieve: 25 mm (1 in)." in page


def test_masses_give_the_same_as_their_percents(field_work, firm):
    masses = {
        "sieve_37_5": "0",
        "sieve_25": "60",
        "sieve_12_5": "540",
        "sieve_4_75": "350",
        "sieve_2_36": "30",
    }

    post(field_work, firm, entry="retained", pan_g="20", **masses)

    grading = grading_of(Sieving.objects.get())
    assert [f.sieve_mm for f in grading.result.failures] == [25]
    assert grading.analysis.passing == pytest.approx({37.5: 100, 25: 94, 12.5: 40, 4.75: 5, 2.36: 2})


def test_masses_without_a_pan_are_refused(field_work, firm):
    response = post(field_work, firm, entry="retained", sieve_25="60", sieve_12_5="10")

    assert "Enter what was left in the pan" in response.content.decode()


def test_a_percent_above_100_is_refused_with_the_likely_cause(field_work, firm):
    response = post(field_work, firm, sieve_25="940", sieve_12_5="40")

    assert (
        "940 is more than 100 %. Enter percent passing, or choose mass retained" in response.content.decode()
    )


def test_a_finer_sieve_that_passes_more_is_refused(field_work, firm):
    response = post(field_work, firm, **FIFTY_SEVEN | {"sieve_12_5": "95"})

    assert (
        "The 12.5 mm (½ in) sieve passes 95 %, more than the 94 % of the 25 mm (1 in) sieve"
        in response.content.decode()
    )
    assert not Sieving.objects.exists()


def test_the_sieves_of_the_band_come_in_order_before_the_others(field_work, firm):
    url = reverse("qa:sieving-create", args=[firm.surface.pk]) + "?band=8&layer="

    page = as_shown(field_work.get(url).content.decode())

    order = [
        page.index(f'name="sieve_{name}"') for name in ("12_5", "9_5", "4_75", "2_36", "1_18", "75", "0_3")
    ]
    assert order == sorted(order)


def test_the_first_step_proposes_the_size_the_layer_names(field_work, firm):
    layer = LayerFactory(surface=firm.surface, kind="joint_fill", material="washed chippings, No. 89")

    page = field_work.get(reverse("qa:sieving-create", args=[firm.surface.pk]) + f"?layer={layer.pk}")

    assert page.context["form"].initial["band"] == "89"
    assert likely_band(Layer(material="stone, No. 8")) == "8"
    assert likely_band(None) == "57"


def test_a_layer_of_another_surface_is_refused(field_work, firm):
    response = post(field_work, firm, layer=LayerFactory().pk, **FIFTY_SEVEN)

    assert response.status_code == 200
    assert not Sieving.objects.exists()
    with pytest.raises(ValidationError, match="is not a layer of this surface"):
        record_sieving(sieving=new_sieving(layer=LayerFactory()), by=UserFactory())


def test_a_band_of_another_firm_is_refused():
    sieving = new_sieving(designation="", own_band=OwnBandFactory())

    with pytest.raises(ValidationError, match="is a band of another firm"):
        record_sieving(sieving=sieving, by=UserFactory())


def test_a_sample_of_tomorrow_is_refused():
    surface = SurfaceFactory()
    day = surface.site.today() + timedelta(days=1)

    with pytest.raises(ValidationError, match="is in the future at the site"):
        record_sieving(sieving=new_sieving(surface=surface, sampled_on=day), by=UserFactory())


def test_one_sieve_is_no_analysis():
    with pytest.raises(ValidationError, match="at least 2 sieves, got 1"):
        record_sieving(sieving=new_sieving(readings=SieveReadings(((25.0, 90.0),))), by=UserFactory())


def test_a_correction_keeps_the_old_values_readable(field_work, firm):
    old = SievingFactory(surface=firm.surface)
    values = {
        "sieve_12_5": "100",
        "sieve_9_5": "80",
        "sieve_4_75": "20",
        "sieve_2_36": "4",
        "sieve_1_18": "2",
    }
    common = {"sampled_on": "2024-04-01", "entry": "passing", "reason": "Misread."}

    field_work.post(reverse("qa:sieving-correct", args=[old.pk]), values | common)

    old.refresh_from_db()
    assert (old.state, old.readings.rows[1][1]) == ("replaced", 92.0)
    assert old.replaced_by.readings.rows[1] == (9.5, 80.0)
    assert "Misread." in field_work.get(old.replaced_by.get_absolute_url()).content.decode()


def test_a_correction_needs_a_reason():
    old = SievingFactory()

    with pytest.raises(ValidationError, match="Say why"):
        correct_sieving(old=old, new=new_sieving(surface=old.surface), by=UserFactory(), reason=" ")


def test_a_sample_set_aside_no_longer_counts():
    layer = LayerFactory(kind="base")
    sieving = SievingFactory(surface=layer.surface, layer=layer)

    void_sieving(sieving=sieving, by=UserFactory(), reason="Bag torn.")

    found = surface_gradation(layer.surface)
    assert found.layers[0].grading is None
    assert found.left_out == [sieving]


def test_a_sample_outlives_its_layer_by_name(firm):
    layer = LayerFactory(surface=firm.surface, kind="base", material="stone 57")
    sieving = record_sieving(sieving=new_sieving(surface=firm.surface, layer=layer), by=firm.technician)

    layer.delete()

    sieving.refresh_from_db()
    assert (sieving.layer, sieving.layer_name) == (None, "Base, stone 57")


def test_neighbouring_layers_are_checked_where_both_are_sieved():
    surface = SurfaceFactory()
    bedding = LayerFactory(surface=surface, kind="bedding", position=1)
    base = LayerFactory(surface=surface, kind="base", position=2)
    LayerFactory(surface=surface, kind="subbase", position=3)
    SievingFactory(surface=surface, layer=bedding)
    SievingFactory(surface=surface, layer=base, designation="57", readings=BASE)

    first, second = surface_gradation(surface).neighbours

    assert first.check.holds
    assert first.check.d50_to_d50 == pytest.approx(14.4 / 6.6, rel=0.05)
    assert second.missing == "Needs a sieve analysis of the subbase."


def test_a_geotextile_between_two_layers_answers_the_question():
    surface = SurfaceFactory()
    for position, kind in enumerate(("base", "geotextile", "subbase"), start=1):
        thickness = None if kind == "geotextile" else 100
        LayerFactory(surface=surface, kind=kind, position=position, thickness_mm=thickness, porosity=None)

    (pair,) = surface_gradation(surface).neighbours

    assert pair.missing == "A geotextile lies between; it keeps them apart."


def test_sizes_outside_the_sieves_are_left_out_and_said():
    grading = grading_of(SievingFactory(readings=SieveReadings(((12.5, 100.0), (9.5, 55.0)))))

    assert sorted(grading.sizes_mm) == [60, 85]
    assert (grading.uniformity, grading.porosity, grading.conductivity) == (None, None, None)


def test_estimates_carry_their_source_and_their_range():
    grading = grading_of(SievingFactory())

    assert "Hazen" in grading.conductivity.source
    assert "outside 0.1 to 3 mm" in grading.conductivity.warning
    assert "Vukovic" in grading.porosity.source


def test_an_own_band_is_kept_coarse_first(client, firm):
    client.force_login(firm.coordinator)
    rows = {"rows-TOTAL_FORMS": "3", "rows-INITIAL_FORMS": "0"}
    rows |= {"rows-0-sieve_mm": "4.75", "rows-0-low": "0", "rows-0-high": "10"}
    rows |= {"rows-2-sieve_mm": "26.5", "rows-2-low": "90", "rows-2-high": "100"}

    client.post(reverse("qa:own-band-create"), {"name": "Pit", "source": "sheet 4", **rows})

    assert OwnBand.objects.get().limits.rows == ((26.5, 90.0, 100.0), (4.75, 0.0, 10.0))


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ({}, "A band needs at least one sieve"),
        (
            {"rows-0-sieve_mm": "9.5", "rows-0-low": "50", "rows-0-high": "10"},
            "The least percent must not be above",
        ),
        (
            {"rows-0-sieve_mm": "9.5", "rows-0-low": "0", "rows-0-high": "10"}
            | {"rows-1-sieve_mm": "9.5", "rows-1-low": "0", "rows-1-high": "20"},
            "The 9.5 mm sieve is there twice",
        ),
    ],
)
def test_a_band_no_stone_could_meet_is_refused(client, firm, rows, message):
    client.force_login(firm.coordinator)
    data = {"name": "Pit", "source": "s", "rows-TOTAL_FORMS": "2", "rows-INITIAL_FORMS": "0", **rows}

    response = client.post(reverse("qa:own-band-create"), data)

    assert message in response.content.decode()
    assert not OwnBand.objects.exists()


def test_the_sieves_of_a_used_band_stay_as_they_are():
    band = OwnBandFactory()
    SievingFactory(designation="", own_band=band)

    with pytest.raises(NotAllowedNowError, match="Retire it and add a new one"):
        save_own_band(band=band, limits=[(25, 80, 100)])
    save_own_band(band=band, limits=[(4.75, 0, 10), (25, 90, 100)])


def test_the_gradation_page_asks_the_same_number_of_questions_for_one_and_for_six(
    field_work, firm, django_assert_num_queries
):
    url = reverse("qa:gradation-detail", args=[firm.surface.pk])

    def add(position):
        layer = LayerFactory(surface=firm.surface, kind="base", position=position)
        band = OwnBandFactory(organisation=firm.organisation)
        SievingFactory(surface=firm.surface, layer=layer, designation="", own_band=band)

    add(1)
    with CaptureQueriesContext(connection) as one:
        field_work.get(url)
    for position in range(2, 7):
        add(position)

    with django_assert_num_queries(len(one)):
        field_work.get(url)
