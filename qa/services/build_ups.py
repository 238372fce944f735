"""Build-ups that serve for more than one surface: kept by the firm, or copied from a surface to another."""

from collections.abc import Iterable

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.models.rows import validate_and_save
from qa.calc.kept_layers import KeptLayers, as_typical
from qa.models import KeptBuildUp, Layer, Site, Surface
from qa.services import register
from qa.services.changes import bump_record_version

_ROW = ("id", "created_at", "device_id", "record_version", "words")
_WORKED_OUT = ("limit_mm_h", "limit_source")
# Measured or agreed where it lies: taken over unseen, a design would rest on another place's ground or contract.
_OF_ITS_PLACE = (
    "agreed_limit_mm_h",
    "agreed_source",
    "acceptance_rate_mm_h",
    "reuse_store_m3",
    "soil_measured_mm_h",
    "soil_safety_factor",
    "soil_rate_mm_h",
    "subgrade_slope_percent",
    "subgrade_fall_length_m",
    "foundation_distance_m",
    "well_distance_m",
    "water_table_depth_m",
)
ITS_OWN = frozenset(
    (
        *_ROW,
        *_WORKED_OUT,
        *_OF_ITS_PLACE,
        "site",
        "name",
        "opened_on",
        "removed_on",
        "guarantee_from",
        "note",
    )
)
NOTHING_TO_KEEP = gettext_noop("%(surface)s has no layers yet. Enter them first, then keep them.")


@transaction.atomic
def keep_build_up(*, surface: Surface, name: str) -> KeptBuildUp:
    """Keep a surface's layers under a name, in place of what the firm kept under it before.

    Raises ValidationError where there are none, or the name is empty or too long.
    """
    layers = as_typical(surface.layers.all())
    if not layers:
        raise ValidationError({"keep_as": ValidationError(_(NOTHING_TO_KEEP), params={"surface": surface})})
    firm = surface.organisation
    kept = KeptBuildUp.objects.of_organisation(firm).filter(name=name.strip()).first()
    kept = kept or KeptBuildUp(organisation=firm, name=name.strip())
    kept.surface_type, kept.layers = surface.surface_type, KeptLayers(layers)
    validate_and_save(kept)
    return kept


@transaction.atomic
def save_and_keep(
    *, surface: Surface, layers: Iterable[Layer], removed: Iterable[Layer], keep_as: str = ""
) -> KeptBuildUp | None:
    """Store a build-up and, under a name if one is given, keep it for others: both or neither.

    Raises ValidationError for what either refuses.
    """
    register.save_build_up(surface=surface, layers=layers, removed=removed)
    return keep_build_up(surface=surface, name=keep_as) if keep_as else None


@transaction.atomic
def drop_build_up(*, kept: KeptBuildUp) -> None:
    """Keep it no longer; surfaces that began with it stay as they are."""
    kept.delete()


def start_like(*, source: Surface, site: Site) -> Surface:
    """A surface to be entered that begins with what another is.

    Of its own are name, days, guarantee and note, and what was measured or agreed where it lies: `ITS_OWN`.
    """
    values = {
        field.attname: getattr(source, field.attname)
        for field in Surface._meta.concrete_fields
        if field.name not in ITS_OWN
    }
    return Surface(site=site, **values)


@transaction.atomic
def copy_build_up(*, source: Surface, to: Surface) -> int:
    """Give a surface without layers those of another; returns how many. Nothing where it has some already."""
    if to.layers.exists():
        return 0
    layers = list(source.layers.all())
    for layer in layers:
        copy = Layer(surface=to, position=layer.position)
        for name in ("kind", "material", "thickness_mm", "stone_min_mm", "stone_max_mm", "porosity"):
            setattr(copy, name, getattr(layer, name))
        validate_and_save(copy)
    if layers:
        bump_record_version(to.pk)
    return len(layers)


@transaction.atomic
def save_surface_like(*, surface: Surface, like: Surface | None) -> tuple[Surface, int]:
    """Store a surface with the layers of another, if it was started like one: both or neither. Gives how many too.

    Raises ValidationError where a rule is broken.
    """
    row = register.save_surface(surface=surface)
    return row, copy_build_up(source=like, to=row) if like else 0
