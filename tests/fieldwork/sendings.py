"""Entries as a phone sends them."""

import json
from datetime import datetime
from uuid import uuid4

from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django.urls import reverse
from django.utils.timezone import now

DEVICE = "6f1d7c1e-3c52-4b0e-9d43-1f6a1f0f6b10"


def meta_of(person, path, fields, **other):
    """What comes with an entry; fields: name to value, or to a list of values."""
    at = now().isoformat()
    listed = [
        [name, str(value)]
        for name, values in fields.items()
        for value in (values if isinstance(values, list | tuple) else [values])
    ]
    usual = {
        "path": path,
        "made_at": at,
        "sent_at": at,
        "device": DEVICE,
        "person": str(person.pk),
        "firm": "",
        "form_version": "1",
        "title": "Test at the gate",
        "about": "Yard",
        "by_clock": [],
        "known_offset_ms": None,
        "known_at": None,
        "fields": listed,
    }
    return usual | {
        name: value.isoformat() if isinstance(value, datetime) else value for name, value in other.items()
    }


def put(client, entry, meta, files=None, **headers):
    """Send an entry. files: field to file, or to a list of files."""
    parts = {"meta": json.dumps(meta), **(files or {})}
    url = reverse("fieldwork:field-entry", args=[entry])
    return client.put(url, encode_multipart(BOUNDARY, parts), MULTIPART_CONTENT, **headers)


def send(client, person, path, fields, entry=None, files=None, **other):
    """Send a new entry of a person."""
    return put(client, entry or uuid4(), meta_of(person, path, fields, **other), files)
