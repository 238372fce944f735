"""Where the page of a row is, when that page belongs to an app above the row's model.

A surface's page shows forecasts, visits and documents, so it lives in the app that knows of all of them. The
model must not name that app's route: the app says at its start which route shows the row.
"""

from functools import cache
from uuid import UUID

from django.db import models
from django.urls import get_script_prefix, get_urlconf, reverse

_SOME_KEY = UUID(int=1)  # rows are known by UUIDs everywhere
_ROUTES: dict[str, str] = {}


def register_page(model: type[models.Model], route: str) -> None:
    """Have rows of `model` shown by `route`, which takes the row's id."""
    _ROUTES[model._meta.label] = route


def page_of(row: models.Model) -> str:
    """The address of the row's page. Raises KeyError while no app offers one."""
    before, after = _around_key(_ROUTES[row._meta.label], get_script_prefix(), get_urlconf())
    return f"{before}{row.pk}{after}"


@cache
def _around_key(route: str, prefix: str, urls: str | None) -> tuple[str, str]:
    """The address of a route around the key of a row: a list names hundreds of rows, and seeks no route for each.

    prefix, urls: under which, and by which routes, this process answers at present.
    """
    before, _, after = reverse(route, args=[_SOME_KEY]).partition(str(_SOME_KEY))
    return before, after
