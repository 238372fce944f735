"""The page of a surface, gathered for one audience."""

from accounts.calc.audience import Audience, Matter
from maintenance.selectors.records import data_quality_of, record_of
from qa.models import Surface
from reporting.calc.snapshots import SurfaceFacts, SurfaceSnapshot
from reporting.calc.values import UnitText
from reporting.selectors.coming import visits_to_surface
from reporting.selectors.findings import still_open
from reporting.selectors.histories import calculation_of, comparison_of, forecast_part, record_lines
from reporting.selectors.parts import (
    acceptance_part,
    advice_of,
    build_up_part,
    file_parts,
    forecast_of,
    limit_part,
    plan_part,
    spoken_all,
    spot_parts,
    standing,
)
from reporting.selectors.sources import verified_sources


def surface_snapshot(surface: Surface, audience: Audience) -> SurfaceSnapshot:
    """Everything the page says, read from the record."""
    forecast = forecast_of(surface)
    items = record_of(surface, forecast)
    remarks: tuple[UnitText, ...] = ()
    if audience.sees(Matter.DATA_QUALITY):
        remarks = spoken_all(data_quality_of(forecast, items))
    record = record_lines(items, audience)
    verified = verified_sources(surface.organisation, audience)
    return SurfaceSnapshot(
        audience=audience,
        standing=standing(surface),
        facts=_facts(surface),
        limit=limit_part(surface, verified),
        acceptance=acceptance_part(surface, verified),
        forecast=forecast_part(surface, forecast, items),
        calculation=calculation_of(forecast, audience),
        remarks=remarks,
        advice=advice_of(surface, audience),
        comparison=comparison_of(surface, forecast, audience),
        build_up=build_up_part(surface),
        plan=plan_part(surface),
        spots=spot_parts(surface),
        files=file_parts(surface.attachments.all(), audience),
        record=record,
        note=audience.shown(Matter.NOTES, surface.note, ""),
        findings=still_open(record),
        visits=visits_to_surface(surface, audience),
    )


def _facts(surface: Surface) -> SurfaceFacts:
    return SurfaceFacts(
        traffic=str(surface.get_traffic_display()),
        run_on_area_m2=surface.run_on_area_m2,
        run_on_from=surface.run_on_from,
        run_on_ratio=surface.run_on_ratio,
        bare_soil=surface.bare_soil,
        trees=surface.trees,
        winter_grit=surface.winter_grit,
        overflow_invert_mm=surface.overflow_invert_mm,
        reuse_store_m3=surface.reuse_store_m3,
        guarantee_ends_on=surface.guarantee_ends_on,
    )
