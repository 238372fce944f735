"""Build-ups that serve for more than one surface: kept by the firm, or copied from a surface to another."""

from django.core.exceptions import ValidationError
from django.db import transaction

from core.models.rows import validate_and_save
from qa.calc.kept_layers import KeptLayers, as_typical
from qa.models import KeptBuildUp, Layer, Site, Surface
from qa.services.changes import bump_record_version

_ROW = ("id", "created_at", "device_id", "record_version", "words")
_WORKED_OUT = ("limit_mm_h", "limit_source")
ITS_OWN = frozenset(
    (*_ROW, *_WORKED_OUT, "site", "name", "opened_on", "removed_on", "guarantee_from", "note")
)
NOTHING_TO_KEEP = "%(surface)s has no layers yet. Enter them first, then keep them."


@transaction.atomic
def keep_build_up(*, surface: Surface, name: str) -> KeptBuildUp:
    """Keep a surface's layers under a name, in place of what the firm kept under it before.

    Raises ValidationError where there are none, or the name is empty or too long.
    """
    layers = as_typical(surface.layers.all())
    if not layers:
        raise ValidationError({"keep_as": ValidationError(NOTHING_TO_KEEP, params={"surface": surface})})
    firm = surface.organisation
    kept = KeptBuildUp.objects.of_organisation(firm).filter(name=name.strip()).first()
    kept = kept or KeptBuildUp(organisation=firm, name=name.strip())
    kept.surface_type, kept.layers = surface.surface_type, KeptLayers(layers)
    validate_and_save(kept)
    return kept


@transaction.atomic
def drop_build_up(*, kept: KeptBuildUp) -> None:
    """Keep it no longer; surfaces that began with it stay as they are."""
    kept.delete()


def start_like(*, source: Surface, site: Site) -> Surface:
    """A surface to be entered that begins with what another is; of its own are name, days, guarantee and note."""
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
