"""Which tables hold what a firm has, and their rows."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from django.apps import apps
from django.db import models
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, pgettext

from accounts.models import Organisation, User
from core.calc.translation import SOURCE_LANGUAGE
from core.models.folded import FoldedText
from exchange.calc.tables import Kind, Table, TableColumn, ucum_of

APPS = ("accounts", "qa", "maintenance", "planning", "reporting", "fieldwork", "exchange", "api")
_SECRET = gettext_noop(
    "It holds the secret of a link or an address. Whoever has the archive would have the link."
)
_AGAIN = gettext_noop("It is worked out anew from the record.")
_ITSELF = gettext_noop("It is about taking data in and out, not of the record.")
_ACCESS = gettext_noop("Nobody gets access to anything by an archive: invite people again.")
_LINK = gettext_noop("It rests on a link or a person's access, which are made anew.")
_PHONES = gettext_noop(
    "It says what phones hold and what of it arrived; what was recorded stands in the tables of records."
)
_TOLD = gettext_noop("It is what one person was told, or wants to be, and no part of the record.")
NOT_EXPORTED = MappingProxyType(
    {
        "accounts.User": gettext_noop(
            "Names stand in the table person. Passwords, second factors and sessions stay here."
        ),
        "accounts.Invitation": _SECRET,
        "accounts.Notice": _TOLD,
        "accounts.NoticeSettings": _TOLD,
        "accounts.NoticeChoice": _TOLD,
        "accounts.DigestMail": _SECRET,
        "planning.CalendarFeed": _SECRET,
        "reporting.SharedLink": _SECRET,
        "maintenance.Forecast": _AGAIN,
        "maintenance.PortfolioFit": _AGAIN,
        "fieldwork.FieldEntry": _PHONES,
        "fieldwork.Phone": _PHONES,
        "fieldwork.HeldEntry": _PHONES,
        "api.ApiToken": _SECRET,
        "exchange.DataImport": _ITSELF,
        "exchange.DataExport": _ITSELF,
        "exchange.Restoration": _ITSELF,
    }
)
TO_READ_ONLY = MappingProxyType(
    {
        "accounts.Membership": _ACCESS,
        "accounts.HistoricalMembership": _ACCESS,
        "accounts.OwnerPerson": _ACCESS,
        "planning.OwnerNotice": _LINK,
        "planning.ToldDay": _LINK,
        "reporting.Sending": _LINK,
        "reporting.SharedSite": _LINK,
        "reporting.LinkOpening": _LINK,
        "reporting.MessageMail": gettext_noop("It is a mail, which is not to go out again."),
    }
)
PERSON = "person"
SECRET_COLUMNS = frozenset({"token_hash", "mail_hash", "secret_hash", "password"})
_KINDS: tuple[tuple[type[models.Field[Any, Any]], Kind], ...] = (
    (models.FileField, Kind.FILE),
    (models.UUIDField, Kind.ID),
    (models.DateTimeField, Kind.INSTANT),
    (models.DateField, Kind.DAY),
    (models.TimeField, Kind.CLOCK),
    (models.BooleanField, Kind.YES),
    (models.DecimalField, Kind.MONEY),
    (models.FloatField, Kind.NUMBER),
    (models.IntegerField, Kind.WHOLE),
    (models.JSONField, Kind.DATA),
)


@dataclass(frozen=True, slots=True)
class StoredTable:
    """A table of an archive and the model of its rows. path: leads from a row to the firm; empty for files."""

    model: Any
    table: Table
    path: str

    @property
    def fields(self) -> list[Any]:
        """The columns of the model, in the order of the table's."""
        return columns_of(self.model)

    @property
    def is_history(self) -> bool:
        """Whether its rows are earlier versions of others."""
        return hasattr(self.model, "history_id")

    def rows(self, organisation: Organisation) -> models.QuerySet[Any]:
        """Its rows of one firm, in the order they were stored."""
        everything = self.model._base_manager.all()
        if self.path:
            found = everything.filter(**{self.path: organisation.pk})
        else:
            found = everything.filter(pk__in=self.model.objects.of_organisation(organisation).values("pk"))
        order = "history_id" if self.is_history else "created_at" if _has(self.model, "created_at") else "pk"
        return found.order_by(order, "pk")  # type: ignore[no-any-return]


def _has(model: Any, name: str) -> bool:
    return any(field.name == name for field in model._meta.concrete_fields)


def columns_of(model: Any) -> list[Any]:
    """The columns of a model that are written and read back."""
    return [
        field
        for field in model._meta.concrete_fields
        if not (field.generated or isinstance(field, FoldedText) or field.name in SECRET_COLUMNS)
    ]


@cache
def stored_tables() -> tuple[StoredTable, ...]:
    """Every table that is exported, those that others rest on first, described in English whoever asks."""
    with translation.override(SOURCE_LANGUAGE):
        return tuple(_stored(model) for model in _models() if model._meta.label not in NOT_EXPORTED)


def _models() -> Iterator[Any]:
    for label in APPS:
        config = apps.get_app_config(label)
        for model in config.get_models(include_auto_created=True):
            made_for: Any = model._meta.auto_created
            if made_for is not User:
                yield model


def table_name(model: Any) -> str:
    """The name of a model's table in an archive: test_round, test_round_history."""
    name, history = model.__name__, hasattr(model, "history_id")
    name = name.removeprefix("Historical") if history else name
    words = "".join(f"_{c.lower()}" if c.isupper() and i else c.lower() for i, c in enumerate(name))
    return f"{words.replace('__', '_')}_history" if history else words.replace("__", "_")


def _stored(model: Any) -> StoredTable:
    label = model._meta.label
    about = (
        (model.__doc__ or "").strip().split("\n\n")[0]
        if not hasattr(model, "history_id")
        else "Earlier versions."
    )
    columns = tuple(_column(model, field) for field in columns_of(model))
    key = "history_id" if hasattr(model, "history_id") else "id"
    why_not = TO_READ_ONLY.get(label, "")
    table = Table(table_name(model), about, columns, key, not why_not, why_not)
    return StoredTable(model, table, _path(model))


def _path(model: Any) -> str:
    original = getattr(model, "instance_type", model)
    if model._meta.auto_created:
        return f"{model._meta.auto_created.__name__.lower()}__organisation"
    path = str(getattr(original.objects.all(), "organisation_path", "organisation"))
    if path == "pk":
        return "id"
    return "" if hasattr(original.objects.all(), "hang_on") else path


def kind_of(field: Any) -> Kind:
    """What a column of a model holds."""
    target = field.target_field if field.is_relation else field
    return next((kind for django, kind in _KINDS if isinstance(target, django)), Kind.TEXT)


def _column(model: Any, field: Any) -> TableColumn:
    kind, related = kind_of(field), field.related_model if field.is_relation else None
    refers_to = ""
    if related is not None and not hasattr(model, "history_id"):
        refers_to = PERSON if related is User else table_name(related)
        if related is not User and related._meta.label in NOT_EXPORTED:
            refers_to = ""
    return TableColumn(
        field.attname,
        str(field.verbose_name).capitalize(),
        kind,
        required=not field.null,
        note=str(field.help_text),
        unit=ucum_of(field.name) if kind in (Kind.NUMBER, Kind.WHOLE) else "",
        refers_to=refers_to,
        choices=tuple((str(value), str(said)) for value, said in field.choices or ()),
    )


PEOPLE = Table(
    PERSON,
    "People whom rows name: who recorded, planned, decided. They sign in with passwords that are not here.",
    (
        TableColumn("id", "Number", Kind.WHOLE, True),
        TableColumn("email", "E-mail address", Kind.TEXT, True),
        TableColumn("full_name", "Name", Kind.TEXT, True),
    ),
    comes_back=False,
    why_not="Names come back with the rows that name them; access does not.",
)


def all_tables() -> tuple[Table, ...]:
    """Every table of an archive."""
    return (PEOPLE, *(stored.table for stored in stored_tables()))


def left_out() -> list[tuple[str, str]]:
    """What an archive does not hold, and what is in it to be read only: name and reason, in the reader's language."""
    names = _names_of_tables()
    read_only = _("{table} (to be read only)")
    told = [(names[label], _(why)) for label, why in NOT_EXPORTED.items()]
    return told + [(read_only.format(table=names[label]), _(why)) for label, why in TO_READ_ONLY.items()]


def _names_of_tables() -> dict[str, str]:
    """What tables are called that an archive does not bring back."""
    return {
        "accounts.User": pgettext("table", "User"),
        "accounts.Invitation": pgettext("table", "Invitation"),
        "accounts.Notice": pgettext("table", "Notice"),
        "accounts.NoticeSettings": pgettext("table", "Notice settings"),
        "accounts.NoticeChoice": pgettext("table", "Notice choice"),
        "accounts.DigestMail": pgettext("table", "Digest mail"),
        "planning.CalendarFeed": pgettext("table", "Calendar feed"),
        "reporting.SharedLink": pgettext("table", "Shared link"),
        "maintenance.Forecast": pgettext("table", "Forecast"),
        "maintenance.PortfolioFit": pgettext("table", "Portfolio fit"),
        "fieldwork.FieldEntry": pgettext("table", "Field entry"),
        "fieldwork.Phone": pgettext("table", "Phone"),
        "fieldwork.HeldEntry": pgettext("table", "Held entry"),
        "api.ApiToken": pgettext("table", "Api token"),
        "exchange.DataImport": pgettext("table", "Data import"),
        "exchange.DataExport": pgettext("table", "Data export"),
        "exchange.Restoration": pgettext("table", "Restoration"),
        "accounts.Membership": pgettext("table", "Membership"),
        "accounts.HistoricalMembership": pgettext("table", "Historical membership"),
        "accounts.OwnerPerson": pgettext("table", "Owner person"),
        "planning.OwnerNotice": pgettext("table", "Owner notice"),
        "planning.ToldDay": pgettext("table", "Told day"),
        "reporting.Sending": pgettext("table", "Sending"),
        "reporting.SharedSite": pgettext("table", "Shared site"),
        "reporting.LinkOpening": pgettext("table", "Link opening"),
        "reporting.MessageMail": pgettext("table", "Message mail"),
    }


def rows_in_words(model: Any) -> str:
    """What the rows of a table are called that a firm has before all else; of another, what the model calls them."""
    first = {
        "accounts.Owner": pgettext("table", "owners"),
        "planning.Crew": pgettext("table", "crews"),
        "qa.OwnLimit": pgettext("table", "own limits"),
        "qa.Site": pgettext("table", "sites"),
    }
    return first.get(model._meta.label, str(model._meta.verbose_name_plural))
