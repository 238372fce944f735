"""The record behind an inspector's link, gathered in a constant number of queries for whoever is given a link.

It is read when it is opened, not kept: an inspector decides by what holds now, and a test that was corrected or set
aside since must not go on speaking from an older page. Who wants a state that stays keeps a report.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from uuid import UUID

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db.models import F, Q
from django.utils.translation import gettext as _

from accounts.calc.audience import Audience
from accounts.models import Organisation
from core.calc.audit import AuditState
from core.calc.format import day, labelled, percent
from core.calc.paving import TestMethod
from maintenance.calc.vocabulary import RecordKind
from maintenance.models import CleaningEvent
from maintenance.presentation.cleanings import cleaning_details
from maintenance.selectors.records import RecordItem, fetch_records, record_of
from qa.calc.citing import VerifiedSources
from qa.models import InfiltrationTest, Inspection, SourceChange, Surface, TestRound
from qa.presentation import disclaimers
from qa.selectors.check_counts import check_counts
from qa.selectors.days import firm_today
from qa.selectors.inspections import findings_of, summary_of
from qa.selectors.rounds import result_of
from reporting.calc.inspecting import (
    InspectedLine,
    InspectedSurface,
    InspectorSnapshot,
    construction_words,
)
from reporting.calc.snapshots import SnapshotKind
from reporting.calc.values import UnitText, in_both
from reporting.models import SharedLink, Snapshot
from reporting.selectors.certificates import departure_lines, result_part
from reporting.selectors.findings import change_words, finding_parts, inspection_remarks
from reporting.selectors.handover_tests import bounded, spots_said
from reporting.selectors.parts import acceptance_asked, limit_part
from reporting.selectors.sources import verified_sources

READER = Audience.LINK
CAUTIONS = (disclaimers.AID_ONLY, disclaimers.ONE_SPOT_ONE_DAY)


def inspector_snapshot(link: SharedLink) -> InspectorSnapshot:
    """Everything the page says, for whoever is given the link."""
    surfaces = list(_surfaces_behind(link))
    fetch_records(surfaces)
    verified = verified_sources(link.organisation, READER)
    checks = check_counts([surface.pk for surface in surfaces])
    handed_over = _handed_over(link.organisation, surfaces)
    since, until = period_of(link)
    return InspectorSnapshot(
        audience=READER,
        firm=link.organisation.name,
        since=since,
        until=until,
        sites=tuple(dict.fromkeys(surface.site.name for surface in surfaces)),
        surfaces=tuple(
            _surface(
                surface,
                construction_words(checks.get(surface.pk), on := handed_over.get(surface.pk), day(on)),
                _lines(surface, since, until),
                verified,
            )
            for surface in surfaces
        ),
        cautions=tuple(_(caution) for caution in CAUTIONS),
        demo_notice=_(settings.DEMO_NOTICE),
    )


def period_of(link: SharedLink) -> tuple[date, date]:
    """First and last day of what the link shows; without a last one, until today."""
    assert link.since is not None  # a constraint holds that of links without a document
    return link.since, link.until or firm_today(link.organisation)


def _surfaces_behind(link: SharedLink) -> Sequence[Surface]:
    """Of the sites that are still whose they were; a surface that was removed before the period is left out."""
    sites = link.shared_sites.filter(owner=F("site__owner")).values("site")
    there = Q(removed_on=None) | Q(removed_on__gte=link.since)
    rows = Surface.objects.filter(there, site__in=sites).select_related("site", "own_limit")
    return list(rows.order_by("site__name", "site_id", "name", "pk"))


def round_behind(link: SharedLink, key: str) -> TestRound | None:
    """A round that the link's page shows; None for every other."""
    rows = TestRound.objects.active().filter(
        surface__in=_surfaces_behind(link), tested_on__range=period_of(link)
    )
    try:
        found = rows.filter(pk=key)
    except ValidationError:  # a malformed id names no row
        return None
    return found.select_related("surface__site__organisation", "surface__own_limit").first()


def _handed_over(organisation: Organisation, surfaces: Sequence[Surface]) -> Mapping[UUID, date]:
    """The last day on which a handover record was kept for others than the firm, by surface."""
    kept = Snapshot.objects.of_organisation(organisation).filter(
        kind=SnapshotKind.HANDOVER, state=AuditState.ACTIVE
    )
    for_others = kept.exclude(audience=Audience.FIRM).filter(surface__in=surfaces)
    return {
        surface: until
        for surface, until in for_others.order_by("until").values_list("surface", "until")
        if surface is not None
    }


def _surface(
    surface: Surface, construction: str, lines: tuple[InspectedLine, ...], verified: VerifiedSources
) -> InspectedSurface:
    return InspectedSurface(
        key=surface.pk,
        site=surface.site.name,
        address=surface.site.address,
        name=surface.name,
        surface_type=str(surface.get_surface_type_display()),
        area_m2=surface.area_m2,
        opened_on=surface.opened_on,
        opens_later=surface.opens_later,
        removed_on=surface.removed_on,
        limit=limit_part(surface, verified),
        asked=acceptance_asked(surface, verified),
        construction=construction,
        lines=lines,
    )


def _lines(surface: Surface, since: date, until: date) -> tuple[InspectedLine, ...]:
    """What counts of the period, newest first; rounds without a test say nothing."""
    items = [item for item in record_of(surface, None) if item.row.is_active and since <= item.on <= until]
    return tuple(_line(item, surface) for item in items if not _is_empty(item))


def _is_empty(item: RecordItem) -> bool:
    return isinstance(item.row, TestRound) and not item.row.active_tests  # type: ignore[attr-defined]  # fetched


def _line(item: RecordItem, surface: Surface) -> InspectedLine:
    row = item.row
    if isinstance(row, TestRound):
        return _of_round(row, row.active_tests, surface)  # type: ignore[attr-defined]  # fetched
    if isinstance(row, CleaningEvent):
        return InspectedLine(row.pk, item.kind, item.on, str(row.get_method_display()), said=_cleaned(row))
    if isinstance(row, Inspection):
        return _of_inspection(row, surface)
    return _of_source(row)


def _of_round(round_: TestRound, tests: Sequence[InfiltrationTest], surface: Surface) -> InspectedLine:
    round_.surface = surface
    result = result_of(round_, tests, "si")
    leading, said = result.leading, result_part(round_, result, READER)
    found = departure_lines(result.deviations, result.standing)
    used = {test.method for test in tests}
    return InspectedLine(
        key=round_.pk,
        kind=RecordKind.ROUND,
        on=round_.tested_on,
        title=_("{purpose} round").format(purpose=round_.get_purpose_display()),
        methods=tuple(method.label for method in TestMethod if method in used),
        spots=in_both(lambda units: spots_said(surface, result, units)) if result.ring else None,
        mean=bounded(leading.statistics.geometric_mean) if leading else None,
        lowest=bounded(leading.statistics.lowest) if leading else None,
        result=said.word,
        reason=said.reason,
        reached=said.reached,
        deviations=tuple(labelled(line.where, f"{line.what} {line.effect}.") for line in found),
    )


def _cleaned(row: CleaningEvent) -> tuple[UnitText, ...]:
    how: list[str] = []
    if row.share_of_area < 1:
        how = [_("{share} of the area").format(share=percent(row.share_of_area))]
    plain = [*how, str(row.get_wetness_display()).lower()]
    details = cleaning_details(row, with_people=False)
    return (*(UnitText(text, text) for text in plain), *(in_both(say) for say in details))


def _of_inspection(row: Inspection, surface: Surface) -> InspectedLine:
    said = (summary_of(row), *inspection_remarks(row, surface))
    return InspectedLine(
        key=row.pk,
        kind=RecordKind.INSPECTION,
        on=row.inspected_on,
        title=RecordKind.INSPECTION.label,
        said=tuple(UnitText(text, text) for text in said),
        findings=finding_parts(findings_of(row), READER),
    )


def _of_source(row: SourceChange) -> InspectedLine:
    words = change_words(row)
    return InspectedLine(
        row.pk,
        RecordKind.SOURCE,
        row.changed_on,
        str(row.get_kind_display()),
        said=(UnitText(words, words),),
    )
