"""The handover record of a surface, gathered for one audience."""

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from accounts.calc.audience import Audience
from core.calc.format import day, format_measure, format_rate, format_size
from core.calc.marks import marked
from core.calc.paving import CleaningMethod
from core.calc.units import Quantity
from maintenance.calc.suitability import CARE, suited_methods
from maintenance.calc.upkeep import upkeep_of
from qa.models import ConstructionRecord, Surface
from qa.presentation import disclaimers
from qa.selectors.construction import RecordState, record_state
from reporting.calc.handover import CarePart, FactPart, HandoverSnapshot
from reporting.calc.values import in_both
from reporting.selectors.findings import look_parts
from reporting.selectors.handing_over import site_plan_part, training_parts
from reporting.selectors.handover_checks import stage_parts
from reporting.selectors.handover_tests import acceptance_rounds, grading_parts
from reporting.selectors.parts import active_file_parts, build_up_part, care_part, limit_part
from reporting.selectors.sources import verified_sources

_A_CHECK = gettext_noop("A check speaks for what was looked at, where and when.")
_MORE_CAUTIONS = (
    gettext_noop("Drawings, specification and data sheets of the job come before every criterion here."),
    disclaimers.UTILITIES,
    disclaimers.DUST_AND_TRAFFIC,
    disclaimers.WASTE_AND_WELLS,
    disclaimers.SETBACKS,
)


def handover_snapshot(surface: Surface, audience: Audience) -> HandoverSnapshot:
    """Everything the handover record says, read from the record."""
    state, verified = _state_of(surface), verified_sources(surface.organisation, audience)
    return HandoverSnapshot(
        audience=audience,
        key=surface.pk,
        site_key=surface.site_id,
        surface=surface.name,
        site=surface.site.name,
        address=surface.site.address,
        owner=surface.site.owner.name,
        firm=surface.organisation.name,
        surface_type=str(surface.get_surface_type_display()),
        made_on=surface.site.today(),
        demo_notice=_(settings.DEMO_NOTICE),
        checks_in_short=checks_in_short(state),
        complete=bool(state and state.complete),
        facts=tuple(_facts(surface)),
        build_up=build_up_part(surface),
        stages=stage_parts(state, audience, verified) if state else (),
        gradings=grading_parts(surface, audience, verified),
        limit=limit_part(surface, verified),
        acceptance=acceptance_rounds(surface, audience, verified),
        files=active_file_parts(surface.attachments.all(), audience),
        upkeep=tuple(care_part(_(u.advice), u.source, verified) for u in upkeep_of(surface.surface_type)),
        methods=_methods(surface),
        cautions=_cautions(),
        looks=look_parts(surface, audience),
        plan=site_plan_part(surface.site),
        trainings=training_parts(surface.site, audience),
    )


def _cautions() -> tuple[str, ...]:
    of_tests = f"{_(disclaimers.ONE_SPOT_ONE_DAY)} {_(_A_CHECK)}"
    return (_(disclaimers.AID_ONLY), of_tests, *(_(caution) for caution in _MORE_CAUTIONS))


def _state_of(surface: Surface) -> RecordState | None:
    record = ConstructionRecord.objects.filter(surface=surface).first()
    if record is None:
        return None
    record.surface = surface
    return record_state(record)


def checks_in_short(state: RecordState | None) -> str:
    """How the construction record stands, in a sentence or two."""
    if state is None:
        return _("No construction record was kept.")
    done = _("All {total} checks are done.") if state.complete else _("{settled} of {total} checks are done.")
    said_parts = [done.format(settled=state.settled, total=len(state.checks))]
    if count := len(state.failed):
        failed = ngettext(
            "{count} failed and is not corrected yet.", "{count} failed and are not corrected yet.", count
        )
        said_parts.append(failed.format(count=count))
    if count := len(state.waived):
        said_parts.append(ngettext("{count} is waived.", "{count} are waived.", count).format(count=count))
    return " ".join(said_parts)


def _facts(surface: Surface) -> list[FactPart]:
    opens = _("Opens to traffic on") if surface.opens_later else _("Open to traffic since")
    facts = [
        FactPart(_("Area"), in_both(lambda units: format_measure(surface.area_m2, Quantity.AREA, units))),
        FactPart(opens, in_both(lambda units: day(surface.opened_on))),
        FactPart(_("Traffic"), in_both(lambda units: str(surface.get_traffic_display()))),
        FactPart(_("Drains onto it"), in_both(lambda units: _run_on(surface, units))),
    ]
    if surface.joint_width_mm:
        width_mm = surface.joint_width_mm
        facts.append(FactPart(_("Joint width"), in_both(lambda units: format_size(width_mm, units))))
    if surface.overflow_invert_mm is not None:
        facts.append(FactPart(_("Overflow"), in_both(lambda units: _overflow(surface, units))))
    if surface.soil_rate_mm_h is not None:
        rate = in_both(lambda units: format_rate(surface.soil_rate_mm_h, units))
        facts.append(FactPart(_("Design rate of the soil"), rate))
    if surface.soil_measured_mm_h is not None and surface.soil_safety_factor is not None:
        facts.append(
            FactPart(_("Measured rate of the soil"), in_both(lambda units: _measured_soil(surface, units)))
        )
    if surface.reuse_store_m3:
        store = in_both(lambda units: format_measure(surface.reuse_store_m3, Quantity.VOLUME, units))
        facts.append(FactPart(_("Reuse store"), store))
    return facts


def _measured_soil(surface: Surface, units: str) -> str:
    return _("{rate}, over a safety factor of {factor}").format(
        rate=format_rate(surface.soil_measured_mm_h, units), factor=marked(f"{surface.soil_safety_factor:g}")
    )


def _run_on(surface: Surface, units: str) -> str:
    if not surface.run_on_area_m2:
        return _("none")
    area = format_measure(surface.run_on_area_m2, Quantity.AREA, units)
    if not surface.run_on_from:
        return area
    return _("{area} of {ground}").format(area=area, ground=surface.run_on_from)


def _overflow(surface: Surface, units: str) -> str:
    return _("{height} above the subgrade").format(height=format_size(surface.overflow_invert_mm, units))


def _methods(surface: Surface) -> tuple[CarePart, ...]:
    suited = suited_methods(surface.surface_type)
    return tuple(
        CarePart(_("{method}: {care}").format(method=CleaningMethod(key).label, care=_(CARE[key])), "")
        for key in suited
    )
