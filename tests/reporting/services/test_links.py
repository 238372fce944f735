"""Secret links: what may be shared, for how long, and that only the newest address of one opens."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.timezone import now

from accounts.calc.audience import Audience
from core.calc.secrets import hash_of
from core.errors import AlreadyDoneError, NotAllowedNowError
from reporting.calc.sharing import MOST_SITES, LinkPart, LinkState
from reporting.models import LinkOpening, SharedLink
from reporting.selectors.links import link_behind, opens
from reporting.services import kept, links
from tests.clock import TODAY
from tests.factories import OwnerFactory, SharedLinkFactory, SiteFactory
from tests.refusals import FAR_AHEAD, refused

SOON = TODAY + timedelta(days=30)


@pytest.fixture
def document(firm):
    return kept.freeze_handover(surface=firm.surface, audience=Audience.OWNER, by=firm.coordinator)


def link_for(who="City drainage", **changes):
    return SharedLink(for_whom=who, ends_on=SOON, **changes)


def share(document, by, **changes):
    return links.share_document(link=link_for(**changes), document=document, by=by)


def test_a_link_has_no_address_until_it_is_shown_and_only_its_hash_is_stored(firm, document):
    link = share(document, firm.coordinator)
    assert link.state_at(now()) is LinkState.UNSEEN

    secret = links.make_address(link=link, to=None)

    assert link_behind(secret) == link
    assert opens(link_behind(secret))
    assert len(secret) >= 43  # 32 bytes
    stored = SharedLink.objects.values().get()
    assert secret not in str(stored)
    assert stored["secret_hash"] == hash_of(secret)


def test_a_new_address_ends_the_one_before(firm, document):
    link = share(document, firm.coordinator)

    first, second = (links.make_address(link=link, to=None) for _ in range(2))

    assert link_behind(first) is None
    assert link_behind(second) == link


def test_it_opens_to_the_end_of_its_last_day_where_the_firm_is(firm, document):
    firm.site.time_zone = "Pacific/Auckland"
    firm.site.save()

    link = share(document, firm.coordinator)

    local_end = datetime.combine(SOON + timedelta(days=1), datetime.min.time(), UTC) - link.expires_at
    assert timedelta(hours=12) <= local_end <= timedelta(hours=13)
    assert link.state_at(link.expires_at - timedelta(seconds=1)) is LinkState.UNSEEN
    assert link.state_at(link.expires_at) is LinkState.EXPIRED


@pytest.mark.parametrize(
    ("ends_on", "words"),
    [
        (TODAY - timedelta(days=2), "is over"),
        (TODAY + timedelta(days=732), "more than 730 days from now"),
    ],
)
def test_its_last_day_is_today_or_later_and_within_two_years(firm, document, ends_on, words):
    link = SharedLink(for_whom="x", ends_on=ends_on)

    with refused(ValidationError, words, beside="ends_on"):
        links.share_document(link=link, document=document, by=firm.coordinator)


def test_what_was_made_for_the_firm_is_not_shared(firm):
    inner = kept.freeze_handover(surface=firm.surface, audience=Audience.FIRM, by=firm.coordinator)

    with refused(NotAllowedNowError, "for people of the firm"):
        share(inner, firm.coordinator)


def test_a_withdrawn_document_is_not_shared_and_its_links_are_dead(firm, document):
    link = share(document, firm.coordinator)
    secret = links.make_address(link=link, to=None)

    kept.withdraw(document=document, by=firm.coordinator, reason="Wrong surface.")

    assert link_behind(secret).state_at(now()) is LinkState.WITHDRAWN
    with refused(NotAllowedNowError, "was withdrawn"):
        share(document, firm.coordinator)
    with refused(NotAllowedNowError, "has ended: its document was withdrawn"):
        links.make_address(link=link, to=None)


def test_a_link_is_revoked_once_and_has_no_new_address_after_that(firm, document):
    link = share(document, firm.coordinator)
    secret = links.make_address(link=link, to=None)

    links.revoke_link(link=SharedLink.objects.get(pk=link.pk), by=firm.admin)

    stored = link_behind(secret)
    assert (stored.state_at(now()), stored.revoked_by) == (LinkState.REVOKED, firm.admin)
    with refused(AlreadyDoneError, "revoked before"):
        links.revoke_link(link=link, by=firm.coordinator)
    with refused(NotAllowedNowError, "has ended: revoked"):
        links.make_address(link=link, to=None)


def test_the_same_sending_makes_one_link(firm, document):
    once = uuid4()

    first, second = (share(document, firm.coordinator, device_id=once) for _ in range(2))

    assert first == second
    assert SharedLink.objects.count() == 1


def test_sites_are_shared_with_whose_they_are_once_for_one_sending(firm):
    once = uuid4()

    def make():
        link = link_for(since=TODAY, device_id=once)
        return links.share_sites(
            link=link, organisation=firm.organisation, sites=[firm.site], by=firm.coordinator
        )

    first, second = make(), make()

    assert first == second
    (shared,) = first.shared_sites.all()
    assert (shared.site, shared.owner) == (firm.site, firm.owner)


def test_no_site_and_more_than_a_page_holds_are_refused(firm):
    many = SiteFactory.create_batch(MOST_SITES + 1, owner=OwnerFactory(organisation=firm.organisation))

    for sites, words in (([], "at least one site"), (many, f"{MOST_SITES + 1} sites are too many")):
        with refused(ValidationError, words, beside="sites"):
            links.share_sites(
                link=link_for(since=TODAY), organisation=firm.organisation, sites=sites, by=firm.coordinator
            )


def test_a_period_that_is_still_to_come_is_refused(firm):
    with refused(ValidationError, "is still to come", beside="since"):
        links.share_sites(
            link=link_for(since=FAR_AHEAD),
            organisation=firm.organisation,
            sites=[firm.site],
            by=firm.coordinator,
        )


@pytest.mark.parametrize(
    "changes", [{"since": TODAY}, {"until": TODAY}], ids=["a document and a period", "an end alone"]
)
def test_the_database_holds_that_a_link_opens_one_thing(document, changes):
    with pytest.raises(IntegrityError), transaction.atomic():
        SharedLinkFactory(document=document, **changes)


def test_the_database_holds_that_a_period_runs_forward(firm):
    with pytest.raises(IntegrityError), transaction.atomic():
        SharedLinkFactory(
            document=None, organisation=firm.organisation, since=TODAY, until=TODAY - timedelta(days=1)
        )


def test_openings_of_a_minute_are_one_row_with_their_number_and_nothing_of_who(firm, document):
    link = share(document, firm.coordinator)

    for part in (LinkPart.PAGE, LinkPart.PAGE, LinkPart.PAPER):
        links.note_opening(link_id=link.pk, part=part)

    assert sorted(LinkOpening.objects.values_list("part", "times")) in (
        [("page", 2), ("paper", 1)],
        [("page", 1), ("page", 1), ("paper", 1)],  # the minute ended in between
    )
    columns = {field.name for field in LinkOpening._meta.concrete_fields}
    assert columns == {"id", "created_at", "link", "part", "opened_at", "device", "times"}
