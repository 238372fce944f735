"""Signs of life: when something that happens by the clock, or by hand, happened last."""

from django.db import models

from core.calc.format import moment
from operations.calc.signs import SignOf


class Sign(models.Model):
    """When something happened last. One row for each that is known."""

    of = models.CharField(max_length=10, choices=SignOf.choices, primary_key=True, editable=False)
    seen_at = models.DateTimeField(editable=False)

    class Meta:
        ordering = ("of",)

    def __str__(self) -> str:
        return f"{self.get_of_display()}, {moment(self.seen_at)}"
