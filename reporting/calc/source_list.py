"""Every source that a document can print, with what rests on it, for a firm to hold against the documents."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from uuid import UUID

from core.calc.paving import SurfaceType, TestMethod
from core.calc.translation import gettext as _
from core.calc.translation import language
from maintenance.calc.upkeep import upkeep_of
from qa.calc.check_model import HeaviestUse
from qa.calc.checks import checks_for
from qa.calc.citing import NAMES_A_DOCUMENT, source_key
from qa.calc.gradation import BANDS
from qa.calc.limits import PRESETS
from qa.calc.methods import facts_on
from qa.calc.sampling import BY_EACH, BY_KEY
from qa.calc.sources import Source, SourceStatus

Use = tuple[Source, str]


@dataclass(frozen=True, slots=True)
class ListedSource:
    """A source that names a document. uses: what rests on it, in words."""

    source: Source
    uses: tuple[str, ...]

    @property
    def key(self) -> UUID:
        """What it is called in an address."""
        return source_key(self.source.citation)


def listed_sources() -> tuple[ListedSource, ...]:
    """The sources of checks, limits, bands, methods and upkeep that name a document, by citation."""
    return _listed_in(language())


@cache
def _listed_in(tongue: str) -> tuple[ListedSource, ...]:
    """The same, made once for each language that somebody reads."""
    return grouped((*_checks(), *_readings(), *_limits(), *_bands(), *_methods(), *_upkeep()))


def grouped(uses: Iterable[Use]) -> tuple[ListedSource, ...]:
    """Each source that names a document once, with its uses, by citation."""
    found: dict[str, dict[str, None]] = defaultdict(dict)
    sources: dict[str, Source] = {}
    for source, use in uses:
        if source.status in NAMES_A_DOCUMENT:
            found[source.citation][use] = None
            sources[source.citation] = _less_sure(source, sources.get(source.citation, source))
    return tuple(ListedSource(sources[name], tuple(found[name])) for name in sorted(found))


def _less_sure(one: Source, other: Source) -> Source:
    """Of one document some figures may be looked up and others not: the list says the worse."""
    return one if one.status is SourceStatus.FROM_MEMORY else other


def _checks() -> Iterator[Use]:
    for kind in SurfaceType:
        for use in HeaviestUse:
            for bound_bed in (False, True):
                for check in checks_for(kind, use, bound_bed=bound_bed):
                    yield check.source, _("Check: {stage}").format(stage=check.stage.label.lower())


def _readings() -> Iterator[Use]:
    return ((rule.source, _("Number of readings")) for rule in (*BY_KEY.values(), *BY_EACH.values()))


def _limits() -> Iterator[Use]:
    return ((preset.source, _("Limit: {name}").format(name=_(preset.name))) for preset in PRESETS.values())


def _bands() -> Iterator[Use]:
    return ((band.source, _("Band: {name}").format(name=_(band.name))) for band in BANDS.values())


def _methods() -> Iterator[Use]:
    for kind in SurfaceType:
        for method in TestMethod:
            yield facts_on(method, kind).source, _("Method: {name}").format(name=method.in_sentence)


def _upkeep() -> Iterator[Use]:
    for kind in SurfaceType:
        for piece in upkeep_of(kind):
            yield piece.source, _("Upkeep")
