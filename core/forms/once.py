"""Forms whose sending stores one row, however often it arrives."""

from collections.abc import Callable
from json import dumps
from typing import Any, TypeVar
from uuid import UUID, uuid4, uuid5

from django import forms
from django.utils.datastructures import MultiValueDict

from core.forms.fresh import FreshForm
from core.models.rows import OnceRow

R = TypeVar("R", bound=OnceRow)

NOT_TYPED = frozenset({"csrfmiddlewaretoken", "made_at", "seen"})  # differ between two sendings of the same


class OnceForm(FreshForm[R]):
    """A form sent twice, by a double tap or a lost answer, stores one row.

    The id is made when the form is shown; with what was sent it gives the row's `device_id`, which is unique: the
    service finds the row of an earlier sending by it (`core.services.records.find_by_device_id`). A form that changes
    a stored row has none; it is held to what the page showed.
    """

    device_id = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance._state.adding:
            self.initial.setdefault("device_id", uuid4())
        else:
            del self.fields["device_id"]

    def belongs_to_sending(self, name: str) -> bool:
        """Whether what was sent under this name tells one row from another: all of it, unless a form says less."""
        return True

    def _post_clean(self) -> None:
        if "device_id" in self.fields:
            self.instance.device_id = sending_id(self, self.belongs_to_sending)
        super()._post_clean()  # type: ignore[misc]


def sending_id(form: forms.BaseForm, belongs: Callable[[str], bool] = bool) -> UUID | None:
    """The same for the same form with the same entries, and for nothing else.

    Somebody who comes back to the form and sends other values, by the browser's way back, means another row: under the
    form's id alone it would be taken for the first and be lost.
    belongs: whether what was sent under a name is of this row; all of it, unless the page holds rows beside it.
    """
    made: UUID | None = form.cleaned_data.get("device_id")
    sent = [one for one in _entries(form.data) + _files(form.files) if belongs(one[0])]
    return uuid5(made, dumps(sent)) if made else None


def _entries(data: Any) -> list[Any]:
    lists = data.lists() if isinstance(data, MultiValueDict) else ((k, [str(v)]) for k, v in data.items())
    return sorted([name, values] for name, values in lists if name not in NOT_TYPED)


def _files(files: Any) -> list[Any]:
    lists = files.lists() if isinstance(files, MultiValueDict) else ()
    return sorted([name, [[one.name, one.size] for one in sent]] for name, sent in lists)
