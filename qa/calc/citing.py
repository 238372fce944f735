"""How the source of a criterion is said in a document that a client is given, by what the firm has verified."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID, uuid5

from core.calc.format import day
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from qa.calc.sources import Source, SourceStatus

MARK = "†"
COMMON_PRACTICE = gettext_noop("Common practice")
WORKING_TOLERANCE = gettext_noop("Working tolerance, no document; the job's specification comes first")
NAMES_A_DOCUMENT = frozenset({SourceStatus.LOOKED_UP, SourceStatus.FROM_MEMORY})
_AS_GIVEN = frozenset({SourceStatus.ENTERED, SourceStatus.DERIVED})
_NAMES = UUID("6b9b3f5e-5a0c-4b8e-9a57-0f3f0f6a7f21")  # of this list of sources; any fixed one will do


@dataclass(frozen=True, slots=True)
class Verified:
    """That a firm has held a criterion against the document. edition: as the document calls itself; by: whose name."""

    edition: str
    by: str
    on: date


VerifiedSources = Mapping[str, Verified]  # by citation


@dataclass(frozen=True, slots=True)
class Cited:
    """A source as a document says it. unverified: the document it rests on that the firm has not verified, else ""."""

    text: str
    unverified: str = ""


def cited(source: Source, verified: VerifiedSources) -> Cited:
    """The document with its edition and who verified it; a named one alone with a mark; else common practice.

    What the firm entered or a formula gives is said as it is: there is no edition of another to hold it against.
    """
    if source.status in _AS_GIVEN:
        return Cited(source.said)
    if source.status is SourceStatus.OWN_DEFAULT:
        return Cited(_(WORKING_TOLERANCE))
    if source.status not in NAMES_A_DOCUMENT:
        return Cited(_(COMMON_PRACTICE))
    found = verified.get(source.citation)
    if found is None:
        return Cited(f"{source.said} {MARK}", source.citation)
    said = _("{source}, {edition}, verified by {name} on {day}")
    return Cited(said.format(source=source.said, edition=found.edition, name=found.by, day=day(found.on)))


def named(source: Source) -> str:
    """The source as a page says it that the client's people read too: without a mark, since no note follows."""
    return cited(source, {}).text.removesuffix(f" {MARK}")


def source_key(citation: str) -> UUID:
    """What a source is called in an address: the same for the same citation, for good."""
    return uuid5(_NAMES, citation)
