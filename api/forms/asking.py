"""What is asked of a list in its address."""

from datetime import date
from typing import Annotated
from uuid import UUID

from pydantic import BaseModel, ConfigDict, Field

from api.calc.paging import MOST_ROWS, USUAL_SIZE


class PageQuery(BaseModel):
    """Which page, and how large."""

    model_config = ConfigDict(use_attribute_docstrings=True)

    cursor: Annotated[str, Field(max_length=200)] = ""
    """Where the page begins, as `next` of the page before has it."""
    page_size: Annotated[int, Field(ge=1, le=MOST_ROWS)] = USUAL_SIZE

    def narrowed(self) -> dict[str, UUID | date | str]:
        """The filters that were given, by name."""
        given = ((name, getattr(self, name)) for name in type(self).model_fields)
        return {
            name: value for name, value in given if name not in PageQuery.model_fields and value is not None
        }


class OfSite(PageQuery):
    """Rows of a site."""

    site: UUID | None = None


class OfSurface(OfSite):
    """Rows of a site or a surface."""

    surface: UUID | None = None


class Dated(OfSurface):
    """Rows of some days, both counted."""

    since: date | None = None
    until: date | None = None


class OfRound(Dated):
    """Tests of a round."""

    round: UUID | None = None
