"""Quotes as pages read them: what is to be quoted, which there are, and what became of those for a piece of work."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.utils.timezone import now
from django.utils.translation import gettext as _

from accounts.calc.roles import Role
from accounts.models import Membership, Organisation, User
from core.calc.format import percent
from core.calc.paving import CleaningMethod
from core.calc.units import UnitSystem
from maintenance.calc.text import names_money, speak
from maintenance.calc.vocabulary import Action
from maintenance.models import CleaningEvent, PriceList, Recommendation
from maintenance.models.recommendations import action_words
from planning.calc.quote_lines import Prices, Work
from planning.calc.quotes import approval_state
from planning.calc.vocabulary import ApprovalState, QuoteState
from planning.models import QuoteLine, QuoteVersion
from qa.models import Site, Surface
from qa.selectors.days import usual_date

ADVICE = "advice "  # before the id, where a plan names a piece of advice
TELLING = (QuoteState.DECLINED, QuoteState.SENT)  # whatever became of the advice
RANKS = (QuoteState.APPROVED, *TELLING, QuoteState.EXPIRED)  # the best first


def office_of(version: QuoteVersion) -> list[User]:
    """Of who sent and who made it those that still plan for the firm; its admins where who sent it does not."""
    quote = version.quote
    members = Membership.objects.filter(organisation=quote.organisation_id, user__is_active=True)
    planning = list(members.filter(role__gte=Role.COORDINATOR).select_related("user"))
    known = [row for row in planning if row.user_id in (version.sent_by_id, quote.made_by_id)]
    if all(row.user_id != version.sent_by_id for row in known):
        known += [row for row in planning if row.role >= Role.ADMIN and row not in known]
    return [row.user for row in known]


def prices_of(row: PriceList) -> Prices:
    """A list as the lines of a quote are worked out from it."""
    return Prices(
        row.currency,
        row.methods,
        row.test_price,
        row.inspection_price,
        row.call_out_price,
        row.material_kg_price,
        UnitSystem(row.units),
    )


def work_of(recommendations: Sequence[Recommendation], units: str) -> list[Work]:
    """Advice as it is quoted, with its deciding reason in words."""
    refills = [row.surface_id for row in recommendations if row.method_now == CleaningMethod.JOINT_REFILL]
    taken = _material_m2(refills)
    return [_work(row, units, taken) for row in recommendations]


def _work(row: Recommendation, units: str, taken: dict[UUID, float]) -> Work:
    surface = row.surface
    a_m2 = taken.get(surface.pk) if row.method_now == CleaningMethod.JOINT_REFILL else None
    return Work(
        advice=row.pk,
        surface=surface.pk,
        site=surface.site_id,
        site_name=surface.site.name,
        place=str(surface),
        action=Action(row.action),
        method=row.method_now,
        what=action_words(row.action, row.method_now),
        why=why_for_owner(row, units),
        area_m2=surface.area_m2,
        advised_price=row.cost,
        material_kg=a_m2 * surface.area_m2 if a_m2 else None,
    )


def why_for_owner(row: Recommendation, units: str) -> str:
    """One sentence that an owner understands: the first reason that weighs no money, else the chance by itself."""
    plain = next((reason for reason in row.reasons if not names_money(reason)), "")
    if plain or row.share_below is None:
        return speak(plain, units)
    said = _("The chance that it drains less than its limit asks for is {chance}.")
    return said.format(chance=percent(row.share_below))


def _material_m2(surfaces: Sequence[UUID]) -> dict[UUID, float]:
    """Joint material that the last refill of each surface took, kg for each m²."""
    if not surfaces:
        return {}
    rows = CleaningEvent.objects.active().filter(surface__in=surfaces, material_in_kg__gt=0)
    found = rows.order_by("cleaned_on").values_list(
        "surface", "material_in_kg", "share_of_area", "surface__area_m2"
    )
    return {surface: kg / (share * area) for surface, kg, share, area in found if kg}


def quotes_shown(user: User, organisation: Organisation | None) -> QuerySet[QuoteVersion]:
    """Every version a person may read, of each quote the one that counts. organisation: None for an owner's person."""
    rows = QuoteVersion.objects.for_user(user, Role.OWNER)
    if organisation is not None:
        rows = rows.of_organisation(organisation)
    counting: Any = rows
    joined: QuerySet[QuoteVersion] = counting.leading(sent_only=organisation is None).select_related(
        "quote__owner", "quote__organisation", "decided_by"
    )
    return joined.order_by("-quote__year", "-quote__number")


def to_answer(user: User) -> list[QuoteVersion]:
    """Versions that wait for the answer of an owner's person, and have not run out where their firm works."""
    rows = QuoteVersion.objects.for_user(user).answerable_by(user)  # type: ignore[attr-defined]
    sent = rows.filter(state=QuoteState.SENT).select_related("quote__owner", "quote__organisation").distinct()
    today = days_of_firms(sent)
    return [row for row in sent if row.state_on(today[row.quote.organisation_id]).waits]


def to_answer_about(user: User, surface: Surface) -> list[QuoteVersion]:
    """Of these the ones with work on a surface."""
    waiting = to_answer(user)
    here = QuoteVersion.objects.filter(pk__in=[one.pk for one in waiting], lines__surface=surface)
    keys = set(here.values_list("pk", flat=True)) if waiting else set()
    return [one for one in waiting if one.pk in keys]


def days_of_firms(versions: Iterable[QuoteVersion]) -> dict[UUID, date]:
    """The calendar day of each firm of these quotes."""
    at, zones = now(), defaultdict(list)
    firms = {version.quote.organisation_id for version in versions}
    for firm, zone in Site.objects.filter(organisation__in=firms).values_list("organisation", "time_zone"):
        zones[firm].append(zone)
    return {firm: usual_date(zones[firm], at) for firm in firms}


def quotes_of_site(user: User, site: Site) -> QuerySet[QuoteVersion]:
    """Versions with work at a site that a person may read, the newest quote first."""
    rows = QuoteVersion.objects.for_user(user).filter(
        Exists(QuoteLine.objects.filter(version=OuterRef("pk"), site=site))
    )
    shown = rows.exclude(state=QuoteState.REPLACED)
    return shown.select_related("quote__owner", "decided_by").order_by("-quote__year", "-quote__number")


def answers_to(advice: Iterable[UUID | None], today: date) -> dict[UUID | None, QuoteVersion]:
    """For each piece of advice the version that tells most: approved, declined, one that waits, one that ran out.

    An approval of other work than is advised now, in its way of cleaning or for a higher price, tells nothing.
    """
    lines = QuoteLine.objects.filter(recommendation__in=[pk for pk in advice if pk])
    covering = QuoteLine.objects.filter(pk=OuterRef("pk")).covering()
    telling = Q(version__state__in=TELLING) | Q(version__state=QuoteState.APPROVED) & Exists(covering)
    found: dict[UUID | None, QuoteVersion] = {}
    for line in lines.filter(telling).select_related("version__quote", "version__decided_by"):
        before = found.get(line.recommendation_id)
        if before is None or _rank(line.version, today) < _rank(before, today):
            found[line.recommendation_id] = line.version
    return found


def _rank(version: QuoteVersion, today: date) -> tuple[int, float]:
    """Newer answers before older ones."""
    at = version.decided_at or version.sent_at
    return RANKS.index(version.state_on(today)), -at.timestamp() if at else 0.0


def with_approval(rows: QuerySet[Recommendation]) -> QuerySet[Recommendation]:
    """Each row with the firm's sum (`approval_above`) and whether an owner approved it as it is (`is_approved`)."""
    approved = QuoteLine.objects.filter(
        recommendation=OuterRef("pk"), version__state=QuoteState.APPROVED
    ).covering()
    above: Any = F("surface__site__organisation__approval_above")
    return rows.annotate(approval_above=above, is_approved=Exists(approved))


def approval_of_row(row: Recommendation) -> ApprovalState:
    """How a row of `with_approval` stands."""
    known: Any = row
    return approval_state(row.cost, known.approval_above, is_approved=known.is_approved)


def waiting_for_approval(organisation: Organisation, keys: Iterable[str]) -> set[str]:
    """Of the pieces of work in a plan ("advice" and the id) those that still need their owner's approval."""
    if organisation.approval_above is None:
        return set()
    advice = [key.removeprefix(ADVICE) for key in keys if key.startswith(ADVICE)]
    rows = with_approval(Recommendation.objects.of_organisation(organisation).filter(pk__in=advice))
    return {f"{ADVICE}{row.pk}" for row in rows if approval_of_row(row) is ApprovalState.NEEDED}
