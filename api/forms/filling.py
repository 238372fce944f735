"""A body as the form of people takes it, and what the form refuses as places in the body."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.forms import BaseForm
from django.utils.datastructures import MultiValueDict

from api.calc.problems import Wrong, pointer_of

Place = tuple[str | int, ...]
TICKED = "on"


@dataclass
class Filled:
    """What a form is given. places: where in the body each of its fields stands, unless under its own name."""

    data: MultiValueDict[str, str] = field(default_factory=MultiValueDict)
    places: dict[str, Place] = field(default_factory=dict)

    def put(self, name: str, value: Any, *place: str | int) -> None:
        """Fill a field in. A tick that is not set is left out, as a browser leaves it."""
        if place:
            self.places[name] = place
        if value is not False:
            self.data.setlist(name, texts_of(value))

    def pointer(self, name: str) -> str:
        """Where in the body a field of the form stands; the whole body for none."""
        if name == NON_FIELD_ERRORS:
            return "#"
        return pointer_of(self.places.get(name, (name,)))


def filled(values: Mapping[str, Any]) -> Filled:
    """A form's data from values under the names of its fields."""
    made = Filled()
    for name, value in values.items():
        made.put(name, value)
    return made


def texts_of(value: Any) -> list[str]:
    """A value as a browser would send it."""
    if value is None:
        return [""]
    if value is True:
        return [TICKED]
    if isinstance(value, list | tuple):
        return [text for one in value for text in texts_of(one)]
    if isinstance(value, date | datetime | time):
        return [value.isoformat()]
    return [repr(value) if type(value) is float else str(value)]


def wrongs_of(form: BaseForm, made: Filled) -> list[Wrong]:
    """What a form refuses, each with its place in the body and what stood there."""
    return list(_told(form.errors.as_data(), made))


def wrongs_in(error: ValidationError, made: Filled) -> list[Wrong]:
    """What a service refuses, each with its place in the body."""
    whole: dict[str, list[ValidationError]] = {NON_FIELD_ERRORS: getattr(error, "error_list", [])}
    found: dict[str, list[ValidationError]] = getattr(error, "error_dict", whole)
    return list(_told(found, made))


def _told(found: Mapping[str, Sequence[ValidationError]], made: Filled) -> Iterator[Wrong]:
    for name, errors in found.items():
        value = made.data.get(name) if name != NON_FIELD_ERRORS else None
        for one in errors:
            for message in one.messages:
                yield Wrong(str(message), made.pointer(name), value=value or None)
