"""What a PUT does, whatever it stores: once under the caller's id, and never over what somebody else changed.

A record is stored once. The same content under the same id is answered as the first time, other content is refused: a
record is never overwritten. A site or a surface is changed by whoever names the ETag of what they read.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Generic, TypeVar
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from api.calc.etags import etag_of, names
from api.calc.problems import ProblemError, Wrong
from api.calc.sendings import sending_id
from api.forms.bodies import Body
from api.forms.filling import Filled, wrongs_in, wrongs_of
from api.presentation.base import content_of
from api.selectors.rows import stored
from api.selectors.tokens import Caller
from api.views.answers import Show, answered, found
from api.views.bearer import caller_of
from core.models.rows import OnceRow

R = TypeVar("R", bound=OnceRow)
B = TypeVar("B", bound=Body)

REFUSED = gettext_noop("Some entries do not hold. Nothing was stored.")
STORED_OTHERWISE = gettext_noop(
    "Another %(what)s is stored under the id %(key)s. It is never overwritten: read it, and send what differs under an "
    "id of its own, or correct the first one on its page in the web tool."
)
NO_ETAG = gettext_noop(
    "There is a %(what)s %(key)s already. Read it, and send its ETag in If-Match to change it."
)
CHANGED = gettext_noop(
    "The %(what)s %(key)s is no longer as you read it. Read it again, and send your change with its new ETag."
)
NOT_THERE = gettext_noop("There is no %(what)s %(key)s to change. Leave If-Match out to make it.")
IS_THERE = gettext_noop("There is a %(what)s %(key)s already, and If-None-Match asks that there be none.")


@dataclass(frozen=True, slots=True)
class Way(Generic[R, B]):
    """How one kind of rows is stored.

    what: its name in a sentence. begin: a row not stored yet, on what the body names; raises ProblemError where that is
    not there. fill: its form, bound. odd: what the form would pass over. save: the service, given row, form and caller.
    """

    what: str
    model: type[R]
    rows: Callable[[Caller], QuerySet[R]]
    show: Show
    begin: Callable[[Caller, B], R]
    fill: Callable[[B, R], tuple[Any, Filled]]
    save: Callable[[R, Any, Caller], Any]
    odd: Callable[[B, R, Any], list[Wrong]] = lambda body, row, form: []


def put_record(request: HttpRequest, way: Way[R, B], key: UUID, body: B) -> HttpResponse:
    """Store a record, or find it stored by an earlier sending."""
    caller = caller_of(request)
    if stored(way.model, key) is None and not _store_new(way, caller, key, body):
        return _shown(request, way, key, created=True)
    return _once_more(request, way, key, body)


def put_editable(request: HttpRequest, way: Way[R, B], key: UUID, body: B) -> HttpResponse:
    """Store a row that people change, or change it as its ETag allows."""
    caller = caller_of(request)
    if stored(way.model, key) is None:
        if "If-Match" in request.headers:
            raise ProblemError(412, _(NOT_THERE) % {"what": _(way.what), "key": key})
        if not _store_new(way, caller, key, body):
            return _shown(request, way, key, created=True)
    row = found(way.rows(caller), key)  # 404 before a condition could tell that another has one
    if "If-None-Match" in request.headers:
        raise ProblemError(412, _(IS_THERE) % {"what": _(way.what), "key": key})
    if "If-Match" in request.headers:
        _change(request, way, key, body)
        return _shown(request, way, key)
    if row.device_id != _sent_as(caller, way, key, body):
        raise ProblemError(428, _(NO_ETAG) % {"what": _(way.what), "key": key})
    return _shown(request, way, key)


def _store_new(way: Way[R, B], caller: Caller, key: UUID, body: B) -> bool:
    """Store a new row; whether another request took the id meanwhile instead."""
    row = way.begin(caller, body)
    row.pk = key
    form, made = _valid(way, row, body)
    row.device_id = _sent_as(caller, way, key, body)  # in place of the one of a page
    try:
        saved = way.save(row, form, caller)
    except (ValidationError, IntegrityError) as error:
        if stored(way.model, key) is not None:
            return True
        raise _refused(error, made) from error
    return saved is not row


def _valid(way: Way[R, B], row: R, body: B) -> tuple[BaseForm, Filled]:
    form, made = way.fill(body, row)
    wrong = [*way.odd(body, row, form), *([] if form.is_valid() else wrongs_of(form, made))]
    if wrong:
        raise ProblemError(422, _(REFUSED), wrong)
    return form, made


def _refused(error: ValidationError | IntegrityError, made: Filled) -> Exception:
    return (
        ProblemError(422, _(REFUSED), wrongs_in(error, made)) if isinstance(error, ValidationError) else error
    )


@transaction.atomic
def _change(request: HttpRequest, way: Way[R, B], key: UUID, body: B) -> None:
    """Change a row that nobody else changes meanwhile, if it is as the caller read it."""
    caller = caller_of(request)
    found(way.rows(caller), key)  # 404 before anything is locked
    row = way.rows(caller).select_for_update(of=("self",)).get(pk=key)
    if not names(request.headers["If-Match"], etag_of(content_of(way.show(row, caller.audience)))):
        raise ProblemError(412, _(CHANGED) % {"what": _(way.what), "key": key})
    form, made = _valid(way, row, body)
    try:
        way.save(row, form, caller)
    except ValidationError as error:
        raise _refused(error, made) from error


def _once_more(request: HttpRequest, way: Way[R, B], key: UUID, body: B) -> HttpResponse:
    """The answer to a repeat; other content under the id is refused, and another's row is not there."""
    caller = caller_of(request)
    if found(way.rows(caller), key).device_id != _sent_as(caller, way, key, body):
        raise ProblemError(409, _(STORED_OTHERWISE) % {"what": _(way.what), "key": key})
    return _shown(request, way, key)


def _sent_as(caller: Caller, way: Way[R, B], key: UUID, body: B) -> UUID:
    """Without the usual values: sent again, a body is the same also once there are further fields."""
    sent = body.model_dump_json(exclude_defaults=True)
    return sending_id(key, way.model._meta.label, str(caller.organisation.pk), sent)


def _shown(request: HttpRequest, way: Way[R, B], key: UUID, *, created: bool = False) -> HttpResponse:
    """The row as it is stored now."""
    shown = way.show(found(way.rows(caller_of(request)), key), caller_of(request).audience)
    if not created:
        return answered(request, shown)
    return answered(request, shown, status=201, Location=request.path)
