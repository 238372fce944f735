"""What a form's view says of an entry, where nobody looks at its page."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any

from django.contrib.messages import DEBUG
from django.contrib.messages.storage.base import BaseStorage, Message
from django.core.exceptions import NON_FIELD_ERRORS
from django.db.models import Model
from django.forms import BaseForm
from django.http import HttpResponseBase
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.forms.parts import KeepAnyway
from core.views.form_views import CONFLICT, NO_ROOM
from fieldwork.calc.answers import Answer, Code, FieldError, no, not_now, refused

NO_FORM = gettext_noop(
    "Nothing can be stored at this address as it was sent. Open the page anew on the phone, with signal."
)


class Notes(BaseStorage):
    """What a view says to the person: read by whoever called it, and kept in no session."""

    def said(self, at_least: int = DEBUG) -> list[str]:
        """The texts of a level or above."""
        return [str(note) for note in self if note.level >= at_least]

    def _get(self, *args: Any, **kwargs: Any) -> tuple[list[Message], bool]:
        return [], True

    def _store(
        self, messages: list[Message | None], response: HttpResponseBase, *args: Any, **kwargs: Any
    ) -> list[Any]:
        return []


@dataclass
class Teller:
    """Takes what `core.views.form_views` tells of a form; `answer` says why nothing was stored."""

    row: Model | None = None
    url: str = ""
    answer: Answer = field(default_factory=lambda: no(HTTPStatus.BAD_REQUEST, Code.NOT_A_FORM, _(NO_FORM)))

    def stored(self, row: Model, url: str) -> None:
        """The row that holds what was sent."""
        self.row, self.url = row, url

    def refused(self, form: BaseForm, status: int) -> None:
        """Each form with what is wrong in it; one that is sent together with others holds them as its `parts`."""
        forms = [form, *getattr(form, "parts", ())]
        errors = [error for one in forms for error in errors_of(one)]
        if status in (CONFLICT, NO_ROOM):
            self.answer = not_now(" ".join(error.text for error in errors), is_full=status == NO_ROOM)
        else:
            self.answer = refused(errors, [name for one in forms for name in ticks_asked(one)])


def errors_of(form: BaseForm) -> Iterator[FieldError]:
    """What is wrong with a form, in the order of its fields."""
    for name, texts in form.errors.items():
        sent_as = form.add_prefix(name) if name in form.fields else ""
        yield from (FieldError(sent_as, _label(form, name), str(text)) for text in texts)


def _label(form: BaseForm, name: str) -> str:
    """What stands before a reason; nothing where it is of the whole form, or beside a tick that is asked for."""
    if name in form.fields:
        return "" if isinstance(form.fields[name], KeepAnyway) else str(form[name].label)
    return "" if name == NON_FIELD_ERRORS else name


def ticks_asked(form: BaseForm) -> Iterator[str]:
    """Ticks that would let the form through as it is, where something is said beside them."""
    for name in form.errors:
        if isinstance(form.fields.get(name), KeepAnyway):
            yield form.add_prefix(name)
