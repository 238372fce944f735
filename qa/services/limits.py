"""Everything done to limits: working out a surface's, and keeping the firm's own."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from core.errors import UnusableRecordError
from core.services.records import save_once
from qa.calc.limits import PRESETS
from qa.models import OwnLimit, Surface
from qa.selectors.surface_limits import limit_of
from qa.services.changes import bump_record_version

UNKNOWN_PRESET = gettext_noop("%(key)s is not a rule of the list. Choose one of the list.")
OTHER_FIRM = gettext_noop("%(name)s is a rule of another firm. Choose one of your own.")
STILL_NEEDED = gettext_noop(
    "%(surface)s would be left without a limit: this rule is the only one that gives it one. "
    "Keep a limit here, or give that surface another rule first."
)


def work_out_limit(surface: Surface) -> None:
    """Fill in limit and source from what was chosen. Raises ValidationError naming the field `rule`.

    A new surface that brings only a limit, as an import does, is taken to have it agreed.
    """
    _adopt_bare_limit(surface)
    _refuse_wrong_rule(surface)
    try:
        governing = limit_of(surface)
    except UnusableRecordError as error:
        raise ValidationError({"rule": str(error)}) from error
    surface.limit_mm_h = governing.limit_mm_h
    surface.limit_source = _source_words(surface)


def _adopt_bare_limit(surface: Surface) -> None:
    chosen = (surface.limit_preset, surface.own_limit_id, surface.design_intensity_mm_h)
    if not any(chosen) and surface.agreed_limit_mm_h is None and surface.limit_mm_h is not None:
        surface.agreed_limit_mm_h = surface.limit_mm_h
        surface.agreed_source = surface.agreed_source or surface.limit_source[:200]


def _refuse_wrong_rule(surface: Surface) -> None:
    if surface.limit_preset and surface.limit_preset not in PRESETS:
        raise ValidationError(
            {"rule": ValidationError(_(UNKNOWN_PRESET), params={"key": surface.limit_preset})}
        )
    own = surface.own_limit
    if own and own.organisation_id != surface.site.organisation_id:
        raise ValidationError({"rule": ValidationError(_(OTHER_FIRM), params={"name": own.name})})


def _source_words(surface: Surface) -> str:
    """What stands in the one column that everything else reads: in the firm's language, whoever saves it."""
    with override(surface.organisation.language):
        first = limit_of(surface).asked[0]
        return _said(first.words, first.source.said)


def _said(words: str, citation: str) -> str:
    text = words if citation in words else _("{what}: {source}").format(what=words, source=citation)
    text = text[:1].upper() + text[1:]
    return text if len(text) <= 240 else text[:239] + "…"


@transaction.atomic
def save_own_limit(*, own: OwnLimit) -> OwnLimit:
    """Store an own limit and work out the limits of the surfaces that use it anew."""
    own = save_once(own, "name", "limit_mm_h", "acceptance_mm_h", "source", organisation=own.organisation_id)
    for surface in own.surfaces.select_related("site__organisation").select_for_update(of=("self",)):
        surface.own_limit = own
        _bring_up_to_date(surface)
    return own


def _bring_up_to_date(surface: Surface) -> None:
    before = (surface.limit_mm_h, surface.limit_source)
    try:
        work_out_limit(surface)
    except ValidationError as error:
        raise ValidationError(_(STILL_NEEDED), params={"surface": surface}) from error
    if (surface.limit_mm_h, surface.limit_source) != before:
        surface.save(update_fields=["limit_mm_h", "limit_source"])
        bump_record_version(surface.pk)


@transaction.atomic
def retire_own_limit(*, own: OwnLimit, retired: bool = True) -> OwnLimit:
    """Offer an own limit no longer, or again. Surfaces that use it keep it."""
    own.retired = retired
    own.save(update_fields=["retired"])
    return own
