"""Programs that call the API with the token of somebody."""

import json
from uuid import uuid4

from django.test import Client

from api.calc.scopes import Scope, ScopeSet
from core.calc.secrets import hash_of, new_secret
from tests.factories import ApiTokenFactory


class Program:
    """A program with a token. last: the answer it got last."""

    def __init__(self, token, secret, client=None):
        self.token, self.secret = token, secret
        self.client = client or Client()

    def get(self, path, **headers):
        return self.client.get(path, headers=self._fields(headers))

    def put(self, path, body, **headers):
        sent = body if isinstance(body, bytes | str) else json.dumps(body)
        fields = {"content_type": "application/json"} | {
            "content_type": headers.pop("content_type", "application/json")
        }
        return self.client.put(path, sent, headers=self._fields(headers), **fields)

    def make(self, kind, body, **headers):
        """Put under a new id; gives the id and the answer."""
        key = uuid4()
        return key, self.put(f"/api/{kind}/{key}", body, **headers)

    def _fields(self, more):
        return {"Authorization": f"Bearer {self.secret}"} | {
            name.replace("_", "-"): value for name, value in more.items()
        }


def program_of(firm, who="coordinator", *, owner=None, scopes=tuple(Scope), client=None, **changes):
    """A program that acts for somebody of a firm, or for an owner's person."""
    secret = new_secret()
    if who == "owner_person":
        owner = owner or firm.owner
    elif who == "outsider":
        changes.setdefault("organisation", firm.outsider.memberships.get().organisation)
    values = {
        "organisation": firm.organisation,
        "person": getattr(firm, who),
        "owner": owner,
        "token_hash": hash_of(secret),
        "scope_set": ScopeSet(tuple(scopes)),
    }
    return Program(ApiTokenFactory(**values | changes), secret, client)


def pointers(answer):
    """Where a problem says that something is wrong."""
    return {one.get("pointer") for one in answer.json()["errors"]}


SITE = {"name": "Harbour yard", "time_zone": "Europe/Berlin"}
SURFACE = {
    "name": "Car park",
    "surface_type": "picp",
    "area_m2": 850.0,
    "opened_on": "2021-05-12",
    "agreed_limit_mm_h": 250.0,
    "agreed_source": "Contract of 2021",
}
ROUND = {"tested_on": "2024-07-02", "hours_since_rain": 60, "air_temperature_c": 18.5}
RING = {
    "spot": "By the gate",
    "readings": {
        "prewet_mass": 3.6,
        "prewet_time_s": 40,
        "start_delay_s": 30,
        "test_mass": 18,
        "ring_diameter": 300,
        "elapsed_s": 320,
    },
    "seal": "putty",
    "ring_position": "centred on a joint",
    "made_at": "2024-07-02T09:30:00Z",
}
CLEANING = {"cleaned_on": "2024-07-01", "method": "vacuum", "price": {"amount": "320.00", "currency": "EUR"}}
INSPECTION = {"inspected_on": "2024-07-02", "all_in_order": True}
