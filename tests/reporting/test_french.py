"""Documents for owners who read French: their sentences, numbers, days and plurals, and which language goes where."""

import re
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.core import mail
from django.urls import reverse
from django.utils.translation import override

from accounts.calc.audience import Audience
from core.services import jobs
from maintenance.calc.vocabulary import Action, SurfaceState
from reporting.calc.report_parts import AgreedCount, AgreedPart, Volume
from reporting.calc.values import Money
from reporting.calc.verdict import verdict
from reporting.models import Sending, SharedLink
from reporting.presentation import paper_texts
from reporting.presentation.report import report_words
from reporting.presentation.report_front import volume_words
from reporting.presentation.words import money_words
from reporting.services import kept, links, sendings
from reporting.services.sendings import Mailing, Recipient
from tests.clock import TODAY
from tests.factories import InfiltrationTestFactory, RoundFactory
from tests.reporting.calc.test_verdict import advised
from tests.reporting.papers import words_of
from tests.reporting.reports import golden_report, with_states

GOOD, BELOW, SOON = SurfaceState.DRAINING, SurfaceState.BELOW_LIMIT, SurfaceState.CLEAN_SOON
SINCE = TODAY - timedelta(days=365)
TYPST = Path(paper_texts.__file__).parent / "typst"


@pytest.fixture
def french_owner(firm):
    """An owner who reads French, of a firm that reads English."""
    firm.site.owner.language = "fr"
    firm.site.owner.save()
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=50)))
    return firm


def plainly(text):
    return text.replace("\u00a0", " ").replace("\u202f", " ")


def test_the_verdict_counts_in_words_and_says_what_is_due():
    report = with_states(
        golden_report(), GOOD, GOOD, BELOW, SOON, SOON, made_on=date(2026, 4, 1), agreed=None
    )
    several = advised(advised(report, 2, Action.CLEAN, date(2026, 3, 3)), 3, Action.TEST, date(2026, 5, 1))
    with override("fr"):
        said = plainly(verdict(several))

    assert said == (
        "Deux des cinq surfaces drainent bien ; une est sous son seuil et aurait dû être nettoyée d’ici le "
        "3 mars 2026 ; deux devront bientôt être nettoyées et la première doit être testée d’ici le 1 mai 2026."
    )


def test_what_is_missing_of_the_agreement_is_counted():
    missing = AgreedPart(AgreedCount(2, 1, 0), AgreedCount(0, 0, 0))
    with override("fr"):
        said = plainly(verdict(with_states(golden_report(), GOOD, agreed=missing)))

    assert said == "La surface draine bien ; une série d’essais reste à faire au titre du contrat."


def test_amounts_and_volumes_have_a_comma():
    with override("fr"):
        assert plainly(money_words(Money(Decimal("12595.5"), "EUR"))) == "12 595,50 EUR"
        assert plainly(volume_words(Volume(1.25, 2.5, 3.75), "si")) == "2,5 m³ (1,25 m³ à 3,75 m³)"


def test_a_report_says_nothing_in_english_that_is_ours():
    with override("fr"):
        words = report_words(replace(golden_report(), quotes=()), "si")

    assert words["facts"][0][0] == "Fait sur cette période"
    assert all(line.startswith(("Décidez de «", "Rien ne vous")) for line in words["asked"])


def test_every_text_of_a_paper_is_listed_and_every_one_listed_is_used():
    source = "".join(path.read_text() for path in TYPST.glob("*.typ"))
    asked = {
        text for call in re.findall(r"\bt\((.*)", source) for text in re.findall(r'"((?:[^"\\]|\\.)*)"', call)
    }
    begun = set(re.findall(r'(?<!\w)t\("((?:[^"\\]|\\.)*)"', source))

    assert begun <= set(paper_texts.TEXTS)
    assert set(paper_texts.TEXTS) <= asked


def test_a_document_for_an_owner_is_kept_in_the_owners_language_for_good(client, french_owner, tmp_path):
    firm = french_owner
    document = kept.freeze_handover(surface=firm.surface, audience=Audience.OWNER, by=firm.coordinator)
    own = kept.freeze_handover(surface=firm.surface, audience=Audience.FIRM, by=firm.coordinator)
    client.force_login(firm.coordinator)

    page = client.get(document.get_absolute_url()).content.decode()
    paper = client.get(reverse("reporting:kept-download", args=[document.pk])).content

    assert (document.language, own.language) == ("fr", "en-gb")
    assert document.title.startswith("Dossier de remise de ")
    assert '<div lang="fr">' in page
    assert "Contrôles d’exécution" in page
    assert "Download the PDF" in page
    assert "Contrôles d’exécution" in words_of(paper, tmp_path)
    assert re.search(rb"/Lang\s*\(fr\)", paper)


def test_whoever_has_a_link_reads_the_owners_language_whatever_their_browser_asks_for(client, french_owner):
    firm = french_owner
    link = SharedLink(for_whom="x", since=SINCE, ends_on=TODAY + timedelta(days=9))
    link = links.share_sites(
        link=link, organisation=firm.organisation, sites=[firm.site], by=firm.coordinator
    )
    secret = links.make_address(link=link, to=None)

    answer = client.get(reverse("reporting:shared-show", args=[secret]), headers={"accept-language": "en-gb"})

    assert answer.headers["Content-Language"] == "fr"
    assert "Essais et travaux" in answer.content.decode()


def test_the_mail_with_a_report_is_in_the_owners_language_and_what_became_of_it_in_the_firms(french_owner):
    firm = french_owner
    asked = Mailing((Recipient("anna@owner.example"),), "https://office.example/")
    sendings.send_report(
        site=firm.site, audience=Audience.OWNER, since=SINCE, mailing=asked, by=firm.coordinator
    )
    (row,) = Sending.objects.all()
    jobs.run(Sending._meta.label, row.pk)

    (message,) = mail.outbox
    assert message.subject.startswith("Rapport de ")
    assert " vous envoie : Rapport de " in plainly(message.body)
    assert "Toute personne qui a ce lien peut lire le document." in message.body
