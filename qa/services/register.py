"""Everything done to sites, surfaces, build-ups and test locations."""

from collections.abc import Collection, Iterable
from datetime import date, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import day
from core.calc.units import UnitSystem
from core.errors import ImpossibleRecordError
from core.models.rows import validate_and_save
from core.services.records import find_by_device_id, save_once
from qa.calc.outlines import refuse_outside
from qa.calc.soil import design_rate_mm_h
from qa.models import Layer, Location, Outline, Site, Surface
from qa.selectors.locations import positions_of
from qa.services.changes import bump_record_version
from qa.services.limits import work_out_limit

OTHER_FIRM = gettext_noop("%(owner)s is not an owner of %(firm)s. Choose an owner of your own firm.")
EARLIEST_OPENING = date(1900, 1, 1)
MOST_AHEAD = timedelta(days=5 * 365)
FAR_OPENING = gettext_noop(
    "%(day)s is too far away for an opening day. Give a day between %(first)s and %(last)s."
)
FUTURE_REMOVAL = gettext_noop("%(day)s is still to come. Enter the removal once the surface is gone.")
TESTED_EARLIER = gettext_noop(
    "The surface has a test round of %(day)s. It cannot have opened after that; "
    "correct the opening date or set that round aside first."
)
NO_FACTOR = gettext_noop(
    "Enter the safety factor on the measured rate; 2 to 3 is usual. The design rests on the quotient."
)
SOIL_TOO_FAST = gettext_noop(
    "A design rate of %(design)s mm/h is more than the measured rate over the safety factor of %(factor)s gives, "
    "%(carried)s mm/h. Leave it empty to use that, or correct the test."
)


@transaction.atomic
def save_site(*, site: Site) -> Site:
    """Store a new or changed site. Raises ValidationError when a rule is broken."""
    if site.owner.organisation_id != site.organisation_id:
        params = {"owner": site.owner, "firm": site.organisation}
        raise ValidationError({"owner": ValidationError(_(OTHER_FIRM), params=params)})
    changed = not site._state.adding
    site = save_once(site, organisation=site.organisation_id)
    if changed:  # its months and time zone decide when work falls due
        for surface_id in site.surfaces.values_list("pk", flat=True):
            bump_record_version(surface_id)
    return site


@transaction.atomic
def save_surface(*, surface: Surface) -> Surface:
    """Store a new or changed surface with the limit its rules give, and have its forecast made."""
    first = find_by_device_id(surface, site=surface.site_id)
    if first:
        return first
    _refuse_odd_days(surface)
    _refuse_opening_after_tests(surface)
    surface.clean_fields(exclude=["limit_mm_h", "limit_source"])
    work_out_limit(surface)
    work_out_soil_rate(surface)
    _take_newest_version(surface)
    surface = save_once(surface, site=surface.site_id)
    bump_record_version(surface.pk)
    return surface


def work_out_soil_rate(surface: Surface) -> None:
    """Fill in the design rate of the soil. Raises ValidationError for one that the measured rate does not carry."""
    measured, factor, design = surface.soil_measured_mm_h, surface.soil_safety_factor, surface.soil_rate_mm_h
    if measured is None:
        return
    if factor is None and design is None:
        raise ValidationError({"soil_safety_factor": _(NO_FACTOR)})
    if factor is None:
        return
    carried = design_rate_mm_h(measured, factor)
    if design is not None and design > carried * (1 + 1e-6):
        params = {"design": f"{design:.3g}", "factor": f"{factor:g}", "carried": f"{carried:.3g}"}
        raise ValidationError({"soil_rate_mm_h": ValidationError(_(SOIL_TOO_FAST), params=params)})
    surface.soil_rate_mm_h = carried if design is None else design


def _take_newest_version(surface: Surface) -> None:
    # The form's copy may be older than what was recorded since: saving it would take the version back,
    # and the forecast of that record would pass for fresh.
    if not surface._state.adding:
        row = Surface.objects.select_for_update().filter(pk=surface.pk)
        surface.record_version = row.values_list("record_version", flat=True).get()


def _refuse_odd_days(surface: Surface) -> None:
    today = surface.site.today()
    latest = today + MOST_AHEAD
    if not EARLIEST_OPENING <= surface.opened_on <= latest:
        params = {"day": day(surface.opened_on), "first": day(EARLIEST_OPENING), "last": day(latest)}
        raise ValidationError({"opened_on": ValidationError(_(FAR_OPENING), params=params)})
    if surface.removed_on and surface.removed_on > today:
        params = {"day": day(surface.removed_on)}
        raise ValidationError({"removed_on": ValidationError(_(FUTURE_REMOVAL), params=params)})


def _refuse_opening_after_tests(surface: Surface) -> None:
    earliest = surface.rounds.active().order_by("tested_on").first()
    # Acceptance tests are taken before traffic is let on; a month of that is ordinary.
    if earliest and (surface.opened_on - earliest.tested_on).days > 31:
        params = {"day": day(earliest.tested_on)}
        raise ValidationError({"opened_on": ValidationError(_(TESTED_EARLIER), params=params)})


@transaction.atomic
def save_build_up(*, surface: Surface, layers: Iterable[Layer], removed: Iterable[Layer]) -> None:
    """Store the layers from the top down in the order given; positions are numbered anew."""
    for layer in removed:
        layer.delete()
    for position, layer in enumerate(layers, start=1):
        layer.surface, layer.position = surface, position
        validate_and_save(layer)


@transaction.atomic
def save_locations(
    *,
    surface: Surface,
    locations: Collection[Location],
    removed: Iterable[Location],
    system: UnitSystem = UnitSystem.SI,
) -> None:
    """Store test locations; one that was tested is retired rather than deleted.

    system: the units in which a refusal says where. Raises ValidationError for a position outside the outline.
    """
    _refuse_outside(surface, locations, system)
    for location in removed:
        if location.tests.exists():
            location.retired = True
            location.save(update_fields=["retired"])
        else:
            location.delete()
    for location in locations:
        location.surface = surface
        validate_and_save(location)
    # A spot weighs by the area of its zone.
    bump_record_version(surface.pk)


def _refuse_outside(surface: Surface, locations: Iterable[Location], system: UnitSystem) -> None:
    outline = Outline.objects.filter(surface=surface).first()
    if outline is None:
        return
    try:
        refuse_outside(outline.plan.outline, positions_of(locations), system)
    except ImpossibleRecordError as error:
        raise ValidationError(str(error)) from error
