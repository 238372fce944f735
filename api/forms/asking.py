"""What is asked of a list in its address."""

from datetime import date
from typing import Annotated, Any
from uuid import UUID

from django.utils.translation import gettext as _
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from api.calc.paging import MOST_ROWS, USUAL_SIZE


def as_text(value: Any) -> Any:
    """A day or time as it must come, as a text with strokes or colons; a bare number would be read as seconds."""
    if isinstance(value, date):
        return value
    if isinstance(value, str) and not value.lstrip("+-").replace(".", "", 1).isdigit():
        return value
    said = _("{value} is no day or time. Write it as in ISO 8601, such as 2026-06-01")
    raise ValueError(said.format(value=repr(value)))


Day = Annotated[date, BeforeValidator(as_text)]


class PageQuery(BaseModel):
    """Which page, and how large."""

    model_config = ConfigDict(use_attribute_docstrings=True)

    cursor: Annotated[str, Field(max_length=200)] = ""
    """Where the page begins, as `next` of the page before has it."""
    page_size: Annotated[int, Field(ge=1, le=MOST_ROWS)] = USUAL_SIZE
    """How many rows a page has at most."""

    def narrowed(self) -> dict[str, UUID | date | str]:
        """The filters that were given, by name."""
        given = ((name, getattr(self, name)) for name in type(self).model_fields)
        return {
            name: value for name, value in given if name not in PageQuery.model_fields and value is not None
        }


class OfSite(PageQuery):
    """Rows of a site."""

    site: UUID | None = None
    """Only what is of this site."""


class OfSurface(OfSite):
    """Rows of a site or a surface."""

    surface: UUID | None = None
    """Only what is of this surface."""


class Dated(OfSurface):
    """Rows of some days, both counted."""

    since: Day | None = None
    """The first day, at the site."""
    until: Day | None = None
    """The last day, at the site."""


class OfRound(Dated):
    """Tests of a round."""

    round: UUID | None = None
    """Only tests of this round."""
