"""Whether an acceptance test of a new surface passes, fails, or cannot tell."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from core.calc.bounds import Bound
from core.calc.choices import TextChoice
from core.calc.format import counted, format_rate
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop, ngettext
from core.calc.units import UnitSystem
from qa.calc.limits import Governing, is_below
from qa.calc.rounds import Summary


class Judgement(TextChoice):
    """What an acceptance test says."""

    PASSES = "passes", "Passes"
    FAILS = "fails", "Fails"
    CANNOT_TELL = "cannot_tell", "Cannot tell yet"
    TOO_FEW_VALID = "too_few_valid", "Cannot tell: too few valid tests"


@dataclass(frozen=True, slots=True)
class Verdict:
    """The judgement with its reason in a person's units."""

    judgement: Judgement
    reason: str


@dataclass(frozen=True, slots=True)
class SpotsNotTaken:
    """Spots whose tests are not taken as they were read, each with why, in a few words.

    left_out: those that do not count, since no test there was valid. upper_bounds: those whose rate is at most what was
    read. by_weather: whether the weather of the day voided the tests.
    """

    left_out: Mapping[str, Sequence[str]] = field(default_factory=lambda: MappingProxyType({}))
    upper_bounds: Mapping[str, Sequence[str]] = field(default_factory=lambda: MappingProxyType({}))
    by_weather: bool = False


ALL_TAKEN = SpotsNotTaken()


def judge_acceptance(
    mean: Summary | None,
    asked: Governing | None,
    *,
    spots: int,
    needed: int,
    not_taken: SpotsNotTaken = ALL_TAKEN,
    deviations: int = 0,
    system: UnitSystem = UnitSystem.SI,
) -> Verdict:
    """The mean of the spots against the rate asked of a new surface.

    mean: arithmetic mean of the valid spots in mm/h, None while no test counts. spots: valid ones. needed: spots the
    area asks for; with fewer the mean is not that of the pavement. deviations: of the tests that count, to be named.

    Source: the mean of several locations stands for the pavement, ASTM C1701/C1701M and C1781/C1781M,
    significance and use (looked up); a rate equal to the one asked is accepted ("at least").
    """
    if asked is None:
        return _cannot(
            _("No acceptance rate is known. Choose a rule that gives one, or enter the agreed rate.")
        )
    if spots < needed and not_taken.left_out:
        return Verdict(Judgement.TOO_FEW_VALID, _too_few_valid(spots, needed, not_taken))
    if mean is None:
        return _cannot(_("No test of this round counts yet."))
    wanted, found = format_rate(asked.limit_mm_h, system), format_rate(mean.rate_mm_h, system)
    if spots < needed:
        said = ngettext(
            "{spots} of at least {needed} spots tested; their mean of {mean} is not yet that of the surface. "
            "{asked} is asked.",
            "{spots} of at least {needed} spots tested; their mean of {mean} is not yet that of the surface. "
            "{asked} is asked.",
            spots,
        )
        return _cannot(said.format(spots=spots, needed=needed, mean=_marked(mean, found), asked=wanted))
    judgement = _compare(mean, asked.limit_mm_h)
    reason = _(_SAID[judgement]).format(mean=_marked(mean, found), asked=wanted)
    return Verdict(judgement, " ".join([reason, *_beside(not_taken, deviations)]))


def _too_few_valid(spots: int, needed: int, not_taken: SpotsNotTaken) -> str:
    counts = ngettext(
        "{spots} of at least {needed} counts.", "{spots} of at least {needed} count.", spots
    ).format(spots=spots, needed=counted(needed, "spot"))
    return " ".join((counts, _left_out(not_taken), _what_to_test(needed - spots, needed, not_taken)))


def _what_to_test(more: int, needed: int, not_taken: SpotsNotTaken) -> str:
    if not_taken.by_weather:
        said = _(
            "Start a new round once 24 h have passed without rain and no water stands on the surface, and test "
            "{spots} in it."
        )
        return said.format(spots=counted(needed, "spot"))
    return ngettext(
        "Test {more} more spot by the method; a spot that was left out may be tested again.",
        "Test {more} more spots by the method; a spot that was left out may be tested again.",
        more,
    ).format(more=more)


def _left_out(not_taken: SpotsNotTaken) -> str:
    return _("Left out: {spots}.").format(spots=_with_reasons(not_taken.left_out))


def _beside(not_taken: SpotsNotTaken, deviations: int) -> list[str]:
    """What has to be known beside the mean."""
    found = []
    if not_taken.left_out:
        found.append(_left_out(not_taken))
    if not_taken.upper_bounds:
        found.append(_("Upper bounds only: {spots}.").format(spots=_with_reasons(not_taken.upper_bounds)))
    if deviations:
        said = _("Note {deviations} from the method.")
        found.append(said.format(deviations=counted(deviations, "deviation")))
    return found


def _with_reasons(spots: Mapping[str, Sequence[str]]) -> str:
    """Spots by what they have in common: "A, B (water stood on the surface); C (water left past the seal)"."""
    places: dict[tuple[str, ...], list[str]] = {}
    for place, why in spots.items():
        places.setdefault(tuple(dict.fromkeys(why)), []).append(place)
    return "; ".join(f"{', '.join(each)} ({'; '.join(why)})" for why, each in places.items())


_SAID = {
    Judgement.PASSES: gettext_noop("The mean of {mean} reaches the {asked} required for acceptance."),
    Judgement.FAILS: gettext_noop("The mean of {mean} is below the {asked} required for acceptance."),
    Judgement.CANNOT_TELL: gettext_noop(
        "The mean of {mean} is only a bound and cannot be told from the {asked} required for acceptance."
    ),
}


def _compare(mean: Summary, asked_mm_h: float) -> Judgement:
    below = is_below(mean.rate_mm_h, asked_mm_h)
    if mean.bound is Bound.EXACT:
        return Judgement.FAILS if below else Judgement.PASSES
    # "below 300" fails where 300 is asked; "above 300" passes there.
    if mean.bound is Bound.BELOW and mean.rate_mm_h <= asked_mm_h:
        return Judgement.FAILS
    if mean.bound is Bound.ABOVE and not below:
        return Judgement.PASSES
    return Judgement.CANNOT_TELL


def _cannot(reason: str) -> Verdict:
    return Verdict(Judgement.CANNOT_TELL, reason)


def _marked(mean: Summary, found: str) -> str:
    return found if mean.bound is Bound.EXACT else f"{mean.bound.value} {found}"
