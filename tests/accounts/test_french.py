"""What people, owners and firms are told in French: words, numbers, days, and in whose language."""

from datetime import UTC, date, datetime

import pytest
from django.core import mail
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import override

from accounts.calc.notices import NoticeKind
from accounts.calc.roles import Role, firm_roles
from accounts.models import DigestMail, Notice, User
from accounts.presentation.daily_mail import MOST_LINES, letter_of
from accounts.services import digests, people, telling
from accounts.services.telling import News
from core.calc.countries import country_choices, country_of, zone_choices
from core.services import batches
from tests.factories import OwnerPersonFactory
from tests.sending import confirm


def reads(row, language):
    row.language = language
    row.save()
    return row


def invite(firm, email="anna@elsewhere.example", owner=None):
    invited = people.invite(organisation=firm.organisation, by=firm.admin, email=email, owner=owner)
    people.send_invitation(invitation=invited.invitation, link="https://x.example/join/")
    return mail.outbox[-1]


def limit_news(firm):
    return News(
        NoticeKind.LIMIT, firm.organisation, firm.surface, lambda: _("Your details are stored."), "/surfaces/"
    )


def test_the_language_of_a_firm_and_of_an_owner_is_set_on_their_pages(client, firm):
    client.force_login(firm.admin)
    owner = reverse("accounts:owner-edit", args=[firm.owner.pk])

    client.post(owner, {"name": firm.owner.name, "language": "fr"})
    page = client.get(reverse("accounts:firm-settings")).content.decode()

    firm.owner.refresh_from_db()
    assert firm.owner.language == "fr"
    assert '<option value="fr">Français</option>' in page


@pytest.mark.parametrize(
    ("own", "firms", "read"),
    [("", "en-gb", "en-gb"), ("", "fr", "fr"), ("fr", "en-gb", "fr"), ("en-gb", "fr", "en-gb")],
)
def test_an_owner_reads_their_own_language_else_that_of_the_firm(firm, own, firms, read):
    reads(firm.organisation, firms)
    owner = reads(firm.owner, own)
    owner.organisation = firm.organisation

    assert owner.reads == read


def test_an_invitation_is_in_the_language_of_who_is_known_else_of_the_owner_or_firm(firm):
    reads(firm.organisation, "fr")
    assert "Ouvrez ce lien pour entrer" in invite(firm).body
    assert "Open this link to join" in invite(firm, owner=reads(firm.owner, "en-gb")).body

    User.objects.create_user("anna@elsewhere.example", language="en-gb")
    assert "Open this link to join" in invite(firm).body


def test_each_reads_a_notice_in_their_own_language_else_the_firms(firm):
    reads(firm.organisation, "fr")
    reads(firm.admin, "en-gb")

    telling.tell_firm(news=limit_news(firm))

    said = dict(Notice.objects.values_list("user__email", "text"))
    assert said[firm.coordinator.email] == "Vos informations sont enregistrées."
    assert said[firm.admin.email] == "Your details are stored."


def test_an_owners_person_reads_a_notice_as_the_owner_does(firm):
    news = News(NoticeKind.REPLY, firm.organisation, firm.surface, lambda: _("Your details are stored."), "/")
    english = reads(OwnerPersonFactory(owner=firm.owner).user, "en-gb")

    telling.tell_owner(news=news, owner=reads(firm.owner, "fr"))

    said = dict(Notice.objects.values_list("user__email", "text"))
    assert said[firm.owner_person.email] == "Vos informations sont enregistrées."
    assert said[english.email] == "Your details are stored."


def test_the_daily_mail_is_written_in_the_language_of_its_person(firm, mail_server, time_machine):
    reads(firm.coordinator, "fr")
    time_machine.move_to(datetime(2026, 3, 3, 5, tzinfo=UTC), tick=False)
    telling.tell_firm(news=limit_news(firm), to=[firm.coordinator.pk])
    time_machine.move_to(datetime(2026, 3, 3, 8, tzinfo=UTC), tick=False)

    digests.ask_for_digests(datetime(2026, 3, 3, 8, tzinfo=UTC))
    batches.run_batch(DigestMail._meta.label)

    (sent,) = mail.outbox
    assert sent.subject == f"{firm.organisation} : 1 avis, 3 mars 2026"
    assert f"Du nouveau pour vous chez {firm.organisation}" in sent.body
    assert "Tous vos avis" in sent.body


def test_a_daily_mail_counts_what_it_tells_as_french_does(firm):
    digest = DigestMail(organisation=firm.organisation, user=firm.coordinator, on=date(2026, 3, 3))
    told = [Notice(text="Un.")] * (MOST_LINES + 1)

    with override("fr"):
        letter = letter_of(digest, told, lambda path: f"https://x{path}", "/stop/")

    assert letter.subject == f"{firm.organisation} : {MOST_LINES + 1} avis, 3 mars 2026"
    assert "Encore 1 avis dans l’application." in letter.text


def test_roles_and_countries_are_named_and_ordered_in_the_readers_language():
    with override("fr"):
        assert (Role.COORDINATOR.label, firm_roles()[0]) == ("Coordinateur", (20, "Lecteur"))
        names = [name for _code, name in country_choices()]
        groups = [name for name, _zones in zone_choices("FR")]
        germany = country_of("DE").said

    assert germany == "Allemagne"
    assert names.index("Espagne") < names.index("États-Unis") < names.index("Finlande")
    assert (groups[0], groups[-1]) == ("France", "Sans lieu")
    assert country_of("DE").said == "Germany"


def test_a_number_out_of_range_is_refused_in_french_with_both_figures(client, firm):
    reads(firm.admin, "fr")
    client.force_login(firm.admin)
    confirm(client)

    answer = client.post(reverse("accounts:firm-settings"), {"fresh_test_above": "-1"})

    (said,) = answer.context["form"].errors["fresh_test_above"]
    assert said == "-1 est trop petit. Indiquez 0 ou plus."
