"""Every route as it meets what nobody means to send: its fields, and who may do most there.

The routes and people come from the table of permissions, the fields from the forms that the pages really show. What is
sent there is drawn in `tries.py`, and judged in `judging.py` by what is stored.
"""

import re
from dataclasses import dataclass, field
from functools import cached_property
from http.cookies import SimpleCookie
from uuid import uuid4

from django import forms
from django.contrib import admin
from django.db import transaction
from django.test import Client
from django.urls import NoReverseMatch, get_resolver, reverse
from django.utils.timezone import now

from maintenance.models import Forecast
from maintenance.services.cleanings import terms_of
from tests.api.calling import CLEANING, INSPECTION, RING, ROUND, SITE, SURFACE, program_of
from tests.factories import UserFactory
from tests.fieldwork.sendings import DEVICE, meta_of
from tests.permissions import ACTORS, API_READS, API_WRITES, TABLE
from tests.sending import as_shown, confirm, url_of

ASKED = (
    "page",
    "sort",
    "next",
    "q",
    "since",
    "until",
    "from",
    "format",
    "lang",
    "method",
    "on",
    "days",
    "limit",
)
METHODS = {"get": ("GET", "POST"), "post": ("POST",), "put": ("PUT",)}


@dataclass
class Target:
    """A route as who may do most there meets it. body: of routes that take JSON, a good one."""

    route: str
    path: str
    client: Client
    methods: tuple
    body: dict | None = None
    wrapped: bool = False
    extra: dict = field(default_factory=dict)

    def __post_init__(self):
        self.cookies = self.client.cookies.output(header="", sep=";")

    @cached_property
    def page(self):
        """What is shown there; what the look alone stores, such as that somebody looked, is undone."""
        self.client.cookies = SimpleCookie(self.cookies)
        with transaction.atomic():
            shown = self.client.get(self.path, **self.extra)
            transaction.set_rollback(True)
        return shown

    @cached_property
    def takes_forms(self):
        """Whether anything can be posted there."""
        if "POST" not in self.methods:
            return False
        self.client.cookies = SimpleCookie(self.cookies)
        with transaction.atomic():
            answer = self.client.post(self.path, {})
            transaction.set_rollback(True)
        return answer.status_code != 405

    @cached_property
    def text(self):
        readable = not self.page.streaming and "html" in self.page.headers.get("Content-Type", "")
        return self.page.content.decode(errors="replace") if readable else ""

    @cached_property
    def fields(self):
        """Name to field, of every form that its page was made with."""
        found = {}
        for made in forms_in(self.page.context):
            found |= {made.add_prefix(name): one for name, one in made.fields.items()}
        return found

    @cached_property
    def asked(self):
        """What its page, or a link on it, asks in an address."""
        linked = re.findall(r"[?&;]([\w-]+)=", self.text)
        named = re.findall(r'<(?:input|select)[^>]* name="([\w-]+)"', self.text)
        return sorted({*ASKED, *linked, *named})

    @cached_property
    def good(self):
        """What a browser would send of the page, with every empty field filled in with what fits it."""
        shown = as_shown(self.text)
        filled = {name: [fitting(name, one)] for name, one in self.fields.items() if not is_file(one)}
        typed = {name: values for name, values in shown.items() if any(values)}
        return {name: values for name, values in {**shown, **filled, **typed}.items() if any(values)}

    @cached_property
    def files(self):
        return [name for name, one in self.fields.items() if is_file(one)]


def forms_in(context):
    """Every form that a page was made with, those of sets of forms too."""
    seen = {}
    for layer in context or ():
        for values in getattr(layer, "dicts", [layer]):
            for value in values.values():
                value = getattr(value, "form", value) if not isinstance(value, forms.BaseForm) else value
                if isinstance(value, forms.BaseFormSet):
                    seen |= {id(one): one for one in (*value.forms, value.management_form)}
                elif isinstance(value, forms.BaseForm):
                    seen[id(value)] = value
    return list(seen.values())


def is_file(one):
    """Whether a field takes files."""
    return isinstance(one, forms.FileField)


def fitting(name, one):
    """A value that a field takes, the same each time; empty where a guess would only be wrong."""
    if isinstance(one, forms.ModelChoiceField):
        return str(getattr(one.queryset.first(), "pk", ""))
    if isinstance(one, forms.ChoiceField):
        return next((value for value in choices_of(one) if value), "")
    if isinstance(one, forms.BooleanField):
        return "on" if one.required else ""
    if isinstance(one, forms.DateTimeField | forms.DateField):
        return "2024-06-03"
    if isinstance(one, forms.TimeField):
        return "09:30"
    if isinstance(one, forms.UUIDField):
        return str(uuid4())
    if isinstance(one, forms.EmailField):
        return "new.person@firm.example"
    if isinstance(one, forms.IntegerField):  # of decimals and floats too
        least, most = getattr(one, "min_value", None), getattr(one, "max_value", None)
        return str(least if least is not None else most if most is not None else 1) if one.required else ""
    return "A good reason." if one.required or "reason" in name else ""


def choices_of(one):
    """What a field offers, out of its groups."""
    for value, label in one.choices:
        if isinstance(label, list | tuple):
            yield from (str(inner) for inner, _ in label)
        else:
            yield str(value)


def every_target(firm):
    """Every route by who may do most there: pages and buttons, what scripts and programs send, doors of packages."""
    terms_of(firm.organisation)  # made at the first look at a page of prices
    clients = {}
    for actor in ACTORS:
        clients[actor] = Client(SERVER_NAME="paving.example")
        if actor != "anonymous":
            clients[actor].force_login(getattr(firm, actor))
            confirm(clients[actor])
    made = [_page_target(route, firm, clients) for route in TABLE]
    made += [_door(route, clients["admin"]) for route in _doors()]
    return [*made, *_back_office(), *_programs(firm)]


def _page_target(route, firm, clients):
    method, _, answers = TABLE[route]
    able = [actor for actor, answer in zip(ACTORS, answers, strict=True) if answer < 400]
    actor = (able or ["admin"])[-1]
    if route in ("accounts:member-role", "accounts:member-remove"):
        actor = "admin"
    target = Target(route, url_of(route, firm.rows), clients[actor], METHODS[method])
    if route == "fieldwork:field-entry":
        sent = f"{reverse('maintenance:cleaning-create', args=[firm.surface.pk])}"
        usual = {"cleaned_on": "2024-06-01", "method": "vacuum", "share_of_area": "1", "wetness": "dry"}
        target.path = reverse(route, args=[uuid4()])
        target.body, target.wrapped = meta_of(firm.admin, sent, usual), True
    elif route == "fieldwork:field-contact":
        target.body = {"device": DEVICE, "now": now().isoformat(), "held": [], "sent": [str(uuid4())]}
    return target


def _doors():
    """Routes of packages that need no row: to sign in and up, passwords, second factors, the back office."""
    for pattern in get_resolver().reverse_dict:
        if isinstance(pattern, str) and pattern.startswith(("account_", "mfa_", "usersessions_")):
            try:
                reverse(pattern)
            except NoReverseMatch:
                continue
            yield pattern


def _door(route, client):
    return Target(route, reverse(route), client, ("GET", "POST"))


def _back_office():
    """Lists and rows of every model that is kept there, by who runs the server."""
    client = Client(SERVER_NAME="paving.example")
    client.force_login(UserFactory(is_staff=True, is_superuser=True))
    confirm(client)
    for model in admin.site._registry:
        name = f"admin:{model._meta.app_label}_{model._meta.model_name}"
        row = model._base_manager.first()
        rows = {"changelist": [], "add": []} | ({"change": [row.pk], "history": [row.pk]} if row else {})
        for page, args in rows.items():
            yield Target(f"{name}_{page}", reverse(f"{name}_{page}", args=args), client, METHODS["get"])


def _programs(firm):
    program = program_of(firm, "admin")
    firm.rows["forecast"] = Forecast.objects.get_or_create(surface=firm.surface)[0].pk
    extra = {"HTTP_AUTHORIZATION": f"Bearer {program.secret}"}
    for route, (path, kind, _) in API_READS.items():
        address = path.format(firm.rows[kind]) if kind else path
        yield Target(route, address, program.client, ("GET",), extra=extra)
    rows = {"surface": str(firm.surface.pk), "site": str(firm.site.pk), "round": str(firm.rows["round"])}
    bodies = {
        "sites": SITE | {"owner": str(firm.owner.pk)},
        "surfaces": SURFACE | {"site": rows["site"]},
        "rounds": ROUND | {"surface": rows["surface"]},
        "tests": RING | {"round": rows["round"]},
        "cleanings": CLEANING | {"surface": rows["surface"]},
        "inspections": INSPECTION | {"surface": rows["surface"]},
    }
    for kind in API_WRITES:
        target = Target(f"put {kind}", f"/api/{kind}/{uuid4()}", program.client, ("PUT",), extra=extra)
        target.body = bodies[kind]
        yield target
