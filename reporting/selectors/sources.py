"""Which sources a firm has verified: for its documents, and for its own list."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.http import Http404
from django.utils.translation import gettext as _

from accounts.calc.audience import Audience, Matter
from accounts.models import Organisation
from qa.calc.citing import NAMES_A_DOCUMENT, Verified, VerifiedSources
from qa.calc.sources import Source, SourceStatus
from qa.models import ConstructionCheck
from reporting.calc.source_list import ListedSource, grouped, listed_sources
from reporting.models import VerifiedSource


@dataclass(frozen=True, slots=True)
class SourceRow:
    """A source on the firm's list, with what it verified of it."""

    listed: ListedSource
    verified: VerifiedSource | None

    @property
    def words(self) -> str:
        """What it can be found by, in small letters."""
        return " ".join((self.listed.source.citation, *self.listed.uses)).lower()


def verified_sources(organisation: Organisation, audience: Audience) -> VerifiedSources:
    """By citation what the firm verified; whoever may not read names is told of the firm."""
    rows = VerifiedSource.objects.of_organisation(organisation).active()
    return {
        row.citation: Verified(
            row.edition, audience.shown(Matter.PEOPLE, row.verified_by, _("the firm")), row.verified_on
        )
        for row in rows
    }


def source_rows(organisation: Organisation) -> list[SourceRow]:
    """Every source that the firm's documents can print and that names a document, by citation."""
    verified = {row.citation: row for row in VerifiedSource.objects.of_organisation(organisation).active()}
    return [SourceRow(one, verified.get(one.source.citation)) for one in _listed(organisation)]


def source_row(organisation: Organisation, key: UUID) -> SourceRow:
    """One source of that list. Raises Http404 where none is called so."""
    for row in source_rows(organisation):
        if row.listed.key == key:
            return row
    raise Http404(_("No source of this tool's documents is called so."))


def _listed(organisation: Organisation) -> Sequence[ListedSource]:
    """Those of this edition, and those that checks opened by an earlier one still name."""
    known = {one.source.citation for one in listed_sources()}
    stored = ConstructionCheck.objects.of_organisation(organisation).filter(
        source_status__in=NAMES_A_DOCUMENT
    )
    named = stored.exclude(source__in=known).order_by().values_list("source", "source_status").distinct()
    use = _("Check of an open record")
    older = grouped((Source(name, SourceStatus(status)), use) for name, status in named)
    return sorted((*listed_sources(), *older), key=lambda one: one.source.citation)
