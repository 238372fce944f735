"""Answers to what cannot be done, as RFC 9457 (Problem Details for HTTP APIs) has them.

From memory: https://www.rfc-editor.org/rfc/rfc9457; members type, title, status, detail and instance, and an extension
`errors` with a pointer (RFC 6901) to the place in the body, as the example of its section 3 has it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite
from types import MappingProxyType
from typing import Any

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import RainthroughError

MEDIA_TYPE = "application/problem+json"
LONGEST_VALUE = 200  # signs of what was sent that come back with a problem


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of problem, in English. word: names it in its type; what_to_do: the rest of its documentation."""

    word: str
    title: str
    what_to_do: str


KINDS: Mapping[int, Kind] = MappingProxyType(
    {
        400: Kind(
            "unreadable",
            gettext_noop("The request cannot be read"),
            gettext_noop("Send JSON in UTF-8, and a cursor as it was given to you."),
        ),
        401: Kind(
            "token",
            gettext_noop("No token, or one that does not count"),
            gettext_noop(
                "Send a token in the field Authorization, after the word Bearer. Make a new one where it ended."
            ),
        ),
        403: Kind(
            "not-allowed",
            gettext_noop("This token may not do that"),
            gettext_noop(
                "Its scopes or the role of its person do not reach so far. Make another token, or ask the firm's admin."
            ),
        ),
        404: Kind(
            "not-found",
            gettext_noop("There is nothing at this address"),
            gettext_noop("Check the address and the id. What belongs to others answers the same."),
        ),
        405: Kind(
            "method",
            gettext_noop("This address does not take that method"),
            gettext_noop("The field Allow names those it takes."),
        ),
        406: Kind(
            "not-acceptable", gettext_noop("JSON is all there is"), gettext_noop("Accept application/json.")
        ),
        409: Kind(
            "conflict",
            gettext_noop("It conflicts with what is stored"),
            gettext_noop(
                "Nothing was changed. Read what is stored; record what differs under an id of its own."
            ),
        ),
        412: Kind(
            "changed-since",
            gettext_noop("It was changed since you read it"),
            gettext_noop("Read it again, put your change into what you find, and send the new ETag with it."),
        ),
        413: Kind(
            "too-large", gettext_noop("The body is too large"), gettext_noop("Send one record at a time.")
        ),
        415: Kind(
            "media-type",
            gettext_noop("The body is not JSON"),
            gettext_noop("Send application/json in UTF-8."),
        ),
        422: Kind(
            "refused",
            gettext_noop("The entries do not hold"),
            gettext_noop(
                "Each entry of errors names a place in the body or a parameter, with what is wrong and what to do."
            ),
        ),
        428: Kind(
            "precondition",
            gettext_noop("The ETag is missing"),
            gettext_noop(
                "Read the row and send its ETag in If-Match, so that nobody's change is lost unseen."
            ),
        ),
        429: Kind(
            "rate",
            gettext_noop("Too many requests"),
            gettext_noop("Wait as many seconds as Retry-After says."),
        ),
        500: Kind(
            "fault",
            gettext_noop("The server failed"),
            gettext_noop(
                "Nothing was stored. Send the same again; if it fails again, tell who runs the server."
            ),
        ),
        507: Kind(
            "no-room",
            gettext_noop("The server's disk is full"),
            gettext_noop("Nothing was stored. Send the same again later."),
        ),
    }
)


@dataclass(frozen=True, slots=True)
class Wrong:
    """One thing that is wrong. pointer: where in the body, as a fragment; parameter: which one of the address."""

    detail: str
    pointer: str = ""
    parameter: str = ""
    value: Any = None

    def as_json(self) -> dict[str, Any]:
        """The members that say something."""
        members = {"detail": self.detail, "pointer": self.pointer, "parameter": self.parameter}
        said: dict[str, Any] = {name: text for name, text in members.items() if text}
        return said if self.value is None else said | {"value": short(self.value)}


class ProblemError(RainthroughError):
    """A request that is answered with a problem; the text says what is wrong, with the value, and what to do."""

    def __init__(
        self,
        status: int,
        detail: str,
        errors: Sequence[Wrong] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.status, self.detail, self.errors = status, detail, tuple(errors)
        self.headers = dict(headers or {})


@dataclass(frozen=True, slots=True)
class Problem:
    """The members of an answer. docs: the address of the page on which each kind is described."""

    status: int
    detail: str
    instance: str
    docs: str
    errors: Sequence[Wrong] = field(default_factory=tuple)

    def as_json(self) -> dict[str, Any]:
        """Plain data, as the answer holds them."""
        kind = KINDS.get(self.status)
        members: dict[str, Any] = {
            "type": f"{self.docs}#problem-{kind.word}" if kind else "about:blank",
            "title": _(kind.title) if kind else _("Not done"),
            "status": self.status,
            "detail": self.detail,
            "instance": self.instance,
        }
        return members | ({"errors": [one.as_json() for one in self.errors]} if self.errors else {})


def short(value: Any) -> Any:
    """A value as it may come back: numbers and short texts as they are, of everything else the beginning.

    JSON has no infinity (RFC 8259, section 6, from memory): it comes back as text.
    """
    if isinstance(value, int) or (isinstance(value, float) and isfinite(value)):
        return value
    text = value if isinstance(value, str) else str(value)
    return text if len(text) <= LONGEST_VALUE else f"{text[:LONGEST_VALUE]}…"


def pointer_of(places: Sequence[str | int]) -> str:
    """A place in a body as a fragment with a JSON pointer (RFC 6901, section 6): `#/runs/0/elapsed_s`."""
    parts = (str(place).replace("~", "~0").replace("/", "~1") for place in places)
    return "#" + "".join(f"/{part}" for part in parts)
