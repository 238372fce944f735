"""The certificate of a test round, gathered for one audience."""

from collections.abc import Iterable, Sequence

from django.conf import settings
from django.db.models import prefetch_related_objects
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from accounts.calc.audience import Audience, Matter
from core.calc.format import counted, format_measure, format_rate
from core.calc.paving import TestMethod
from core.calc.units import Quantity
from qa.calc.acceptance import Judgement
from qa.calc.citing import VerifiedSources, cited
from qa.calc.deviations import Deviation
from qa.calc.effects import Effect
from qa.calc.methods import facts_on
from qa.calc.rounds import Purpose
from qa.models import InfiltrationTest, TestRound
from qa.presentation import disclaimers
from qa.selectors.rounds import MethodResult, RoundResult, acceptance_verdict, round_result
from reporting.calc.certificate import CertificateSnapshot, DepartureLine, MethodLine, ResultPart
from reporting.calc.values import UnitText, in_both
from reporting.selectors.handover_tests import bounded, spots_said, test_line, weather_said
from reporting.selectors.parts import acceptance_asked, limit_part
from reporting.selectors.sources import verified_sources

_MEASURED = gettext_noop(
    "This paper tells what was measured. It is no warranty and no design, and unsigned it certifies nothing: "
    "acceptance belongs to the licensed professional and the authority, and local codes prevail."
)
_ON_RECORD = gettext_noop("The rates asked are those on record on the day this paper was made.")
_REACHED = {Judgement.PASSES: True, Judgement.FAILS: False}
_WHOLE_ROUND = gettext_noop("Whole round")
_WEIGHTIEST_FIRST = (Effect.VOIDS, Effect.BOUNDS, Effect.NOTE)


def certificate_snapshot(round_: TestRound, audience: Audience) -> CertificateSnapshot:
    """Everything the certificate says, read from the record."""
    surface, result = round_.surface, round_result(round_, "si")
    standing, leading = result.standing, result.leading
    verified = verified_sources(surface.organisation, audience)
    return CertificateSnapshot(
        audience=audience,
        key=round_.pk,
        surface=surface.name,
        site=surface.site.name,
        address=surface.site.address,
        owner=surface.site.owner.name,
        firm=surface.organisation.name,
        surface_type=str(surface.get_surface_type_display()),
        area=in_both(lambda units: format_measure(surface.area_m2, Quantity.AREA, units)),
        purpose=Purpose(round_.purpose).label,
        tested_on=round_.tested_on,
        made_on=surface.site.today(),
        demo_notice=_(settings.DEMO_NOTICE),
        methods=method_lines(standing, surface.surface_type, verified),
        result=result_part(round_, result, audience),
        mean=bounded(leading.statistics.mean) if leading else None,
        lowest=bounded(leading.statistics.lowest) if leading else None,
        by_method=leading.method.in_sentence if leading else "",
        spots=_spots(round_, result),
        limit=limit_part(surface, verified),
        asked=acceptance_asked(surface, verified),
        tests=tuple(test_line(test) for test in standing),
        departures=departure_lines(result.deviations, standing),
        set_aside=audience.shown(Matter.SET_ASIDE_RECORDS, len(result.left_out), 0),
        weather=in_both(lambda units: weather_said(round_, units)),
        tested_by=audience.shown(Matter.PEOPLE, _tested_by(round_, standing), ""),
        cautions=(_(_MEASURED), f"{_(disclaimers.ONE_SPOT_ONE_DAY)} {_(_ON_RECORD)}"),
    )


def method_lines(
    tests: Iterable[InfiltrationTest], surface_type: str, verified: VerifiedSources
) -> tuple[MethodLine, ...]:
    """The methods that were used, each once, with what it cannot say."""
    used = {test.method for test in tests}
    return tuple(_method(method, surface_type, verified) for method in TestMethod if method in used)


def _method(method: TestMethod, surface_type: str, verified: VerifiedSources) -> MethodLine:
    facts = facts_on(method, surface_type)
    said = cited(facts.source, verified)
    return MethodLine(method.label, f"{said.text}.", _(facts.caution), said.unverified)


def _spots(round_: TestRound, result: RoundResult) -> UnitText:
    """How many spots of how many; no number is asked of a round without the ring."""
    if result.leading and not result.asks_for_spots:
        tested = str(len(result.leading.spots))
        return UnitText(tested, tested)
    return in_both(lambda units: spots_said(round_.surface, result, units))


def result_part(round_: TestRound, result: RoundResult, audience: Audience) -> ResultPart:
    """A round that was set aside says nothing, whatever its tests would have said."""
    if not round_.is_active:
        reason = audience.shown(Matter.SET_ASIDE_RECORDS, round_.state_reason, "")
        aside = _("This round was set aside and counts nowhere.")
        said = f"{aside} {reason}".strip()
        return ResultPart(None, _("No result: the round was set aside"), UnitText(said, said))
    if round_.purpose == Purpose.ACCEPTANCE:
        judgement = acceptance_verdict(round_.surface, result, "si").judgement
        reasons = in_both(lambda units: acceptance_verdict(round_.surface, result, units).reason)
        return ResultPart(_REACHED.get(judgement), judgement.label, reasons)
    return _against_limit(round_, result)


def _against_limit(round_: TestRound, result: RoundResult) -> ResultPart:
    """A round that accepts nothing is held against the limit, spot by spot."""
    leading = result.leading
    if leading is None:
        said = _("No test was recorded.")
        if result.has_tests:
            said = _("No test with a rate counts in this round.")
        return ResultPart(None, _("No result"), UnitText(said, said))
    reached, word = _spots_below(leading, result.still_needed)
    return ResultPart(reached, word, in_both(lambda units: _mean_and_limit(round_, leading, units)))


def _spots_below(leading: MethodResult, still_needed: int) -> tuple[bool | None, str]:
    against, spots = leading.against_limit, counted(len(leading.spots), "spot")
    if against.below:
        return False, _("{count} of {spots} below the limit").format(count=against.below, spots=spots)
    if against.undecided:
        said = _("Cannot tell: {count} of {spots} only bounded")
        return None, said.format(count=against.undecided, spots=spots)
    if still_needed:
        said = ngettext(
            "Cannot tell: {count} spot too few", "Cannot tell: {count} spots too few", still_needed
        )
        return None, said.format(count=still_needed)
    return True, _("No spot below the limit")


def _mean_and_limit(round_: TestRound, leading: MethodResult, units: str) -> str:
    limit = format_rate(round_.surface.limit_mm_h, units)
    said = _("The limit is {limit}. This round ({purpose}) is not an acceptance test.").format(
        limit=limit, purpose=Purpose(round_.purpose).in_sentence
    )
    if leading.is_ring and not leading.converted:
        return said
    how = _("The limit is held against the rate as this method measured it.")
    if leading.converted:
        how = _("The limit is held against what a ring might have read.")
    return f"{said} {how}"


def departure_lines(
    of_round: Sequence[Deviation], tests: Iterable[InfiltrationTest]
) -> tuple[DepartureLine, ...]:
    """Each departure once, with the spots it was found at; those that take most from the result first."""
    where: dict[tuple[Effect, str], dict[str, None]] = {}
    of_tests = ((test.place, found) for test in tests for found in test.deviations)
    for place, found in (*((_(_WHOLE_ROUND), found) for found in of_round), *of_tests):
        where.setdefault((found.effect, found.message), {})[place] = None
    by_weight = sorted(where.items(), key=lambda each: _WEIGHTIEST_FIRST.index(each[0][0]))
    return tuple(DepartureLine(", ".join(places), what, effect.label) for (effect, what), places in by_weight)


def _tested_by(round_: TestRound, tests: Sequence[InfiltrationTest]) -> str:
    """Those who recorded the tests, each once; of a round without tests, who recorded it."""
    prefetch_related_objects(tests, "recorded_by")
    rows = tests or (round_,)
    return ", ".join(dict.fromkeys(str(row.recorded_by or _("unknown")) for row in rows))
