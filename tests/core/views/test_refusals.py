"""How a service's refusal reaches the person: in words, with the right status, and with what was typed."""

import pytest
from django import forms
from django.contrib.messages import get_messages
from django.contrib.messages.storage.fallback import FallbackStorage
from django.core.exceptions import ValidationError
from django.urls import reverse

from core.errors import AlreadyDoneError, ImpossibleRecordError, NotAllowedNowError, OutdatedFitError
from core.views.errors import RefusalMiddleware
from core.views.form_views import add_refusal, do_or_say, save_or_show
from planning.calc.vocabulary import VisitStatus
from tests.factories import VisitFactory, VisitTaskFactory


class NoteForm(forms.Form):
    note = forms.CharField(label="Note")


def refusing(error):
    def save():
        raise error

    return save


@pytest.fixture
def posted(rf):
    request = rf.post("/", {"note": "Roots."})
    request.session = {}
    request._messages = FallbackStorage(request)
    return request


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (ValidationError("Too long."), 200),
        (NotAllowedNowError("This visit is done."), 409),
        (AlreadyDoneError("This advice is already declined."), 409),
    ],
)
def test_a_refused_form_comes_back_with_the_words_and_what_was_typed(posted, error, status):
    form = NoteForm(posted.POST)

    answer = save_or_show(posted, form, refusing(error), "parts/_form.html")

    assert answer.status_code == status
    assert (error.messages[0] if status == 200 else str(error)) in form.non_field_errors()
    assert 'value="Roots."' in answer.content.decode()


def test_a_refusal_of_a_field_stands_beside_it(posted):
    form = NoteForm(posted.POST)

    status = add_refusal(form, ValidationError({"note": "Say more."}))

    assert (status, form.errors["note"]) == (200, ["Say more."])


@pytest.mark.parametrize(
    ("error", "words"),
    [(ValidationError("Not so."), "Not so."), (NotAllowedNowError("Not now."), "Not now.")],
)
def test_a_button_without_a_form_says_why_it_was_refused(posted, error, words):
    answer = do_or_say(posted, refusing(error), "/somewhere/")

    assert (answer.status_code, answer.url) == (302, "/somewhere/")
    assert [(m.level_tag, m.message) for m in get_messages(posted)] == [("error", words)]


def test_a_button_without_a_form_says_what_was_done(posted):
    do_or_say(posted, lambda: "It is off the visit.", "/somewhere/")

    assert [(m.level_tag, m.message) for m in get_messages(posted)] == [("success", "It is off the visit.")]


@pytest.mark.parametrize(
    ("error", "heading"),
    [
        (AlreadyDoneError("This was done."), "This cannot be done now"),
        (ImpossibleRecordError("The overflow lies above the surface."), "This record cannot be worked out"),
    ],
)
def test_an_error_of_ours_that_no_view_met_is_a_page_in_words(rf, firm, error, heading):
    request = rf.get("/")
    request.user = firm.viewer

    answer = RefusalMiddleware(lambda _: None).process_exception(request, error)

    page = answer.content.decode()
    assert answer.status_code == 409
    assert heading in page
    assert str(error) in page


@pytest.mark.parametrize("error", [ValueError("a mistake"), OutdatedFitError("schema 0"), KeyError("x")])
def test_what_people_cannot_mend_is_left_to_the_servers_own_page(rf, error):
    assert RefusalMiddleware(lambda _: None).process_exception(rf.get("/"), error) is None


def test_calling_off_a_visit_that_is_done_answers_in_words_on_its_page(client, firm):
    visit = VisitFactory(organisation=firm.organisation, status=VisitStatus.DONE)
    client.force_login(firm.coordinator)

    answer = client.post(reverse("planning:visit-cancel", args=[visit.pk]), {"reason": "Rain."})

    assert answer.status_code == 409
    assert "This visit is done. Plan a new one instead." in answer.content.decode()
    assert "Rain." in answer.content.decode()


def test_a_task_finished_meanwhile_stays_and_its_page_says_so(client, firm):
    task = VisitTaskFactory(visit__organisation=firm.organisation, action="look")
    type(task).objects.filter(pk=task.pk).update(ended_at=task.created_at, outcome="done")
    client.force_login(firm.coordinator)

    page = client.post(reverse("planning:task-remove", args=[task.pk]), follow=True)

    assert "This task has ended already." in page.content.decode()
