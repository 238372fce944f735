"""What a page shows beside its form is asked for only where the page is shown."""

import pytest
from django import forms
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import ValidationError
from django.test import RequestFactory

from core.errors import NotAllowedNowError
from core.views import form_views
from core.views.form_views import Onward, correct_or_show, save_or_show, save_with_reason


class NoteForm(forms.Form):
    note = forms.CharField()


@pytest.fixture
def shown(monkeypatch):
    """Template and context of each page that was rendered."""
    pages = []
    monkeypatch.setattr(
        form_views, "render", lambda request, template, context, status: pages.append((template, context))
    )
    return pages


def sent(**fields):
    request = RequestFactory().post("/", fields)
    request.user = AnonymousUser()
    return request


def not_asked():
    raise AssertionError("The page was put together though nobody sees it.")


def refuse():
    raise ValidationError("Not today.")


def test_a_saved_form_asks_nothing_for_its_page(shown):
    request = sent(note="dry")

    response = save_or_show(request, NoteForm(request.POST), lambda: "/there", "note.html", page=not_asked)

    assert response.url == "/there"
    assert shown == []


def test_a_reason_or_a_correction_asks_nothing_for_its_page_either(shown):
    request = sent(note="dry", reason="misread")

    given = save_with_reason(request, lambda reason: f"/{reason}", "void.html", page=not_asked)
    corrected = correct_or_show(
        request, NoteForm(request.POST), lambda reason: f"/{reason}", "note.html", page=not_asked
    )

    assert [given.url, corrected.url] == ["/misread"] * 2


@pytest.mark.parametrize(
    ("fields", "save"), [({}, not_asked), ({"note": "dry"}, refuse)], ids=["not valid", "refused"]
)
def test_a_form_that_comes_back_brings_its_page_asked_for_once(shown, fields, save):
    request, asked = sent(**fields), []

    def page():
        asked.append(True)
        return {"round": "of May"}

    save_or_show(request, NoteForm(request.POST), save, "note.html", page=page, surface="yard")

    ((template, context),) = shown
    assert template == "note.html"
    assert (context["round"], context["surface"]) == ("of May", "yard")
    assert context["form"].errors
    assert asked == [True]


class Listener:
    """Who sends a form for somebody and asks what came of it."""

    def __init__(self):
        self.heard = []

    def stored(self, row, url):
        self.heard.append((row, url))

    def refused(self, form, status):
        self.heard.append((dict(form.errors), status))


def told(**fields):
    request = sent(**fields)
    request.told = Listener()
    return request, request.told.heard


def test_who_listens_is_told_the_row_and_where_people_go_on(shown):
    request, heard = told(note="dry")
    row = object()

    response = save_or_show(request, NoteForm(request.POST), lambda: Onward(row, "/there"), "note.html")

    assert heard == [(row, "/there")]
    assert response.url == "/there"


def test_who_listens_is_told_what_was_refused_and_no_page_is_made(shown):
    request, heard = told(note="")

    response = save_or_show(request, NoteForm(request.POST), not_asked, "note.html", page=not_asked)

    assert heard == [({"note": ["This field is required."]}, 200)]
    assert (response.status_code, response.content, shown) == (422, b"", [])


def test_who_listens_is_told_that_it_is_not_allowed_now(shown):
    def too_late():
        raise NotAllowedNowError("It was set aside.")

    request, heard = told(note="dry")

    save_or_show(request, NoteForm(request.POST), too_late, "note.html", page=not_asked)

    assert heard == [({"__all__": ["It was set aside."]}, 409)]
