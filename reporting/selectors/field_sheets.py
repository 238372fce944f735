"""A sheet to write a round of ring tests on by hand, gathered from the record. For the firm's own people alone."""

from django.conf import settings
from django.utils.translation import gettext as _

from core.calc.format import NOTHING, format_measure, format_rate
from core.calc.marks import marked
from core.calc.paving import TestMethod
from core.calc.units import Quantity, UnitSystem
from qa.calc.counts import locations_needed_m2
from qa.calc.methods import facts_on
from qa.calc.ring import LONGEST_REPEAT_GAP_MIN, LONGEST_START_DELAY_S, PREWET_SWITCH_S, PROCEDURES
from qa.calc.rounds import Rate
from qa.models import Surface, TestRound
from qa.presentation import disclaimers
from qa.presentation.finding_spots import places_of
from qa.presentation.plan import note_of
from qa.selectors.rounds import last_ring_rates
from reporting.calc.field_sheet import FieldSheet, SheetSpot
from reporting.calc.values import UnitText, in_both

LEAST_ROWS = 3  # a surface without fixed spots has rows for those that are chosen on site
CAUTIONS = (disclaimers.ONE_SPOT_ONE_DAY, disclaimers.DUST_AND_TRAFFIC, disclaimers.WASTE_AND_WELLS)


def field_sheet(surface: Surface, round_: TestRound | None) -> FieldSheet:
    """The sheet for a round that was begun, or for one that is begun on paper."""
    site = surface.site
    spots = _spots(surface)
    asked = locations_needed_m2(surface.area_m2, UnitSystem.SI)
    return FieldSheet(
        key=surface.pk,
        firm=surface.organisation.name,
        surface=surface.name,
        site=site.name,
        address=site.address,
        access=site.access_note,
        about=in_both(lambda units: _about(surface, units)),
        limit=in_both(lambda units: format_rate(surface.limit_mm_h, units)),
        made_on=site.today(),
        round_on=round_.tested_on if round_ else None,
        spots=spots,
        more_spots=max(0, max(LEAST_ROWS, asked) - len(spots)),
        asked=in_both(lambda units: _asked(surface, units)),
        steps=in_both(_steps),
        source=facts_on(TestMethod.RING, surface.surface_type).source.said,
        cautions=tuple(_(caution) for caution in CAUTIONS),
        demo_notice=_(settings.DEMO_NOTICE),
    )


def _about(surface: Surface, units: str) -> str:
    area = format_measure(surface.area_m2, Quantity.AREA, units)
    return f"{surface.get_surface_type_display()}, {area}"


def _asked(surface: Surface, units: str) -> str:
    count = locations_needed_m2(surface.area_m2, UnitSystem(units))
    area = format_measure(surface.area_m2, Quantity.AREA, units)
    return _("At least {count} spots for {area}.").format(count=count, area=area)


def _spots(surface: Surface) -> tuple[SheetSpot, ...]:
    rates = last_ring_rates(list(surface.locations.filter(retired=False)))
    last = {str(pk): rate for pk, rate in rates.items()}
    by_units = {system: places_of(surface, system) for system in UnitSystem}
    pairs = zip(by_units[UnitSystem.SI], by_units[UnitSystem.US], strict=True)
    return tuple(
        SheetSpot(si.key, si.label, si.zone, UnitText(si.where, us.where), _last(last.get(si.key)))
        for si, us in pairs
    )


def _last(rate: Rate | None) -> UnitText:
    return in_both(lambda units: note_of(rate, units) or NOTHING)


def _steps(units: str) -> str:
    p = PROCEDURES[UnitSystem(units)]
    small, large = (marked(f"{mass:g} {p.mass_unit}") for mass in (p.small_mass, p.large_mass))
    head = _("{low} to {high} {unit}").format(
        low=marked(f"{p.head_low:g}"), high=marked(f"{p.head_high:g}"), unit=p.length_unit
    )
    return _(
        "Sweep the spot, set and seal the ring. Prewet with {small}, the water {head} deep, and time it: under "
        "{switch} s the test takes {large}, else {small}. Start within {delay} s, keep the head between the lines, and "
        "time until no free water is left. A second test at the spot within {gap} minutes needs no new prewetting."
    ).format(
        small=small,
        head=head,
        switch=f"{PREWET_SWITCH_S:g}",
        large=large,
        delay=f"{LONGEST_START_DELAY_S:g}",
        gap=f"{LONGEST_REPEAT_GAP_MIN:g}",
    )
