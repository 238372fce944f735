"""Whether an acceptance test of a new surface passes, fails, or cannot tell."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from core.calc.bounds import Bound
from core.calc.choices import TextChoice
from core.calc.format import counted, format_rate
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
        return _cannot("No acceptance rate is known. Choose a rule that gives one, or enter the agreed rate.")
    if spots < needed and not_taken.left_out:
        return Verdict(Judgement.TOO_FEW_VALID, _too_few_valid(spots, needed, not_taken))
    if mean is None:
        return _cannot("No test of this round counts yet.")
    wanted, found = format_rate(asked.limit_mm_h, system), format_rate(mean.rate_mm_h, system)
    if spots < needed:
        return _cannot(
            f"{spots} of at least {needed} spots tested; their mean of {_marked(mean, found)} is not yet that of "
            f"the surface. {wanted} is asked."
        )
    judgement = _compare(mean, asked.limit_mm_h)
    reason = f"The mean of {_marked(mean, found)} {_SAID[judgement]} the {wanted} required for acceptance."
    return Verdict(judgement, " ".join([reason, *_beside(not_taken, deviations)]))


def _too_few_valid(spots: int, needed: int, not_taken: SpotsNotTaken) -> str:
    more = needed - spots
    todo = (
        "Start a new round once 24 h have passed without rain and no water stands on the surface, and test "
        f"{counted(needed, 'spot')} in it."
        if not_taken.by_weather
        else f"Test {more} more {'spot' if more == 1 else 'spots'} by the method; a spot that was left out may be "
        "tested again."
    )
    counts = "counts" if spots == 1 else "count"
    return f"{spots} of at least {counted(needed, 'spot')} {counts}. {_left_out(not_taken)} {todo}"


def _left_out(not_taken: SpotsNotTaken) -> str:
    return f"Left out: {_with_reasons(not_taken.left_out)}."


def _beside(not_taken: SpotsNotTaken, deviations: int) -> list[str]:
    """What has to be known beside the mean."""
    found = []
    if not_taken.left_out:
        found.append(_left_out(not_taken))
    if not_taken.upper_bounds:
        found.append(f"Upper bounds only: {_with_reasons(not_taken.upper_bounds)}.")
    if deviations:
        found.append(f"Note {counted(deviations, 'deviation')} from the method.")
    return found


def _with_reasons(spots: Mapping[str, Sequence[str]]) -> str:
    """Spots by what they have in common: "A, B (water stood on the surface); C (water left past the seal)"."""
    places: dict[tuple[str, ...], list[str]] = {}
    for place, why in spots.items():
        places.setdefault(tuple(dict.fromkeys(why)), []).append(place)
    return "; ".join(f"{', '.join(each)} ({'; '.join(why)})" for why, each in places.items())


_SAID = {
    Judgement.PASSES: "reaches",
    Judgement.FAILS: "is below",
    Judgement.CANNOT_TELL: "is only a bound and cannot be told from",
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
