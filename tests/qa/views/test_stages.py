"""All checks of a layer on one screen: half filled in is stored, one refusal stores nothing and loses nothing."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from core.errors import NotAllowedNowError
from qa.forms.stage import MOST_READINGS, READING_TOO, missing
from qa.models import Attachment, CheckEntry
from qa.selectors.construction import record_state
from qa.services import construction
from qa.services.construction import Given, RefusedEntriesError
from tests.core.services.test_uploads import photo
from tests.factories import CheckEntryFactory, ConstructionCheckFactory, ConstructionRecordFactory
from tests.pages import as_shown

pytestmark = pytest.mark.django_db

DAY = "2024-07-02"


@pytest.fixture
def layer(client, firm):
    """Three checks of the base: yes or no, a number of at most 50 mm, and one that asks for two readings."""
    record = ConstructionRecordFactory(surface=firm.surface)
    client.force_login(firm.technician)
    return [
        ConstructionCheckFactory(record=record, asked="The stone is clean."),
        ConstructionCheckFactory(record=record, asked="The base is even.", unit="mm", most=50.0),
        ConstructionCheckFactory(
            record=record, asked="Each lift is compacted.", each="lift", readings_asked=2
        ),
    ]


def url_of(layer):
    return reverse("qa:stage-record", args=[layer[0].pk])


def shown(client, layer):
    """The page's form, and what a browser would send of it untouched."""
    form = client.get(url_of(layer)).context["form"]
    data = {"done_on": DAY}
    for each in form.checks:
        for row in each.rows:
            data[f"{row.prefix}-device_id"] = str(row["device_id"].value())
    return form, data


def of(check, name, number=0):
    return f"{check.pk}-{number}-{name}"


def test_the_page_asks_for_each_finding_that_is_missing(client, layer):
    CheckEntryFactory(construction_check=layer[2], where="lift 1")
    done = ConstructionCheckFactory(record=layer[0].record, asked="The base is wet.")
    CheckEntryFactory(construction_check=done)

    form, _ = shown(client, layer)

    assert [(each.state.row, len(each.rows)) for each in form.checks] == [(check, 1) for check in layer]
    assert form["done_on"].value() == layer[0].record.surface.site.today()


def test_many_missing_readings_come_a_few_at_a_time(client, layer):
    many = ConstructionCheckFactory(record=layer[0].record, asked="Density.", readings_asked=40)

    form, _ = shown(client, layer)

    assert len(form.checks[-1].rows) == MOST_READINGS
    state = record_state(many.record)
    assert next(missing(one) for one in state.checks if one.row == many) == 40


def test_half_filled_in_is_stored_and_the_rest_stays_open(client, firm, layer):
    _, data = shown(client, layer)
    clean, even, lifts = layer
    data |= {
        of(clean, "reading"): "yes", of(even, "reading"): "60", of(even, "note"): "By the kerb",
        of(lifts, "reading", 1): "yes", of(lifts, "where", 1): "lift 2",
    }  # fmt: skip

    answer = client.post(url_of(layer), data, follow=True)

    stored = {e.construction_check: e for e in CheckEntry.objects.all()}
    assert {check: e.outcome for check, e in stored.items()} == {
        clean: "passed", even: "failed", lifts: "passed",
    }  # fmt: skip
    assert (stored[even].note, stored[lifts].where, stored[even].recorded_by) == (
        "By the kerb", "lift 2", firm.technician,
    )  # fmt: skip
    assert {str(e.done_on) for e in stored.values()} == {DAY}
    said = [str(each) for each in answer.context["messages"]]
    assert said == ["Base: 3 findings stored.", "Not as asked: The base is even."]


def test_one_refusal_stores_nothing_keeps_every_word_and_stands_beside_its_check(client, layer):
    _, data = shown(client, layer)
    clean, even, lifts = layer
    data |= {of(clean, "reading"): "yes", of(even, "reading"): "a lot", of(lifts, "note"): "Dusty"}

    answer = client.post(url_of(layer), data)

    form = answer.context["form"]
    assert not CheckEntry.objects.exists()
    assert [(row.check_row, sorted(row.errors)) for row in form.refused_rows] == [
        (even, ["reading"]), (lifts, ["reading"]),
    ]  # fmt: skip
    assert form.refused_rows[1].errors["reading"] == [READING_TOO]
    page = answer.content.decode()
    assert 'value="a lot"' in page
    assert "Dusty" in page
    assert f'href="#id_{of(even, "reading")}"' in page


def test_a_refusal_of_the_service_stands_beside_its_check_too(client, layer):
    _, data = shown(client, layer)
    data |= {of(layer[0], "reading"): "yes", "done_on": "2999-01-01"}

    answer = client.post(url_of(layer), data)

    assert "done_on" in answer.context["form"].errors
    assert not CheckEntry.objects.exists()


def test_a_page_with_nothing_filled_in_says_so(client, layer):
    _, data = shown(client, layer)

    answer = client.post(url_of(layer), data)

    assert "Nothing is filled in yet" in as_shown(answer.content.decode())


def test_what_is_sent_twice_is_stored_once_with_its_photos(client, layer):
    _, data = shown(client, layer)
    data |= {of(layer[0], "reading"): "yes", of(layer[1], "reading"): "20"}

    for _ in range(2):
        photos = [SimpleUploadedFile("a.jpg", photo()), SimpleUploadedFile("bad.jpg", b"no")]
        answer = client.post(url_of(layer), data | {of(layer[1], "photos"): photos}, follow=True)

    assert CheckEntry.objects.count() == 2
    assert [file.original_name for file in Attachment.objects.all()] == ["a.jpg"]
    assert Attachment.objects.get().entry.construction_check == layer[1]
    assert any("bad.jpg" in str(each) for each in answer.context["messages"])


def test_who_goes_back_and_fills_in_another_check_does_not_store_the_first_again(client, layer):
    _, data = shown(client, layer)
    data |= {of(layer[0], "reading"): "yes"}
    client.post(url_of(layer), data)

    client.post(url_of(layer), data | {of(layer[1], "reading"): "20"})
    assert CheckEntry.objects.count() == 2
    client.post(url_of(layer), data | {of(layer[0], "reading"): "no"})
    assert [e.outcome for e in layer[0].entries.order_by("created_at")] == ["passed", "failed"]


def test_photos_beside_a_refusal_are_to_be_chosen_again(client, layer):
    _, data = shown(client, layer)
    data |= {of(layer[0], "reading"): "yes", of(layer[1], "reading"): "x"}

    answer = client.post(url_of(layer), data | {of(layer[0], "photos"): SimpleUploadedFile("a.jpg", photo())})

    row = answer.context["form"].parts[0]
    assert "Choose the files again" in row.errors["photos"][0]
    assert not Attachment.objects.exists()


def test_a_layer_behind_a_hold_point_stores_nothing_and_says_why(client, layer):
    ConstructionCheckFactory(
        record=layer[0].record, stage="subgrade", asked="The soil was tested.", hold_point=True
    )
    _, data = shown(client, layer)

    answer = client.post(url_of(layer), data | {of(layer[0], "reading"): "yes"})

    assert not CheckEntry.objects.exists()
    assert "The soil was tested." in as_shown(answer.content.decode())
    assert "hold point stops" in answer.context["form"].refused_rows[0].errors["reading"][0]


def test_the_record_offers_the_page_where_something_is_missing_and_to_who_records(client, firm, layer):
    record_url = layer[0].record.get_absolute_url()

    assert url_of(layer) in client.get(record_url).content.decode()
    client.force_login(firm.owner_person)
    assert url_of(layer) not in client.get(record_url).content.decode()
    client.force_login(firm.technician)
    for check in layer:
        CheckEntryFactory.create_batch(check.readings_asked, construction_check=check)
    assert url_of(layer) not in client.get(record_url).content.decode()
    assert "No check of this layer waits" in as_shown(client.get(url_of(layer)).content.decode())


def test_the_service_tells_every_refusal_by_its_place(firm, layer):
    good = CheckEntry(construction_check=layer[0], done_on=DAY)
    ahead = CheckEntry(construction_check=layer[0], done_on="2999-01-01")
    for entry in (good, ahead):
        entry.clean_fields(exclude=["criterion_json", "outcome"])

    with pytest.raises(RefusedEntriesError) as told:
        construction.record_entries(
            given=[Given(good, True), Given(ahead, True), Given(good, None)], by=firm.technician
        )

    assert sorted(told.value.refused) == [1, 2]
    assert not any(isinstance(each, NotAllowedNowError) for each in told.value.refused.values())
    assert not CheckEntry.objects.exists()
