"""One web process of a server with several: run as `python -m tests.concurrency.web_process <step>`.

Prints what happened as one line of JSON.
"""

import json
import os
import sys
import time
from contextlib import suppress
from datetime import date

import django
from django.test import Client

from tests.concurrency.patience import wait_until

PASSWORD = "a-long-password-1"


class Waits:
    """Stands in front of time.sleep and adds up what the program asks of it; set up before kombu takes hold of it."""

    def __init__(self):
        self.asked_s, self._sleep = 0.0, time.sleep

    def __call__(self, seconds):
        self.asked_s += seconds
        self._sleep(seconds)


WAITS = time.sleep = Waits()


def set_up():
    """A firm with a surface, and an admin who can sign in, in the tables that there are."""
    from accounts.models import Owner, User
    from accounts.services.people import found_organisation
    from qa.models import Site, Surface

    user = User.objects.create_user("anna@firm.example", PASSWORD)
    firm = found_organisation(by=user, name="Fugenwerk", currency="EUR")
    owner = Owner.objects.create(organisation=firm, name="School trust")
    site = Site.objects.create(organisation=firm, owner=owner, name="School")
    Surface.objects.create(
        site=site,
        name="Yard",
        surface_type="picp",
        area_m2=800.0,
        opened_on=date(2020, 5, 1),
        limit_mm_h=250.0,
        limit_source="agreed",
    )


def record():
    """Sign in, record a round with a test through the pages, and open the surface's page."""
    from qa.models import InfiltrationTest, Surface

    surface, client = Surface.objects.get(), Client()
    signed_in = client.post("/sign-in/login/", {"login": "anna@firm.example", "password": PASSWORD})
    waited_before_s = WAITS.asked_s
    round_ = client.post(
        f"/surfaces/{surface.pk}/rounds/new/", {"tested_on": "2024-06-01", "purpose": "routine"}
    )
    test = {
        "spot": "by the gate",
        "unit_system": "si",
        "prewet_mass": "3.6",
        "prewet_time_s": "45",
        "test_mass": "3.6",
        "ring_diameter": "300",
        "elapsed_s": "150",
        "ended": "drained",
        "rewetted": "on",
    }
    answer = client.post(f"{round_.url}tests/new/", test)
    page = client.get(surface.get_absolute_url())
    return {
        "signed_in": signed_in.status_code,
        "answers": [round_.status_code, answer.status_code, page.status_code],
        "waited_s": WAITS.asked_s - waited_before_s,
        "tests": InfiltrationTest.objects.count(),
    } | state()


def wait():
    """Watch the rows until the forecast is that of the newest record, or the patience ends."""
    with suppress(TimeoutError):
        wait_until(lambda: state()["fresh"], "The forecast")
    return state()


def state():
    """Whether the surface has a forecast of its newest record, and who made it."""
    from maintenance.models import Forecast
    from qa.models import Surface

    surface = Surface.objects.get()
    forecast = Forecast.objects.filter(surface=surface).first()
    fresh = bool(forecast and forecast.made_from_version == surface.record_version)
    return {"fresh": fresh, "version": surface.record_version, "rate": forecast and forecast.rate_now_mm_h}


def empty():
    """A firm with a surface of which nothing is recorded."""
    set_up()
    return {}


def program():
    """The same, and a token with which a program may record."""
    from accounts.calc.roles import Role
    from accounts.models import User
    from api.calc.scopes import Scope
    from api.selectors.tokens import Place
    from api.services.tokens import make_token
    from qa.models import Surface

    set_up()
    surface, person = Surface.objects.get(), User.objects.get()
    place = Place(surface.organisation, Role.ADMIN)
    made = make_token(place=place, person=person, name="Meter", scopes=list(Scope), days=30)
    return {"secret": made.secret, "surface": str(surface.pk)}


def alone():
    """Nothing runs but this process."""
    set_up()
    return {"alone": record()}


def together():
    """Broker and worker run. First the periodic sweep, then another test."""
    from core.tasks import sweep

    sweep.delay()
    caught_up = wait()
    recorded = record()
    return {"caught_up": caught_up, "together": recorded, "kept_up": wait()}


if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    django.setup()
    steps = {"empty": empty, "program": program, "alone": alone, "together": together}
    print(json.dumps(steps[sys.argv[1]]()))  # noqa: T201
