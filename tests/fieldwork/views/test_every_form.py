"""Every form of the table, sent by a phone with what a browser would send."""

import pytest
from django.core.files.uploadedfile import UploadedFile
from django.urls import resolve, reverse

from fieldwork.calc.forms import FIELD_FORMS
from fieldwork.models import FieldEntry
from planning.models import VisitTask
from tests.fieldwork.sendings import send
from tests.permissions import ACTORS, TABLE
from tests.test_sent_twice import FORMS, is_recording, sent_by, url_of
from tests.test_sent_twice import place as sent_twice_place

place = sent_twice_place

# What a technician may record, but not from a phone without signal.
LEFT_OUT = {
    "qa:check-create": "the office lays the checks of a surface out before anybody goes there",
    "qa:construction-open": "the same: it lays out all checks of a surface at once",
    "qa:finding-correct": "a correction starts from what is stored, which may be another by then",
    "qa:entry-correct": "the same",
    "qa:test-correct": "the same",
    "qa:sieving-correct": "the same",
    "maintenance:cleaning-correct": "the same",
    "maintenance:training-correct": "the same",
    "maintenance:training-create": "it is held indoors, with what its people sign",
    "planning:budget-plan": "it works something out and stores nothing",
    "exchange:import-list": "a table of many rows, which somebody matches and looks through as it is read",
    "reporting:message-create": "somebody waits for it: whoever writes wants to know that it went",
}
# Forms that are told of elsewhere: they change a row, so that sending them twice is another question.
ALSO = {
    "planning:task-finish": (VisitTask, {"finding": "Nothing to do."}),
    "planning:visit-tell": (None, {}),
}
SEVERAL_ROWS = {"qa:stage-record"}  # test_layer_from_a_phone.py


@pytest.fixture
def firm(furnished):
    return furnished


def test_a_technician_may_record_everything_from_a_phone_or_there_is_a_reason():
    technician = ACTORS.index("technician")
    forms = (
        {route.partition("?")[0] for route in FORMS}
        | {one for one in TABLE if is_recording(one)}
        | ALSO.keys()
    )
    allowed = {route for route in forms if TABLE[route][2][technician] == 200}

    assert allowed == FIELD_FORMS.keys() | LEFT_OUT.keys()
    assert not FIELD_FORMS.keys() & LEFT_OUT.keys()


def _sendings():
    for route, (model, fields, _) in FORMS.items():
        if route.partition("?")[0] in FIELD_FORMS:
            yield pytest.param(route, model, fields, id=route)
    for route, (model, fields) in ALSO.items():
        yield pytest.param(route, model, fields, id=route)


SENDINGS = list(_sendings())


def test_every_form_of_the_table_is_sent_below():
    assert {one.id.partition("?")[0] for one in SENDINGS} == FIELD_FORMS.keys() - SEVERAL_ROWS


@pytest.mark.parametrize(("route", "model", "fields"), SENDINGS)
def test_a_form_is_stored_from_a_phone(client, place, route, model, fields):
    client.force_login(place.firm.technician)
    sent = sent_by(place, route, fields)
    files = {name: value for name, value in sent.items() if isinstance(value, UploadedFile)}
    typed = {name: value for name, value in sent.items() if name not in files}
    before = model.objects.count() if model else 0

    answer = send(client, place.firm.technician, url_of(place, route), typed, files=files)

    assert answer.status_code == 200, answer.content
    entry = FieldEntry.objects.get(pk=answer.json()["id"])
    assert entry.row_pk == answer.json()["pk"]
    if model:
        stored = model.objects.get(pk=entry.row_pk)
        assert getattr(stored, "recorded_by", place.firm.technician) == place.firm.technician
        assert model.objects.count() == before + (model is not VisitTask)
    assert resolve(answer.json()["url"].partition("#")[0]), "the phone leads people to it"


@pytest.mark.parametrize("form", FIELD_FORMS.values(), ids=FIELD_FORMS)
def test_what_a_form_names_is_there(form):
    known = {*FIELD_FORMS, ""}

    assert {form.files_to, form.parent} <= known
    assert reverse(form.route, args=["0" * 8 + "-0000-4000-8000-" + "0" * 12])
