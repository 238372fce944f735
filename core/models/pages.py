"""Where the page of a row is, when that page belongs to an app above the row's model.

A surface's page shows forecasts, visits and documents, so it lives in the app that knows of all of them. The
model must not name that app's route: the app says at its start which route shows the row.
"""

from django.db import models
from django.urls import reverse

_ROUTES: dict[str, str] = {}


def register_page(model: type[models.Model], route: str) -> None:
    """Have rows of `model` shown by `route`, which takes the row's id."""
    _ROUTES[model._meta.label] = route


def page_of(row: models.Model) -> str:
    """The address of the row's page. Raises KeyError while no app offers one."""
    return reverse(_ROUTES[row._meta.label], args=[row.pk])
