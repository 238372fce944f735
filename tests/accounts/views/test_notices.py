"""The pages of what people are told: the list, the choice, and ending the daily mail without signing in."""

import re

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils.timezone import now

from accounts.calc.notices import NoticeKind, kinds_for
from accounts.calc.roles import Role
from accounts.models import DigestMail, Notice, NoticeSettings
from accounts.services import digests, telling
from accounts.services.telling import News
from core.services import batches
from tests.factories import MembershipFactory, UserFactory

LIST, CHOOSE = reverse("accounts:notice-list"), reverse("accounts:notice-choose")


def tell(firm, text="The yard is below its limit.", organisation=None):
    path = firm.surface.get_absolute_url()
    about = News(NoticeKind.LIMIT, organisation or firm.organisation, firm.surface, text, path, text)
    telling.tell_firm(news=about)


def words(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


@pytest.fixture
def admin(client, firm):
    client.force_login(firm.admin)
    return client


def test_the_head_of_each_page_counts_what_is_unread(admin, firm):
    assert "unread" not in words(admin.get(reverse("accounts:me")))
    tell(firm)
    tell(firm, "Another one.")

    assert "Told 2 unread" in words(admin.get(reverse("accounts:me")))


def test_the_list_shows_what_is_new_and_what_was_read(admin, firm):
    tell(firm)
    assert "New" in words(admin.get(LIST))

    admin.get(Notice.objects.get(user=firm.admin).get_absolute_url())

    page = words(admin.get(LIST))
    assert "The yard is below its limit." in page
    assert "Mark all as read" not in page


def test_all_can_be_marked_read_at_once(admin, firm):
    tell(firm)
    tell(firm, "Another one.")

    answer = admin.post(reverse("accounts:notice-read-all"), {"firm": firm.organisation.pk}, follow=True)

    assert "2 notices marked as read." in words(answer)
    assert not Notice.objects.unread().filter(user=firm.admin).exists()


def test_a_long_list_is_shown_page_by_page_at_a_constant_cost(admin, firm, django_assert_max_num_queries):
    for number in range(60):
        tell(firm, f"Number {number}.")

    with django_assert_max_num_queries(14):
        first = admin.get(LIST)
    second = admin.get(f"{LIST}?page=2")

    assert "Number 59." in words(first)
    assert "Number 0." in words(second)
    assert "Number 0." not in words(first)


def test_what_is_told_for_owners_is_listed_at_a_constant_cost(client, firm, django_assert_max_num_queries):
    for number in range(20):
        path = firm.surface.get_absolute_url()
        about = News(NoticeKind.REPLY, firm.organisation, firm.surface, "They wrote.", path, str(number))
        telling.tell_owner(news=about, owner=firm.owner)
    client.force_login(firm.owner_person)

    with django_assert_max_num_queries(14):
        page = client.get(LIST)

    assert words(page).count("They wrote.") == 20


def test_what_is_sent_for_a_firm_left_meanwhile_holds_for_no_other(admin, firm):
    tell(firm)
    left = firm.outsider.memberships.get().organisation.pk

    given = {"firm": left, "mail_hour": "18"}
    assert admin.post(CHOOSE, given).status_code == 404
    assert admin.post(reverse("accounts:notice-read-all"), given).status_code == 404
    assert not NoticeSettings.objects.exists()
    assert Notice.objects.unread().filter(user=firm.admin).exists()


def test_the_form_names_the_firm_it_is_for(admin, firm):
    assert f'name="firm" value="{firm.organisation.pk}"' in admin.get(CHOOSE).content.decode()


def test_two_firms_stand_apart_and_are_chosen_apart(admin, firm):
    other = firm.outsider.memberships.get().organisation
    MembershipFactory(organisation=other, user=firm.admin, role=Role.VIEWER)
    tell(firm)
    tell(firm, "Elsewhere.", organisation=other)  # off for viewers, as usual

    here, there = admin.get(LIST), admin.get(f"{LIST}?firm={other.pk}")
    assert "The yard" in words(here)
    assert "The yard" not in words(there)
    assert admin.get(f"{CHOOSE}?firm={other.pk}").context["form"].kinds == kinds_for([Role.VIEWER])
    assert NoticeKind.FAILED in admin.get(CHOOSE).context["form"].kinds


@pytest.mark.parametrize("who", ["viewer", "technician", "coordinator", "admin", "owner_person"])
def test_each_is_offered_the_kinds_of_their_role(client, firm, who):
    user = getattr(firm, who)
    client.force_login(user)
    role = Role.OWNER if who == "owner_person" else user.memberships.get().role

    assert client.get(CHOOSE).context["form"].kinds == kinds_for([role])


def test_what_is_chosen_is_stored_and_shown_again(admin, firm):
    given = {"mail_on": "on", "mail_hour": "18", "limit-app": "on", "report-mail": "on"}

    answer = admin.post(CHOOSE, given, follow=True)

    form = answer.context["form"]
    shown = {name for name, value in form.initial.items() if value is True}
    assert shown == {"mail_on", "limit-app", "report-mail"}
    assert NoticeSettings.objects.get().mail_hour == 18


@pytest.mark.parametrize("hour", ["24", "-1", "seven", ""])
def test_an_hour_that_no_day_has_is_refused_and_nothing_is_lost(admin, hour):
    answer = admin.post(CHOOSE, {"mail_hour": hour, "limit-app": "on"})

    assert answer.context["form"].errors["mail_hour"]
    assert not NoticeSettings.objects.exists()


def test_no_kind_of_another_role_is_taken(client, firm):
    client.force_login(firm.technician)
    client.post(CHOOSE, {"mail_hour": "7", "failed-app": "on", "reply-app": "on"})

    kinds = set(NoticeSettings.objects.get().choices.values_list("kind", flat=True))
    assert kinds == {kind.value for kind in kinds_for([Role.TECHNICIAN])}


def test_that_there_is_no_mail_server_is_said(admin, settings):
    assert "no outgoing mail" not in words(admin.get(CHOOSE))
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"

    assert "This server has no outgoing mail" in words(admin.get(CHOOSE))


def test_who_belongs_to_no_firm_reads_that_there_is_nothing(client, db):
    client.force_login(UserFactory())

    assert "belong to no firm" in words(client.get(CHOOSE))
    assert client.get(LIST).status_code == 200
    assert client.post(reverse("accounts:notice-read-all")).status_code == 404


def test_strangers_are_counted_nothing_and_asked_to_sign_in(client, db, django_assert_num_queries):
    assert client.get(LIST).status_code == 302
    with django_assert_num_queries(0):
        assert "Told" not in words(client.get(reverse("account_login")))


@pytest.fixture
def stop_path(firm):
    """Where the daily mail of the admin can be ended, as its header names it."""
    tell(firm)
    Notice.objects.update(created_at=now() - digests.timedelta(days=2))
    digests.ask_for_digests(now())
    while batches.run_batch(DigestMail._meta.label):
        pass
    (sent,) = (one for one in mail.outbox if one.to == [firm.admin.email])
    link = sent.extra_headers["List-Unsubscribe"].strip("<>")
    return link.partition("/told/")[1] + link.partition("/told/")[2]


def test_looking_ends_nothing_and_pressing_does(firm, stop_path):
    stranger = Client(enforce_csrf_checks=True)  # no cookie, no token: the address is the permission

    assert "Shall the daily mail" in words(stranger.get(stop_path))
    assert not NoticeSettings.objects.exists()
    assert "no daily mail" in words(stranger.post(stop_path))
    assert not NoticeSettings.objects.get(user=firm.admin).mail_on


def test_one_press_in_a_mail_program_ends_it(firm, stop_path):
    """RFC 8058, 3.2, from memory: a POST of this body, without cookies."""
    answer = Client(enforce_csrf_checks=True).post(stop_path, {"List-Unsubscribe": "One-Click"})

    assert answer.status_code == 200
    assert not NoticeSettings.objects.get().mail_on


def test_it_says_nothing_of_who_gets_the_mail(firm, stop_path):
    assert firm.admin.email not in Client().get(stop_path).content.decode()


def test_an_unknown_secret_is_no_page(client, db):
    assert client.get(reverse("accounts:notice-stop", args=["x" * 43])).status_code == 404
