"""Limits of the rate: what authorities ask, what the design rain asks, and which one governs."""

from dataclasses import dataclass
from enum import StrEnum

from core.calc.format import format_rate
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import UnitSystem, in_h_to_mm_h, l_s_ha_to_mm_h, m_d_to_mm_h, m_s_to_mm_h
from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc.citing import named
from qa.calc.deviations import require_not_negative, require_positive
from qa.calc.numbers import short, to_digits
from qa.calc.sources import Source, SourceStatus, from_memory, guidance, looked_up

CLOGGING_SHARE_DEFAULT = 0.10
CLOGGING_SHARE_SOURCE = guidance(
    gettext_noop("Share of the new rate left when clogged, 0.10: common in design guides")
)
_RAIN_NAME = gettext_noop("the design rain")
_RAIN_SOURCE = Source(
    gettext_noop("Mass balance: intensity times one plus the run-on ratio"), SourceStatus.DERIVED
)
NO_LIMIT = gettext_noop(
    "No limit is known. Choose a rule that gives one in service, enter a design rain, or enter the rate agreed "
    "with the owner."
)


class LimitKind(StrEnum):
    """Where a limit comes from."""

    PRESET = "preset"
    OWN = "own"
    DESIGN_RAIN = "design_rain"
    AGREED = "agreed"


@dataclass(frozen=True, slots=True)
class LimitPreset:
    """What one document asks; rates in mm/h, None where it says nothing.

    acceptance_mm_h: at least this when new. limit_mm_h: below this it must be cleaned.
    after_cleaning_mm_h: at least this after cleaning.
    name_written: in English; printed: the figures in the document's own units, likewise.
    """

    name_written: str
    source: Source
    printed: str
    acceptance_mm_h: float | None = None
    limit_mm_h: float | None = None
    after_cleaning_mm_h: float | None = None

    @property
    def name(self) -> str:
        """What it is called, in the reader's language."""
        return _(self.name_written)

    @property
    def as_printed(self) -> str:
        """The figures in the document's own units, with words of the reader's language."""
        return _(self.printed)

    @property
    def working_limit_mm_h(self) -> float | None:
        """The limit, or what must be reached after cleaning, since less than that asks for cleaning."""
        return self.after_cleaning_mm_h if self.limit_mm_h is None else self.limit_mm_h


PRESETS = {
    "ontario": LimitPreset(
        gettext_noop("Ontario"),
        looked_up(
            gettext_noop("Ontario LID Stormwater Planning and Design Guide, permeable pavement, inspection")
        ),
        gettext_noop("clean when below 250 mm/h"),
        limit_mm_h=250.0,
    ),
    "asce_68": LimitPreset(
        gettext_noop("ASCE/T&DI/ICPI 68-18"),
        from_memory(gettext_noop("ASCE/T&DI/ICPI 68-18, acceptance of new unit pavement")),
        gettext_noop("new: 100 in/h"),
        acceptance_mm_h=in_h_to_mm_h(100),
    ),
    "minnesota": LimitPreset(
        gettext_noop("Minnesota"),
        looked_up(
            gettext_noop("Minnesota Stormwater Manual, operation and maintenance of permeable pavement")
        ),
        gettext_noop("after cleaning: at least 10 in/h"),
        after_cleaning_mm_h=in_h_to_mm_h(10),
    ),
    "north_carolina": LimitPreset(
        gettext_noop("North Carolina"),
        looked_up(gettext_noop("15A NCAC 02H .1055(6)")),
        gettext_noop("new: at least 50 in/h with a head of 4 in or less"),
        acceptance_mm_h=in_h_to_mm_h(50),
    ),
    "new_jersey": LimitPreset(
        gettext_noop("New Jersey"),
        looked_up(gettext_noop("New Jersey Stormwater BMP Manual, ch. 9.6, March 2021")),
        gettext_noop("new: at least 6.4 in/h"),
        acceptance_mm_h=in_h_to_mm_h(6.4),
    ),
    "netherlands": LimitPreset(
        gettext_noop("Netherlands"),
        looked_up(gettext_noop("Boogaard et al. 2014, Water 6(7):2070-2083")),
        gettext_noop("new: 540 L/(s·ha); clean when below 0.50 m/d"),
        acceptance_mm_h=l_s_ha_to_mm_h(540),
        limit_mm_h=m_d_to_mm_h(0.50),
    ),
    "european_minimum": LimitPreset(
        gettext_noop("European minimum used in research"),
        looked_up(gettext_noop("Boogaard, Lucke & Beecham 2013, Clean 42(2):146-152")),
        gettext_noop("270 L/(s·ha)"),
        limit_mm_h=l_s_ha_to_mm_h(270),
    ),
    "germany": LimitPreset(
        gettext_noop("Germany"),
        looked_up(gettext_noop("FGSV M VV, code for water-permeable paving, as quoted")),
        gettext_noop("new: k at least 5.4·10⁻⁵ m/s; lasting 270 L/(s·ha)"),
        acceptance_mm_h=m_s_to_mm_h(5.4e-5),
        limit_mm_h=l_s_ha_to_mm_h(270),
    ),
    "brazil": LimitPreset(
        gettext_noop("Brazil"),
        looked_up(gettext_noop("NBR 16416:2015, quoted in Concreto & Construções 90, 2018")),
        gettext_noop("new: at least 10⁻³ m/s"),
        acceptance_mm_h=m_s_to_mm_h(1e-3),
    ),
    "united_kingdom": LimitPreset(
        gettext_noop("United Kingdom"),
        from_memory(
            gettext_noop("CIRIA C753 and BS 7533 family (factor of safety 10 for clogging over 20 years)")
        ),
        gettext_noop("new: 2500 mm/h; in service more than the design rain"),
        acceptance_mm_h=2500.0,
    ),
    "wisconsin": LimitPreset(
        gettext_noop("Wisconsin"),
        from_memory(gettext_noop("Wisconsin DNR technical standard 1008")),
        gettext_noop("new: 100 in/h; clean when below 10 in/h"),
        acceptance_mm_h=in_h_to_mm_h(100),
        limit_mm_h=in_h_to_mm_h(10),
    ),
    "western_washington": LimitPreset(
        gettext_noop("Western Washington"),
        from_memory(gettext_noop("Stormwater management manual for western Washington")),
        gettext_noop("new: 20 in/h; clean when below 10 in/h"),
        acceptance_mm_h=in_h_to_mm_h(20),
        limit_mm_h=in_h_to_mm_h(10),
    ),
}

# The rule that is taken for granted in a country, of those with a limit in service; others choose one.
RULE_OF_COUNTRY = {"CA": "ontario", "DE": "germany", "NL": "netherlands"}


@dataclass(frozen=True, slots=True)
class DesignRainLimit:
    """What a design rain asks of the surface, mm/h: at all times, and when new; and what that is made from."""

    in_service_mm_h: float
    when_new_mm_h: float
    intensity_mm_h: float
    run_on_ratio: float
    clogging_share: float


@dataclass(frozen=True, slots=True)
class Asked:
    """One rate that something asks for: which kind, what it is called, how it comes about, and its source."""

    rate_mm_h: float
    kind: LimitKind
    name: str
    detail: str
    source: Source

    @property
    def words(self) -> str:
        """The name with its detail, for a sentence."""
        if not self.detail:
            return self.name
        return _("{name} ({detail})").format(name=self.name, detail=self.detail)


@dataclass(frozen=True, slots=True)
class Governing:
    """The rate that applies and why. asked: all that are known, the highest, which governs, first."""

    limit_mm_h: float
    kind: LimitKind
    reason: str
    asked: tuple[Asked, ...]

    @property
    def source(self) -> Source:
        """Where the rate that applies comes from."""
        return self.asked[0].source

    @property
    def source_in_full(self) -> str:
        """The source as pages name it that clients read too; empty where the reason has named it."""
        said = named(self.source)
        return "" if said in self.reason else said


@dataclass(frozen=True, slots=True)
class Agreed:
    """A rate agreed with the owner, and where that is written."""

    rate_mm_h: float
    where: str = ""


def limit_from_design_rain(
    intensity_mm_h: float, run_on_ratio: float, clogging_share: float = CLOGGING_SHARE_DEFAULT
) -> DesignRainLimit:
    """Rates needed to take a design rain: i·(1 + R) at all times, i·(1 + R)/CF when new.

    run_on_ratio: R, area that drains onto the surface over the surface's own area.
    clogging_share: CF, share of the new rate that is still there when clogged.

    Source: mass balance; the share of 0.10 from memory.
    """
    require_positive(
        gettext_noop("Rain intensity"),
        intensity_mm_h,
        "mm/h",
        gettext_noop("Take it from the local rainfall table."),
    )
    require_not_negative(gettext_noop("Run-on ratio"), run_on_ratio, "")
    if not 0 < clogging_share <= 1:
        raise ImpossibleRecordError(
            _("The clogging share must be above 0 and at most 1, got {share}. 0.1 is usual.").format(
                share=short(clogging_share)
            )
        )
    needed = intensity_mm_h * (1 + run_on_ratio)
    return DesignRainLimit(needed, needed / clogging_share, intensity_mm_h, run_on_ratio, clogging_share)


def is_below(rate_mm_h: float, limit_mm_h: float) -> bool:
    """Whether a rate is below a limit; a rate equal to it is not.

    Source: "less than 250 mm/h" (Ontario guide), "at least 10 in/h" (Minnesota manual); looked up.
    """
    # A limit of 10 in/h and a rate entered as 10 in/h may differ in the last binary digit.
    return rate_mm_h < limit_mm_h * (1 - 1e-12)


def governing_limit(
    preset: LimitPreset | None = None,
    design_rain: DesignRainLimit | None = None,
    agreed: Agreed | None = None,
    own: LimitPreset | None = None,
    system: UnitSystem = UnitSystem.SI,
) -> Governing:
    """The highest of the limits that are known, with the others named; an agreement cannot undercut a rule.

    own: the firm's own rule. system: the units of the reason's sentence.
    """
    known = [
        _asked_by(rule, rule.working_limit_mm_h, kind)
        for rule, kind in ((preset, LimitKind.PRESET), (own, LimitKind.OWN))
        if rule is not None and rule.working_limit_mm_h is not None
    ]
    if design_rain is not None:
        known.append(_asked_in_service(design_rain, system))
    if agreed is not None:
        known.append(_asked_by_agreement(agreed, gettext_noop("Agreed limit")))
    if not known:
        raise IncompleteRecordError(_(NO_LIMIT))
    return _highest(known, system)


def governing_acceptance(
    preset: LimitPreset | None = None,
    design_rain: DesignRainLimit | None = None,
    agreed: Agreed | None = None,
    own: LimitPreset | None = None,
    system: UnitSystem = UnitSystem.SI,
) -> Governing | None:
    """The highest rate asked of a new surface, with the others named; None where nothing asks for one.

    The design rain asks for what it needs over the share that is left when clogged.
    """
    known = [
        _asked_by(rule, rule.acceptance_mm_h, kind)
        for rule, kind in ((preset, LimitKind.PRESET), (own, LimitKind.OWN))
        if rule is not None and rule.acceptance_mm_h is not None
    ]
    if design_rain is not None:
        known.append(_asked_when_new(design_rain, system))
    if agreed is not None:
        known.append(_asked_by_agreement(agreed, gettext_noop("Agreed acceptance rate")))
    return _highest(known, system) if known else None


def _asked_by(rule: LimitPreset, rate_mm_h: float | None, kind: LimitKind) -> Asked:
    assert rate_mm_h is not None  # the caller has looked
    return Asked(rate_mm_h, kind, rule.name, rule.as_printed, rule.source)


def _asked_in_service(rain: DesignRainLimit, system: UnitSystem) -> Asked:
    detail = _rain_words(rain, system)
    return Asked(rain.in_service_mm_h, LimitKind.DESIGN_RAIN, _(_RAIN_NAME), detail, _RAIN_SOURCE)


def _asked_when_new(rain: DesignRainLimit, system: UnitSystem) -> Asked:
    detail = _("{rain}, over the {share} left when clogged").format(
        rain=_rain_words(rain, system), share=short(rain.clogging_share)
    )
    return Asked(rain.when_new_mm_h, LimitKind.DESIGN_RAIN, _(_RAIN_NAME), detail, CLOGGING_SHARE_SOURCE)


def _rain_words(rain: DesignRainLimit, system: UnitSystem) -> str:
    return _("{rate}, times 1 + {ratio} for run-on").format(
        rate=format_rate(rain.intensity_mm_h, system), ratio=to_digits(rain.run_on_ratio, 3)
    )


def _asked_by_agreement(agreed: Agreed, name: str) -> Asked:
    require_positive(name, agreed.rate_mm_h, "mm/h", gettext_noop("Leave it empty if none was agreed."))
    source = Source(agreed.where or gettext_noop("Agreed with the owner"), SourceStatus.ENTERED)
    return Asked(agreed.rate_mm_h, LimitKind.AGREED, _("the agreement with the owner"), agreed.where, source)


def _highest(known: list[Asked], system: UnitSystem) -> Governing:
    first, *others = sorted(known, key=lambda asked: -asked.rate_mm_h)
    rate = format_rate(first.rate_mm_h, system)
    # Translators: {what} is the name of a rule or "the design rain", with how it comes about in brackets.
    reason = _("{rate}, from {what}.").format(rate=rate, what=first.words)
    if others:
        asks = _("{what} asks {rate}")
        told = "; ".join(
            asks.format(what=one.words, rate=format_rate(one.rate_mm_h, system)) for one in others
        )
        said = _("{rate}, from {what}; it is the highest: {others}.")
        reason = said.format(rate=rate, what=first.words, others=told)
    return Governing(first.rate_mm_h, first.kind, reason, (first, *others))
