"""How far a firm is on its way to the first forecast."""

from accounts.models import Organisation
from maintenance.models import Forecast
from qa.models import InfiltrationTest, Layer, Site, Surface
from reporting.calc.first_steps import Progress, StepKey


def is_begun(organisation: Organisation) -> bool:
    """Whether there was ever a surface: from then on the first page has something to say. One query."""
    return Surface.objects.of_organisation(organisation).exists()


def progress_of(organisation: Organisation, *, forecast: bool | None = None) -> Progress:
    """What is done, and the newest owner, site and surface to go on with. A constant number of queries.

    forecast: what `has_forecast` said, where it was asked before. A surface that was removed is none to go on with.
    """
    owner = organisation.owners.order_by("-created_at").first()
    site = Site.objects.of_organisation(organisation).order_by("-created_at").first()
    surfaces = Surface.objects.of_organisation(organisation).in_service()
    surface = surfaces.order_by("-created_at").first()
    people = organisation.memberships.count() + organisation.invitations.filter(owner=None).count()
    is_done = {
        StepKey.OWNER: owner is not None,
        StepKey.SITE: site is not None,
        StepKey.SURFACE: surface is not None,
        StepKey.BUILD_UP: Layer.objects.of_organisation(organisation).exists(),
        StepKey.TEST: InfiltrationTest.objects.of_organisation(organisation).active().exists(),
        StepKey.PRICES: organisation.prices_given_at is not None,
        StepKey.PEOPLE: people > 1,
        StepKey.FORECAST: has_forecast(organisation) if forecast is None else forecast,
    }
    return Progress(
        done=frozenset(key for key, done in is_done.items() if done),
        owner=str(owner.pk) if owner else None,
        site=str(site.pk) if site else None,
        surface=str(surface.pk) if surface else None,
    )


def has_forecast(organisation: Organisation) -> bool:
    """Whether a forecast rests on a test of the surface itself. One query."""
    made = Forecast.objects.of_organisation(organisation).filter(outlook_json__isnull=False)
    return made.filter(surface__rounds__tests__isnull=False).exists()
