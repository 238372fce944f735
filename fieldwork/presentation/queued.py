"""What a page tells the scripts of its form: that it goes through the queue of the phone, and where from there."""

from dataclasses import dataclass
from json import dumps
from uuid import UUID

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from core.calc.paving import TestMethod
from fieldwork.calc.forms import FIELD_FORMS
from fieldwork.presentation.shell import version

BLANK_TEST = "fieldwork:blank-test"
ANY_ROW = UUID(int=0)
HERE = "{here}"


@dataclass(frozen=True, slots=True)
class QueuedForm:
    """A form that goes through the queue.

    records: what it stores, in words. to: the address its entries go to, {parent} in place of the entry before; empty
    for the page's own. files_to: the address that takes its files, {row} in place of what it stored; empty where they
    go with it. only_files: it stores nothing but files. onward: words and address of the steps after it, {entry} in
    place of its id.
    """

    records: str
    to: str = ""
    files_to: str = ""
    only_files: bool = False
    onward: tuple[tuple[str, str], ...] = ()

    @property
    def version(self) -> str:
        """Of the pages and scripts that show it."""
        return version()

    @property
    def onward_json(self) -> str:
        """The steps after it, as its page carries them."""
        return dumps(self.onward)


def queued_form(request: HttpRequest) -> QueuedForm | None:
    """The form of the page that was asked for, where it records; None for every other page."""
    match = request.resolver_match
    if match is None:
        return None
    if match.view_name == BLANK_TEST:
        return _blank_test(request.GET.get("method", TestMethod.RING.value))
    form = FIELD_FORMS.get(match.view_name)
    if form is None:
        return None
    return QueuedForm(
        _(form.records),
        files_to=_pattern(form.files_to),
        only_files=match.view_name.endswith("file-create"),
        onward=_onward(match.view_name, match.kwargs.get("pk")),
    )


def _blank_test(method: str) -> QueuedForm:
    asked = method if method in TestMethod.values else TestMethod.RING.value
    to = f"{_pattern('qa:test-create').replace('{row}', '{parent}')}?method={asked}"
    return QueuedForm(
        _("Test"),
        to=to,
        files_to=_pattern(FIELD_FORMS["qa:test-create"].files_to),
        onward=((_("Next test of this round"), HERE),),
    )


def _pattern(route: str) -> str:
    """The address of a route with {row} in place of the id."""
    return reverse(route, args=[ANY_ROW]).replace(str(ANY_ROW), "{row}") if route else ""


def _onward(route: str, pk: UUID | None) -> tuple[tuple[str, str], ...]:
    if route == "qa:test-create":
        return ((_("Next test of this round"), HERE),)
    if route != "qa:round-create":
        return ()
    blank = reverse(BLANK_TEST, args=[pk])
    return tuple((method.label, f"{blank}?method={method.value}&entry={{entry}}") for method in TestMethod)
