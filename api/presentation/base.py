"""What the answers of all kinds share."""

from datetime import datetime
from typing import Any
from uuid import UUID

from pydantic import BaseModel, ConfigDict, Field

from core.calc.audit import AuditState
from qa.models import Surface


class Shown(BaseModel):
    """A row as it is answered. Whatever its reader may not see is null or empty."""

    model_config = ConfigDict(allow_inf_nan=False, use_attribute_docstrings=True)


class Row(Shown):
    id: UUID
    stored_at: datetime
    """When it was stored here (UTC). Lists are in this order."""


class Recorded(Row):
    """What every record shares that is never overwritten."""

    surface: UUID
    site: UUID
    state: AuditState
    """`active` counts; `void` was set aside; `replaced` gave way to a correction."""
    state_reason: str
    replaces: UUID | None
    """The record that this one corrects."""
    recorded_by: str


class Amount(Shown):
    """A sum of money."""

    amount: str = Field(pattern=r"^-?\d+\.\d{2}$")
    """In decimal notation, as text, so that no digit is lost."""
    currency: str
    """By ISO 4217."""


class Choice(Shown):
    """One of a list of choices: the word that is stored, and the label people read."""

    id: str
    label: str


def content_of(shown: Shown) -> bytes:
    """A row as it is sent; its ETag is made of these bytes, wherever it is asked for."""
    return shown.model_dump_json(by_alias=True).encode()


def amount_of(value: Any, currency: str) -> Amount | None:
    """A sum; None where there is none."""
    return None if value is None else Amount(amount=f"{value:.2f}", currency=currency)


def recorded(row: Any, surface: Surface) -> dict[str, Any]:
    """The shared members of a record of a surface. Expects who recorded it joined."""
    return {
        "id": row.pk,
        "stored_at": row.created_at,
        "surface": surface.pk,
        "site": surface.site_id,
        "state": row.state,
        "state_reason": row.state_reason,
        "replaces": row.replaces_id,
        "recorded_by": str(row.recorded_by or ""),
    }
