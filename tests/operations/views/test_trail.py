"""The page of who changed what: for admins of the firm alone, narrowed, in pages, and at a constant cost."""

import csv
from datetime import timedelta
from io import StringIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.timezone import localdate, now

from accounts.calc.roles import Role
from accounts.models import Membership
from core.calc.secrets import hash_of
from operations.calc.trail_kinds import TRAIL_KINDS
from reporting.models import SharedLink
from tests.factories import ApiTokenFactory, CleaningFactory, OwnerFactory, SharedLinkFactory, SiteFactory

pytestmark = pytest.mark.django_db
URL = reverse("operations:trail-list")


@pytest.fixture
def admin(client, firm):
    client.force_login(firm.admin)
    return client


def lines_of(answer):
    """What, about, by whom and which changes, of each line."""
    return [(one.title, one.about, one.who, one.tag) for one in answer.context["lines"]]


def changed_site(firm, **values):
    site = SiteFactory(owner=firm.owner, name="Mill Street")
    for name, value in values.items():
        setattr(site, name, value)
    site._history_user = firm.coordinator
    site.save()
    return site


def test_a_change_is_told_with_person_value_before_and_after(admin, firm):
    site = changed_site(firm, address="Quay 7")

    answer = admin.get(URL, {"kind": "site", "person": str(firm.coordinator.pk)})

    (line,) = answer.context["lines"]
    assert (line.title, line.about, line.who, line.tag) == (
        "Site",
        site.name,
        str(firm.coordinator),
        "Changed",
    )
    assert line.changes[0].endswith("→ Quay 7")
    assert "Quay 7" in answer.content.decode()


def test_a_new_role_and_a_removed_person_are_told_after_the_row_is_gone(admin, firm):
    membership = Membership.objects.get(user=firm.viewer)
    membership.role = Role.COORDINATOR
    membership._history_user = firm.admin
    membership.save()
    membership.delete()

    told = lines_of(admin.get(URL, {"kind": "role"}))

    assert [(line[0], line[1], line[3]) for line in told[:2]] == [
        ("Role of a person", firm.viewer.email, "Removed"),
        ("Role of a person", firm.viewer.email, "Changed"),
    ]
    assert told[1][2] == str(firm.admin)


def test_links_and_tokens_are_told_as_made_and_as_ended(admin, firm):
    link = SharedLinkFactory(
        document=None, organisation=firm.organisation, since=localdate(), made_by=firm.admin
    )
    SharedLink.objects.filter(pk=link.pk).update(revoked_at=now(), revoked_by=firm.coordinator)
    ApiTokenFactory(organisation=firm.organisation, person=firm.technician, token_hash=hash_of("x"))

    made = lines_of(admin.get(URL, {"kind": "link"}))
    ended = lines_of(admin.get(URL, {"kind": "link-revoked"}))
    tokens = lines_of(admin.get(URL, {"kind": "token"}))

    assert made == [("Link made", link.for_whom, str(firm.admin), "")]
    assert ended == [("Link revoked", link.for_whom, str(firm.coordinator), "")]
    assert [line[2] for line in tokens] == [str(firm.technician)]


def test_a_record_set_aside_is_told_with_its_reason_and_one_that_stands_is_not(admin, firm):
    aside = {"state": "voided", "state_at": now(), "state_by": firm.technician, "state_reason": "Never done."}
    CleaningFactory(surface=firm.surface, **aside)
    CleaningFactory(surface=firm.surface)

    (line,) = admin.get(URL, {"kind": "cleaning-aside"}).context["lines"]

    assert (line.who, line.reason, line.about) == (str(firm.technician), "Never done.", firm.surface.name)


def test_days_narrow_the_list_both_included(admin, firm):
    changed_site(firm, address="Quay 7")
    today = localdate()

    here = admin.get(URL, {"kind": "site", "since": today, "until": today}).context["lines"]
    before = admin.get(URL, {"kind": "site", "until": today - timedelta(days=2)}).context["lines"]

    assert len(here) >= 2
    assert before == []


def test_nothing_of_another_firm_is_told(admin, firm):
    OwnerFactory(name="Somebody else's client")

    assert "Somebody else" not in admin.get(URL).content.decode()


def test_each_kind_can_be_read(admin):
    """A path that leads nowhere would only show on the day that somebody asks for it."""
    for kind in TRAIL_KINDS:
        assert admin.get(URL, {"kind": kind.key}).status_code == 200, kind.key


@pytest.mark.parametrize("wrong", [{"person": "x"}, {"kind": "lawn"}, {"since": "2024-02-30"}, {"page": "x"}])
def test_what_no_choice_has_narrows_nothing(admin, wrong):
    assert admin.get(URL, wrong).status_code == 200


def test_its_cost_does_not_grow_with_the_changes(admin, firm):
    def cost():
        with CaptureQueriesContext(
            connection,
        ) as asked:
            admin.get(URL)
        return len(asked)

    changed_site(firm, address="Quay 7")
    cost()
    few = cost()
    for number in range(60):
        changed_site_of(firm, number)

    assert cost() <= few


def changed_site_of(firm, number):
    site = firm.site
    site.address, site._history_user = f"Quay {number}", firm.coordinator
    site.save()


def test_the_file_holds_all_of_them_not_a_page(admin, firm):
    for number in range(60):
        changed_site_of(firm, number)

    page = admin.get(URL, {"kind": "site"})
    sent = b"".join(admin.get(URL, {"kind": "site", "export": "csv"}).streaming_content).decode()

    heads, *lines = csv.reader(StringIO(sent))
    assert len(page.context["lines"]) == 50
    assert heads[:3] == ["when", "who", "what"]
    assert len(lines) == page.context["page"].paginator.count > 50
    assert any("Quay 59" in cell for cell in lines[0])
