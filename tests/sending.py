"""Forms as a browser would send them, and all that is stored, so that a test can say that nothing changed."""

from functools import cache
from html.parser import HTMLParser
from time import time

from allauth.account.internal.flows.login import (
    _AUTHENTICATION_METHODS_USER_SESSION_KEY,
    AUTHENTICATION_METHODS_SESSION_KEY,
)
from django.apps import apps
from django.db import connection
from django.urls import reverse

from tests.permissions import TABLE

OURS = ("accounts", "qa", "maintenance", "planning", "reporting", "fieldwork", "exchange", "api")


class _Fields(HTMLParser):
    """What a browser holds ready to send of the forms of a page that are posted."""

    def __init__(self):
        super().__init__()
        self.values, self.inside = {}, False
        self.select = self.area = None

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form":
            self.inside = (given.get("method") or "get").lower() == "post" and not given.get("action")
        name = given.get("name")
        if tag == "option" and self.select and "selected" in given:
            self.values.setdefault(self.select, []).append(given.get("value", ""))
        if not (self.inside and name):
            return
        if tag == "select":
            self.select = name
        elif tag == "textarea":
            self.area = name
            self.values[name] = [""]
        elif tag == "input" and self._is_sent(given):
            ticked = given.get("type") in ("checkbox", "radio")
            self.values.setdefault(name, []).append(given.get("value", "on" if ticked else ""))

    def _is_sent(self, given):
        kind = given.get("type", "text")
        return kind not in ("file", "submit") and (kind not in ("checkbox", "radio") or "checked" in given)

    def handle_data(self, data):
        if self.area:
            self.values[self.area][0] += data.strip()

    def handle_endtag(self, tag):
        if tag == "select":
            self.select = None
        elif tag == "textarea":
            self.area = None
        elif tag == "form":
            self.inside = False


def as_shown(page):
    """What a browser would send of the page's own form if nobody typed anything."""
    fields = _Fields()
    fields.feed(page)
    return {name: values for name, values in fields.values.items() if name != "csrfmiddlewaretoken"}


def url_of(route, rows):
    """The address of a route of the table of permissions."""
    kind = TABLE[route][1]
    return reverse(route, args=[rows[kind]] if kind else [])


def everything_stored():
    """Every row of ours with all its columns, as the database holds it, but for the moment of the last sign-in."""
    rows = set()
    with connection.cursor() as cursor:
        for table, query in _tables():
            cursor.execute(query)
            rows |= {f"{table} {row}" for row in cursor.fetchall()}
    return rows


@cache
def _tables():
    """The tables of ours, those between two models too, and what reads all of one."""
    return [
        (model._meta.db_table, f'SELECT {columns} FROM "{model._meta.db_table}"')
        for label in OURS
        for model in apps.get_app_config(label).get_models(include_auto_created=True)
        if (
            columns := ", ".join(
                f'"{f.column}"' for f in model._meta.concrete_fields if f.column != "last_login"
            )
        )
    ]


def confirm(client, at=None):
    """Have the person of a client confirmed just now who they are, as before what decides who gets in."""
    session = client.session
    now = [{"method": "password", "at": at or time(), "reauthenticated": True}]
    session[AUTHENTICATION_METHODS_SESSION_KEY] = now
    session[_AUTHENTICATION_METHODS_USER_SESSION_KEY] = session["_auth_user_id"]
    session.save()
    return client
