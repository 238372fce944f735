"""Secret links: which there are, what is behind a secret, and how often each was opened."""

from django.db.models import Max, Prefetch, QuerySet, Sum
from django.utils.timezone import now

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from accounts.models.tenancy import TenantQuerySet
from core.calc.secrets import hash_of
from reporting.calc.sharing import LinkState
from reporting.models import SharedLink, SharedSite, Snapshot


def link_behind(secret: str) -> SharedLink | None:
    """The link of an address, whether it still opens or not; None where no link has it."""
    rows = SharedLink.objects.select_related("organisation", "document")
    return rows.filter(secret_hash=hash_of(secret)).first()


def language_behind(link: SharedLink) -> str:
    """The language of what is behind a link: its document's; else the owner's, or the firm's of several owners."""
    if link.document is not None:
        return link.document.language
    spoken = set(link.shared_sites.values_list("owner__language", flat=True))
    return (spoken.pop() if len(spoken) == 1 else "") or link.organisation.language


def opens(link: SharedLink) -> bool:
    """Whether it opens now."""
    return link.state_at(now()) is LinkState.OPEN


def links_of(user: User, organisation: Organisation) -> QuerySet[SharedLink]:
    """Every link of a firm for its list, the newest first, in a constant number of queries."""
    return with_openings(SharedLink.objects.for_user(user, Role.COORDINATOR).of_organisation(organisation))


def counted_link(link: SharedLink) -> SharedLink:
    """A link with its sites and how often it was opened."""
    return with_openings(SharedLink.objects.filter(pk=link.pk)).get()


def links_to(user: User, document: Snapshot) -> QuerySet[SharedLink]:
    """The links to a kept document that were made by hand, for who may see them."""
    rows = SharedLink.objects.for_user(user, Role.COORDINATOR).filter(document=document)
    return with_openings(rows.filter(sending=None))


def with_openings(rows: TenantQuerySet[SharedLink]) -> QuerySet[SharedLink]:
    """The links with how often they were opened, and when last."""
    sites = SharedSite.objects.select_related("site")
    return (
        rows.select_related("document", "made_by", "revoked_by", "shown_to")
        .defer("document__payload")
        .prefetch_related(Prefetch("shared_sites", sites))
        .annotate(openings_in_all=Sum("openings__times"), last_opened_at=Max("openings__opened_at"))
        .order_by("-made_at", "pk")
    )
