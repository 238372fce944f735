"""The flow of a page with a form: valid and saved, or shown again with what was typed and why it was refused.

A service refuses in two ways. ValidationError is about what was typed, and stands beside its field. NotAllowedNowError
is about the state things are in, which nothing typed would mend: the page says so above the form and answers 409,
or 507 where the disk is full.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

from django.contrib import messages
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db.models import Model
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from core.errors import NoRoomError, NotAllowedNowError
from core.forms.fresh import held
from core.forms.parts import ReasonForm

REFUSALS = (ValidationError, NotAllowedNowError)
Refusal = ValidationError | NotAllowedNowError
CONFLICT = 409  # RFC 9110, 15.5.10: the request conflicts with the state of what it is about
NO_ROOM = 507  # RFC 4918, 11.5: the server cannot store it, which is not the fault of what was sent
UNPROCESSABLE = 422  # RFC 9110, 15.5.21: it could be read, but not done


@dataclass(frozen=True, slots=True)
class Onward:
    """A stored row, with the place to go on where that is not the row's own page."""

    row: Model
    place: Any


class Told(Protocol):
    """Who sends a form without anybody looking at the answer, and asks what came of it: `request.told`."""

    def stored(self, row: Any, url: str) -> None:
        """The row that holds what was sent, by this sending or an earlier one, and where to go on."""

    def refused(self, form: BaseForm, status: int) -> None:
        """The form with its errors, and the status that its page would have had."""


def add_refusal(form: BaseForm, error: Refusal) -> int:
    """Put a service's refusal beside the fields it names, or above the form; returns the status to answer with."""
    if isinstance(error, NotAllowedNowError):
        form.add_error(None, str(error))
        return NO_ROOM if isinstance(error, NoRoomError) else CONFLICT
    for name, errors in _by_field(error).items():
        target = name if name in form.fields else None
        for one in errors:
            form.add_error(target, one)
    return 200


def _by_field(error: ValidationError) -> dict[str, list[Any]]:
    return error.error_dict if hasattr(error, "error_dict") else {NON_FIELD_ERRORS: error.error_list}


def save_or_show(
    request: HttpRequest,
    form: BaseForm,
    save: Callable[[], Any],
    template: str,
    page: Callable[[], dict[str, Any]] = dict,
    **context: Any,
) -> HttpResponse:
    """Save a valid form and go where the saved row lives; else show the form with what was typed.

    save: gives the stored row, whose page comes next, or an address, or both as an `Onward`.
    page: gives what else the page shows and must be asked for; called only where the page is shown.
    """
    status = 200
    if form.is_valid():
        try:
            with held(form):
                saved = save()
            say_refused_files(request, form)
            return _go_on(request, saved)
        except REFUSALS as error:
            status = add_refusal(form, error)
    if told := _told(request):
        told.refused(form, status)
        return HttpResponse(status=UNPROCESSABLE)
    if form.is_bound and hasattr(form, "ask_for_files_again"):
        form.ask_for_files_again()
    return render(request, template, {"form": form, **context, **page()}, status=status)


def say_refused_files(request: HttpRequest, form: BaseForm) -> None:
    """Name each file that was left out of what is stored now."""
    for words in getattr(form, "refused_files", ()):
        messages.warning(request, _("Stored without this file: {words}").format(words=words))


def _told(request: HttpRequest) -> Told | None:
    return getattr(request, "told", None)


def _go_on(request: HttpRequest, saved: Any) -> HttpResponse:
    row, place = (saved.row, saved.place) if isinstance(saved, Onward) else (saved, saved)
    url = resolve_url(asked_place(request) or place)
    if told := _told(request):
        told.stored(row, url)
    return redirect(url)


def asked_place(request: HttpRequest) -> str:
    """Where the page that led here wants to be come back to, if that is a path of ours.

    Anything else, such as a bare word, would be taken for the name of a route once the form is stored.
    """
    place = request.GET.get("next", "")
    return place if place.startswith("/") and url_has_allowed_host_and_scheme(place, None) else ""


def save_with_reason(
    request: HttpRequest, save: Callable[[str], Any], template: str, **context: Any
) -> HttpResponse:
    """Ask for nothing but the reason, then do it; `save` is given the reason."""
    form = ReasonForm(request.POST or None)
    return save_or_show(request, form, lambda: save(form.cleaned_data["reason"]), template, **context)


def correct_or_show(
    request: HttpRequest, form: BaseForm, save: Callable[[str], Any], template: str, **context: Any
) -> HttpResponse:
    """As `save_or_show`, for a form of new values with the reason beside them; `save` is given the reason."""
    return save_or_show(
        request,
        form,
        lambda: save(request.POST.get("reason", "")),
        template,
        reason_form=ReasonForm(request.POST or None),
        **context,
    )


def do_or_say(request: HttpRequest, act: Callable[[], str], place: Any) -> HttpResponse:
    """For a button without a form: do it and say what was done, or say why it was refused; go to `place` either way.

    act: gives what is to be said once it is done.
    """
    try:
        messages.success(request, act())
    except REFUSALS as error:
        messages.error(request, " ".join(sentences_of(error)))
    return redirect(place)


def sentences_of(error: Refusal) -> list[str]:
    """A refusal as sentences."""
    return [str(error)] if isinstance(error, NotAllowedNowError) else error.messages
