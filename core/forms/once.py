"""Forms whose sending stores one row, however often it arrives."""

from typing import Any, TypeVar
from uuid import uuid4

from django import forms

from core.models.rows import AuditedRecord

R = TypeVar("R", bound=AuditedRecord)


class OnceForm(forms.ModelForm[R]):
    """A form sent twice, by a double tap or a lost answer, stores one row.

    The id is made when the form is shown and lies in the row's `device_id`, which is unique: the service finds the row
    of an earlier sending by it (`core.services.records.find_by_device_id`).
    """

    device_id = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("device_id", uuid4())

    def _post_clean(self) -> None:
        self.instance.device_id = self.cleaned_data.get("device_id")
        super()._post_clean()  # type: ignore[misc]
