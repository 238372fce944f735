"""Telling people: whom, once, never who did it, and never again once they belong there no longer."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from accounts.calc.notices import NoticeKind, Way
from accounts.calc.roles import Role
from accounts.models import Notice, NoticeSettings
from accounts.selectors.notices import unread_count
from accounts.services import notice_choices, people, telling
from accounts.services.telling import News
from tests.factories import MembershipFactory, OwnerFactory, OwnerPersonFactory


def news(firm, kind=NoticeKind.LIMIT, occasion="first", text="The yard is below its limit."):
    path = firm.surface.get_absolute_url()
    return News(kind, firm.organisation, firm.surface, text, path, occasion)


def told():
    return set(Notice.objects.values_list("user__email", flat=True))


def emails(*people):
    return {person.email for person in people}


def test_those_are_told_for_whom_the_kind_is_on(firm):
    telling.tell_firm(news=news(firm))

    assert told() == emails(firm.coordinator, firm.admin)


def test_the_same_happening_twice_is_told_once_and_the_next_one_anew(firm):
    telling.tell_firm(news=news(firm))
    telling.tell_firm(news=news(firm))
    assert Notice.objects.count() == 2

    telling.tell_firm(news=news(firm, occasion="second"))
    assert Notice.objects.count() == 4


def test_who_did_it_is_not_told(firm):
    telling.tell_firm(news=news(firm), by=firm.admin.pk)

    assert told() == emails(firm.coordinator)


def test_those_whom_it_concerns_are_told_where_some_are_named_and_only_of_their_role(firm):
    telling.tell_firm(news=news(firm, NoticeKind.REPORT), to=[firm.coordinator.pk, firm.technician.pk])

    assert told() == emails(firm.coordinator)


def test_who_may_not_sign_in_any_more_is_not_told(firm):
    firm.admin.is_active = False
    firm.admin.save()

    telling.tell_firm(news=news(firm))

    assert told() == emails(firm.coordinator)


def test_nobody_of_another_firm_or_another_owner_is_told(firm):
    OwnerPersonFactory(owner=OwnerFactory(organisation=firm.organisation))

    telling.tell_firm(news=news(firm))
    telling.tell_owner(news=news(firm, NoticeKind.REPLY), owner=firm.owner)

    assert told() == emails(firm.coordinator, firm.admin, firm.owner_person)


def choose(firm, user, kind=NoticeKind.LIMIT, way=Way(True, True), mail_on=True):  # noqa: B008  # it is frozen
    notice_choices.choose(
        user=user, organisation=firm.organisation, mail_on=mail_on, mail_hour=7, ways={kind: way}
    )


def test_a_kind_switched_off_is_told_to_nobody_who_did_so(firm):
    choose(firm, firm.admin, way=Way(False, False))

    telling.tell_firm(news=news(firm))

    assert told() == emails(firm.coordinator)


def test_a_kind_switched_on_is_told_where_it_is_usually_off(firm):
    choose(firm, firm.technician, way=Way(True, False))

    telling.tell_firm(news=news(firm))

    notice = Notice.objects.get(user=firm.technician)
    assert (notice.in_app, notice.by_mail) == (True, False)


def test_no_daily_mail_means_none_of_any_kind(firm):
    choose(firm, firm.admin, kind=NoticeKind.FAILED, mail_on=False)

    telling.tell_firm(news=news(firm))

    assert not Notice.objects.get(user=firm.admin).by_mail


def test_a_choice_at_one_firm_says_nothing_of_another(firm):
    other = firm.outsider.memberships.get().organisation
    MembershipFactory(organisation=other, user=firm.admin, role=Role.ADMIN)
    choose(firm, firm.admin, way=Way(False, False))

    telling.tell_firm(news=News(NoticeKind.LIMIT, other, firm.surface, "Elsewhere.", "/", ""))

    assert Notice.objects.filter(user=firm.admin, organisation=other).exists()


def test_switching_the_mail_off_holds_for_what_has_not_gone_out_yet(firm):
    telling.tell_firm(news=news(firm))

    choose(firm, firm.admin, way=Way(True, False))

    assert not Notice.objects.get(user=firm.admin).by_mail
    assert Notice.objects.get(user=firm.coordinator).by_mail


def test_who_is_taken_off_the_firm_reads_nothing_of_it_and_keeps_no_choice(firm):
    telling.tell_firm(news=news(firm))
    choose(firm, firm.coordinator)

    people.remove_member(membership=firm.coordinator.memberships.get())

    assert told() == emails(firm.admin)
    assert not NoticeSettings.objects.exists()


def test_who_reads_for_the_owner_no_longer_keeps_nothing_of_theirs(firm):
    telling.tell_owner(news=news(firm, NoticeKind.REPLY), owner=firm.owner)

    people.remove_owner_person(person=firm.owner.people.get(user=firm.owner_person))

    assert not Notice.objects.exists()


def test_a_lower_role_reads_no_longer_what_it_would_not_be_told(firm):
    telling.tell_firm(news=news(firm, NoticeKind.REPORT))
    assert unread_count(firm.coordinator) == 1

    people.change_role(membership=firm.coordinator.memberships.get(), role=Role.VIEWER)

    assert unread_count(firm.coordinator) == 0


def test_however_it_ended_who_does_not_belong_there_reads_nothing(firm):
    telling.tell_firm(news=news(firm))
    firm.admin.memberships.all().delete()  # as the back office does it

    assert unread_count(firm.admin) == 0


def test_all_of_one_firm_is_marked_read_and_of_no_other_person(firm):
    telling.tell_firm(news=news(firm))

    assert telling.mark_all_read(user=firm.admin, organisation=firm.organisation) == 1
    assert (unread_count(firm.admin), unread_count(firm.coordinator)) == (0, 1)


def test_the_first_opening_counts(firm):
    telling.tell_firm(news=news(firm), to=[firm.admin.pk])
    notice = Notice.objects.get()
    early = now() - timedelta(days=1)
    Notice.objects.update(read_at=early)

    telling.mark_read(notice=notice)

    assert Notice.objects.get().read_at == early


@pytest.mark.parametrize(
    ("typed", "stored"),
    [
        ("One\r\n  two\tthree\x00", "One two three"),
        ("x" * 500, "x" * 399 + "…"),
        ("5\u00a0May", "5\u00a0May"),
    ],
)
def test_a_sentence_is_one_line_that_fits(typed, stored):
    assert telling.in_one_line(typed) == stored


def test_telling_many_costs_as_many_queries_as_telling_one(firm, django_assert_num_queries):
    for _ in range(20):
        MembershipFactory(organisation=firm.organisation, role=Role.COORDINATOR)

    with django_assert_num_queries(6):  # two of them begin and end its transaction
        telling.tell_firm(news=news(firm))

    assert Notice.objects.count() == 22
