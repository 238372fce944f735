"""Whether an acceptance test of a new surface passes, fails, or cannot tell."""

from dataclasses import dataclass

from core.calc.bounds import Bound
from core.calc.choices import TextChoice
from core.calc.format import format_rate
from core.calc.units import UnitSystem
from qa.calc.limits import Governing, is_below
from qa.calc.rounds import Summary


class Judgement(TextChoice):
    """What an acceptance test says."""

    PASSES = "passes", "Passes"
    FAILS = "fails", "Fails"
    CANNOT_TELL = "cannot_tell", "Cannot tell yet"


@dataclass(frozen=True, slots=True)
class Verdict:
    """The judgement with its reason in a person's units."""

    judgement: Judgement
    reason: str


def judge_acceptance(
    mean: Summary | None,
    asked: Governing | None,
    *,
    spots: int,
    needed: int,
    departures: int = 0,
    system: UnitSystem = UnitSystem.SI,
) -> Verdict:
    """The mean of the spots against the rate asked of a new surface.

    mean: arithmetic mean of the spots in mm/h, None while no test counts. needed: spots the area asks
    for; with fewer the mean is not that of the pavement. departures: from the method, to be named.

    Source: the mean of several locations stands for the pavement, ASTM C1701/C1701M and C1781/C1781M,
    significance and use (looked up); a rate equal to the one asked is accepted ("at least").
    """
    if asked is None:
        return _cannot("No acceptance rate is known. Choose a rule that gives one, or enter the agreed rate.")
    if mean is None:
        return _cannot("No test of this round counts yet.")
    wanted, found = format_rate(asked.limit_mm_h, system), format_rate(mean.rate_mm_h, system)
    if spots < needed:
        return _cannot(
            f"{spots} of at least {needed} spots tested; their mean of {_marked(mean, found)} is not yet that of "
            f"the surface. {wanted} is asked."
        )
    judgement = _compare(mean, asked.limit_mm_h)
    reason = f"The mean of {_marked(mean, found)} {_SAID[judgement]} the {wanted} asked when new."
    if departures:
        reason += f" Read it with the {departures} departure{'s' if departures > 1 else ''} from the method."
    return Verdict(judgement, reason)


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
