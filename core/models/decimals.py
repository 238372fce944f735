"""Decimal numbers as columns and as they are typed."""

from decimal import Decimal
from typing import Any, TypeVar

from django import forms
from django.core.exceptions import ValidationError
from django.db import models

Given = TypeVar("Given", contravariant=True)
Read = TypeVar("Read", covariant=True)


class DecimalEntry(forms.DecimalField):
    """A decimal number that is typed. NaN and infinity are no number, and are refused as soon as they are read.

    Python reads them too, but does not compare every NaN, as it must to tell whether a field was changed.
    """

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        number: Decimal | None = super().to_python(value)
        if number is not None and not number.is_finite():
            raise ValidationError(self.error_messages["invalid"], code="invalid", params={"value": value})
        return number


class DecimalColumn(models.DecimalField[Given, Read]):
    """A column of decimal numbers that forms ask for as a `DecimalEntry`; to migrations one like any other."""

    def formfield(self, **kwargs: Any) -> Any:
        return super().formfield(**{"form_class": DecimalEntry} | kwargs)

    def deconstruct(self) -> Any:
        name, _, args, kwargs = super().deconstruct()
        return name, "django.db.models.DecimalField", args, kwargs
