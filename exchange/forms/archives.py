"""An archive as it is sent."""

from django import forms
from django.utils.translation import gettext_lazy as _lazy

from core.forms.once import OnceForm
from exchange.models import Restoration


class RestoreForm(OnceForm[Restoration]):
    """An archive of everything that a firm had."""

    archive = forms.FileField(
        label=_lazy("Archive (.zip)"),
        help_text=_lazy("As it was downloaded from this page of the firm that it holds."),
        widget=forms.ClearableFileInput(attrs={"accept": ".zip,application/zip"}),
        error_messages={
            "required": _lazy("Choose a file."),
            "empty": _lazy("The file is empty. Choose it again."),
        },
    )

    class Meta:
        model = Restoration
        fields: tuple[str, ...] = ()
