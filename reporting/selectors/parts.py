"""From rows to the pieces of a snapshot. What the audience may not read is left out here."""

from collections.abc import Iterable, Mapping
from uuid import UUID

from django.db.models import Prefetch

from accounts.calc.audience import Audience, Matter
from core.calc.file_kinds import MediaType
from core.calc.paving import SurfaceType
from core.calc.payload import UNREADABLE
from core.errors import UnreadablePayloadError
from core.models.files import StoredFile
from maintenance.calc.text import names_money, speak
from maintenance.calc.vocabulary import Action, RecommendationStatus, SurfaceState
from maintenance.models import AdviceRelease, Forecast, Recommendation
from maintenance.selectors.records import state_counts
from planning.models import Agreement
from planning.selectors.quotes import approval_of_row, with_approval
from qa.calc.buildups import LayerKind
from qa.calc.citing import VerifiedSources, cited
from qa.calc.counts import Zone
from qa.calc.limits import Governing
from qa.calc.rounds import Rate
from qa.calc.sources import Source
from qa.models import Location, Outline, Site, Surface
from qa.presentation.plan import LAID_OF_UNITS
from qa.selectors.rounds import acceptance_verdict, last_ring_rates, latest_acceptance_round, round_result
from qa.selectors.surface_limits import acceptance_of, limit_known
from qa.selectors.water import stored_below_mm
from reporting.calc.handover import CarePart
from reporting.calc.parts import (
    AcceptancePart,
    AdvicePart,
    AgreementPart,
    AskedRate,
    BuildUpPart,
    FilePart,
    LayerPart,
    PlanPart,
    SpotPart,
    Standing,
    StateCount,
    VerdictPart,
)
from reporting.calc.values import BoundedRate, Money, UnitText, in_both

# Of the stones in a drawing. Few, so that drawings of like build-ups share theirs; it takes long to lay them.
SEEDS = 8


def forecast_of(surface: Surface) -> Forecast | None:
    """The surface's forecast, None before the first."""
    forecast: Forecast | None = getattr(surface, "forecast", None)
    return forecast


def standing(surface: Surface) -> Standing:
    """What a surface is and how it stands. Expects site and forecast joined."""
    forecast = forecast_of(surface)
    return Standing(
        key=surface.pk,
        name=surface.name,
        site=surface.site.name,
        site_key=surface.site_id,
        surface_type=SurfaceType(surface.surface_type),
        area_m2=surface.area_m2,
        opened_on=surface.opened_on,
        opens_later=surface.opens_later,
        removed_on=surface.removed_on,
        limit_mm_h=surface.limit_mm_h,
        state=SurfaceState(forecast.surface_state) if forecast else SurfaceState.NOT_TESTED,
        rate_now_mm_h=forecast.rate_now_mm_h if forecast else None,
        below_50_on=forecast.below_50_on if forecast else None,
        today=surface.site.today(),
    )


def counted_states(states: Iterable[str | None] | Mapping[str | None, int]) -> tuple[StateCount, ...]:
    """How many surfaces stand how, the worst first, as `state_counts`; states that none is in are left out."""
    return tuple(StateCount(SurfaceState(state), count) for state, _, count in state_counts(states) if count)


def limit_part(surface: Surface, verified: VerifiedSources) -> AskedRate:
    """The rate the surface must keep. Of a row stored without what it is made from, only the rate and its source."""
    known = {units: limit_known(surface, units) for units in ("si", "us")}
    return asked_rate(known["si"], known["us"], verified) or AskedRate(
        surface.limit_mm_h, surface.limit_source
    )


def acceptance_asked(surface: Surface, verified: VerifiedSources) -> AskedRate | None:
    """The rate that was required for acceptance, None where nothing asks for one."""
    return asked_rate(acceptance_of(surface, "si"), acceptance_of(surface, "us"), verified)


def asked_rate(
    in_si: Governing | None, in_us: Governing | None, verified: VerifiedSources
) -> AskedRate | None:
    """A rate with its reason, from the same rule worded in both systems."""
    if in_si is None or in_us is None:
        return None
    said = cited(in_si.source, verified)
    return AskedRate(
        rate_mm_h=in_si.limit_mm_h,
        source="" if said.text in in_si.reason else said.text,
        reason=UnitText(in_si.reason, in_us.reason),
        brief=UnitText(in_si.asked[0].words, in_us.asked[0].words),
        citation=said.text,
        unverified=said.unverified,
    )


def care_part(what: str, source: Source, verified: VerifiedSources) -> CarePart:
    """Something to do or to go by, with its source as documents say it."""
    said = cited(source, verified)
    return CarePart(what, said.text, said.unverified)


def acceptance_part(surface: Surface, verified: VerifiedSources) -> AcceptancePart:
    """What is required for acceptance, and what the latest acceptance round says."""
    asked, latest = acceptance_asked(surface, verified), latest_acceptance_round(surface)
    if latest is None:
        return AcceptancePart(asked, None)
    result = round_result(latest, "si")
    verdicts = {units: acceptance_verdict(surface, result, units) for units in ("si", "us")}
    reason = UnitText(verdicts["si"].reason, verdicts["us"].reason)
    verdict = VerdictPart(verdicts["si"].judgement, reason, latest.pk, latest.tested_on)
    return AcceptancePart(asked, verdict)


def advice_of(surface: Surface, audience: Audience) -> tuple[AdvicePart, ...]:
    """What is ahead at a surface: to the firm as it stands, with what the owner was shown; to others as released."""
    joined = "surface__site", "surface__forecast"
    if not audience.sees(Matter.UNRELEASED_ADVICE):
        shown = surface.advice_releases.shown().select_related("recommendation", *joined)
        return released_parts(shown, audience)
    standing_releases = Prefetch("releases", AdviceRelease.objects.standing(), "standing_releases")
    rows = with_approval(surface.recommendations.ahead()).select_related(*joined)
    rows = rows.prefetch_related(standing_releases)
    return tuple(_advice(row, standing(row.surface)) for row in rows)


def _advice(row: Recommendation, surface: Standing) -> AdvicePart:
    releases: list[AdviceRelease] = row.standing_releases  # type: ignore[attr-defined]  # as prefetched above
    shown = next(iter(releases), None)
    return AdvicePart(
        key=row.pk,
        title=row.title,
        due_on=row.due_on,
        reasons=tuple(_spoken(reason) for reason in row.reasons),
        status=RecommendationStatus(row.status),
        cost=None if row.cost is None else Money(row.cost, row.currency),
        surface=surface,
        released_on=row.surface.site.today(shown.released_at) if shown else None,
        release_key=shown.pk if shown else None,
        differs=shown is not None and shown.differs_since is not None,
        approval=approval_of_row(row),
        action=Action(row.action),
    )


def released_parts(rows: Iterable[AdviceRelease], audience: Audience) -> tuple[AdvicePart, ...]:
    """What was released, in its words and at its price of that day, what is due first.

    Expects the recommendations and the surfaces joined, the surfaces with their sites and forecasts.
    """
    seen: dict[UUID, Standing] = {}
    parts = (
        _released(row, seen.setdefault(row.surface_id, standing(row.surface)), audience)
        for row in rows
        if row.recommendation.status == RecommendationStatus.PLANNED or audience.sees(Matter.UNDECIDED_ADVICE)
    )
    return tuple(sorted(parts, key=lambda part: (part.due_on, part.surface.title, part.title)))


def _released(row: AdviceRelease, surface: Standing, audience: Audience) -> AdvicePart:
    content, prices = row.content, audience.sees(Matter.PRICES)
    cost = None if content.cost is None else Money(content.cost, content.currency)
    return AdvicePart(
        key=row.recommendation_id,
        title=content.action.in_words(content.method),  # as it was released, in the language of who reads it
        due_on=content.due_on,
        reasons=tuple(_spoken(said) for said in content.reasons if prices or not names_money(said)),
        status=RecommendationStatus(row.recommendation.status),
        cost=cost if prices else None,
        surface=surface,
        released_on=row.surface.site.today(row.released_at),
        release_key=row.pk,
        is_as_released=True,
        action=Action(row.recommendation.action),
    )


def _spoken(sentence: str) -> UnitText:
    return in_both(lambda units: speak(sentence, units))


def spoken_all(sentences: Iterable[str]) -> tuple[UnitText, ...]:
    """Stored sentences with their numbers in words."""
    return tuple(_spoken(sentence) for sentence in sentences)


def agreement_part(site: Site, audience: Audience) -> AgreementPart | None:
    """What the owner bought, None where nothing was agreed or the reader may not know."""
    agreement: Agreement | None = getattr(site, "agreement", None)
    if agreement is None or not audience.sees(Matter.AGREEMENT):
        return None
    price = agreement.price_per_year
    return AgreementPart(
        tests_per_year=agreement.tests_per_year,
        cleanings_per_year=agreement.cleanings_per_year,
        price_per_year=Money(price, agreement.currency) if price and audience.sees(Matter.PRICES) else None,
        since=agreement.since,
        until=agreement.term_end(site.today()),
    )


def file_parts(rows: Iterable[StoredFile], audience: Audience) -> tuple[FilePart, ...]:
    """Photos and PDFs; those that were set aside only for who may see them."""
    return tuple(
        _file(row, audience) for row in rows if row.is_active or audience.sees(Matter.SET_ASIDE_FILES)
    )


def active_file_parts(rows: Iterable[StoredFile], audience: Audience) -> tuple[FilePart, ...]:
    """Photos and PDFs that count, for documents that show no others to anybody."""
    return file_parts((row for row in rows if row.is_active), audience)


def _file(row: StoredFile, audience: Audience) -> FilePart:
    return FilePart(
        key=row.pk,
        what=str(row),
        is_photo=row.is_photo,
        is_video=row.is_video,
        media_type=MediaType(row.media_type),
        location_kept=row.location_kept,
        is_active=row.is_active,
        set_aside=audience.shown(Matter.INTERNAL_REASONS, row.state_reason, ""),
    )


def build_up_part(surface: Surface) -> BuildUpPart:
    """What the cross-section is drawn from."""
    layers = list(surface.layers.all())
    return BuildUpPart(
        surface_type=SurfaceType(surface.surface_type),
        layers=tuple(
            LayerPart(
                kind=LayerKind(layer.kind),
                material=layer.material,
                thickness_mm=layer.thickness_mm,
                stone_min_mm=layer.stone_min_mm,
                stone_max_mm=layer.stone_max_mm,
                porosity=layer.porosity,
            )
            for layer in layers
        ),
        joint_width_mm=surface.joint_width_mm,
        overflow_invert_mm=surface.overflow_invert_mm,
        overflow_diameter_mm=surface.overflow_diameter_mm,
        stored_below_mm=stored_below_mm(surface, layers),
        seed=surface.pk.int % SEEDS,
    )


def plan_part(surface: Surface) -> PlanPart | None:
    """What the plan is drawn from, None where no outline is recorded."""
    outline: Outline | None = getattr(surface, "outline", None)
    if outline is None:
        return None
    try:
        plan = outline.plan
    except UnreadablePayloadError:
        return PlanPart(problem=UNREADABLE)
    laid_of_units = surface.surface_type in LAID_OF_UNITS
    return PlanPart(plan.outline, plan.run_on_edges, plan.low_point, laid_of_units)


def spot_parts(surface: Surface) -> tuple[SpotPart, ...]:
    """Its test locations with what the ring last read at each that was placed."""
    rows = list(surface.locations.filter(retired=False))
    last = last_ring_rates([row for row in rows if row.x_m is not None])
    return tuple(_spot(row, last.get(row.pk)) for row in rows)


def last_rates(surfaces: Iterable[Surface]) -> dict[UUID, Rate]:
    """What the ring last read at the placed locations of many surfaces, fetched with them as `places`; one query."""
    places: list[Location] = [row for surface in surfaces for row in surface.places]  # type: ignore[attr-defined]
    return last_ring_rates([row for row in places if row.x_m is not None])


def spots_with(surface: Surface, last: Mapping[UUID, Rate]) -> tuple[SpotPart, ...]:
    """The same as `spot_parts` from what was read already."""
    return tuple(_spot(row, last.get(row.pk)) for row in surface.places)  # type: ignore[attr-defined]


def _spot(row: Location, last: Rate | None) -> SpotPart:
    return SpotPart(
        label=row.label,
        zone=Zone(row.zone),
        description=row.description,
        x_m=row.x_m,
        y_m=row.y_m,
        last=None if last is None else BoundedRate(last.rate_mm_h, last.bound),
    )
