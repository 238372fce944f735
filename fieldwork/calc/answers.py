"""What the server answers about an entry: a status of HTTP and plain data for JSON."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from enum import StrEnum
from http import HTTPStatus
from typing import Any
from uuid import UUID

from core.calc.translation import gettext as _


class Code(StrEnum):
    """Why an entry was not stored; the phone decides by it what to do next."""

    SIGNED_OUT = "signed_out"
    OTHER_PERSON = "other_person"
    WAITS_FOR = "waits_for"
    NOT_A_FORM = "not_a_form"
    UNREADABLE = "unreadable"
    REFUSED = "refused"
    NOT_NOW = "not_now"
    NO_ROOM = "no_room"
    STORED_OTHERWISE = "stored_otherwise"
    NO_ROLE = "no_role"
    NOT_FOUND = "not_found"
    TOO_LARGE = "too_large"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class FieldError:
    """What is wrong with one field, or with the whole form where `field` is empty."""

    field: str
    label: str
    text: str


@dataclass(frozen=True, slots=True)
class Answer:
    """A status and what is said with it. was_there: what is stored was so before this sending."""

    status: int
    content: dict[str, Any]
    was_there: bool = False

    @property
    def is_stored(self) -> bool:
        """Whether the entry is stored, by this sending or by an earlier one."""
        return self.status == HTTPStatus.OK


def no(status: HTTPStatus, code: Code, text: str, **more: Any) -> Answer:
    """The entry is not stored; `text` says why and what to do."""
    return Answer(status.value, {"code": code.value, "text": text, **more})


def not_now(text: str, *, is_full: bool = False) -> Answer:
    """The state things are in does not allow it. is_full: of the server's disk, so that it may be sent again later."""
    if is_full:
        return no(HTTPStatus.INSUFFICIENT_STORAGE, Code.NO_ROOM, text)
    return no(HTTPStatus.CONFLICT, Code.NOT_NOW, text)


def stored(
    entry: UUID,
    pk: str,
    url: str,
    *,
    notes: Iterable[str],
    warnings: Iterable[str] = (),
    was_there: bool = False,
) -> Answer:
    """The entry is stored: the row's id, its page, and what the form said. warnings: those of `notes` to look at."""
    content = {"id": str(entry), "pk": pk, "url": url, "notes": list(notes), "warnings": list(warnings)}
    return Answer(HTTPStatus.OK.value, content, was_there)


def labelled(label: str, text: str) -> str:
    """What is wrong, behind the name of its field where it is of one."""
    return _("{label}: {text}").format(label=label, text=text) if label else text


def refused(errors: Iterable[FieldError], asks: Iterable[str]) -> Answer:
    """The form refused what was typed. asks: names of ticks that would let it through as it is."""
    listed = list(errors)
    return no(
        HTTPStatus.UNPROCESSABLE_ENTITY,
        Code.REFUSED,
        " ".join(labelled(one.label, one.text) for one in listed),
        errors=[asdict(one) for one in listed],
        asks=list(asks),
    )
