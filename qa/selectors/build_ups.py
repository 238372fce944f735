"""What a build-up can start from."""

from django.core.exceptions import ValidationError

from accounts.calc.roles import Role
from accounts.models import User
from qa.calc.buildups import TypicalLayer
from qa.models import KeptBuildUp, Site, Surface


def kept_build_ups(surface: Surface) -> list[KeptBuildUp]:
    """What the firm keeps, those of the surface's own type first."""
    rows = KeptBuildUp.objects.of_organisation(surface.organisation)
    return sorted(rows, key=lambda row: (row.surface_type != surface.surface_type, row.name))


def layers_to_start_with(surface: Surface, key: str) -> tuple[TypicalLayer, ...]:
    """The layers of a kept build-up of the surface's firm; none where there is none of that id."""
    try:
        kept = KeptBuildUp.objects.of_organisation(surface.organisation).filter(pk=key).first()
    except ValidationError:  # a malformed id names no row
        return ()
    return kept.layers.layers if kept else ()


def surface_to_copy(user: User, site: Site, key: str) -> Surface | None:
    """A surface of the site's firm that the person may register others like; None for others and for what is no id."""
    rows = Surface.objects.for_user(user, Role.COORDINATOR).of_organisation(site.organisation)
    try:
        return rows.filter(pk=key).first() if key else None
    except ValidationError:  # a malformed id names no row
        return None
