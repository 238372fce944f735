"""A column that holds other columns of its row as a search reads them."""

from typing import Any

from django.db import models

from core.calc.folding import folded


class FoldedText(models.TextField[str, str]):
    """Filled from the columns that `of` names, by every way of saving a row; never written by hand.

    It is worked out, so no form, history or archive carries it.
    """

    def __init__(self, *args: Any, of: tuple[str, ...] = (), **kwargs: Any) -> None:
        self.of = of
        kwargs |= {"default": "", "editable": False, "blank": True}
        super().__init__(*args, **kwargs)

    def deconstruct(self) -> tuple[str, str, Any, dict[str, Any]]:
        """What a migration writes of it."""
        name, path, args, kwargs = super().deconstruct()
        return name, path, args, kwargs | {"of": self.of}

    def pre_save(self, model_instance: models.Model, add: bool) -> str:
        """The columns as they are now."""
        value = folded(*(str(getattr(model_instance, name) or "") for name in self.of))
        setattr(model_instance, self.attname, value)
        return value


def fold_row(row: models.Model) -> None:
    """Fill the folded columns of a row that is stored raw, as an archive holds it."""
    for field in row._meta.concrete_fields:
        if isinstance(field, FoldedText):
            field.pre_save(row, add=True)
