"""A phone in French: what its scripts say, with signal and without."""

import pytest

from fieldwork.selectors import kept_pages
from tests.browser.conftest import settle, until
from tests.browser.phone import Phone

pytestmark = pytest.mark.django_db(transaction=True)
WORDS_KEPT = "async () => Boolean(await (await caches.open('words')).match('/words.json'))"


@pytest.fixture
def phone(firm, open_page, monkeypatch, workers_elsewhere, keeps_pages):
    """The phone of a technician who reads French, with a form of the firm's surface kept on it."""
    monkeypatch.setattr(kept_pages, "TestMethod", [])
    monkeypatch.setattr(kept_pages, "FORMS_OF_SURFACE", ["maintenance:cleaning-create"])
    firm.technician.language = "fr"
    firm.technician.save(update_fields=["language"])
    held = Phone(open_page(firm.technician, firm.surface.get_absolute_url()))
    held.page.get_by_role("button", name="Garder sur ce téléphone").click()
    held.keep(f"/surfaces/{firm.surface.pk}/cleanings/new/", "/field/phone/")
    until(held.page, WORDS_KEPT)
    return held


def test_what_scripts_say_is_french_also_on_a_page_that_was_kept(firm, phone):
    with phone.without_signal():
        page = phone.open(f"/surfaces/{firm.surface.pk}/cleanings/new/")
        assert page.get_by_text("la page telle qu’elle a été gardée sur ce téléphone").is_visible()
        page = phone.open("/field/phone/")
        assert page.get_by_text("Tout ce qui a été enregistré ici est sur le serveur.").is_visible()


def test_so_is_what_the_worker_says_of_a_sending_that_did_not_go(phone):
    page = phone.open("/field/phone/")
    with phone.without_signal():
        page.evaluate(
            "() => { const form = Object.assign(document.createElement('form'), { method: 'post', action: '/x/' });"
            " document.body.append(form); HTMLFormElement.prototype.submit.call(form) }"
        )
        page.get_by_role("heading", name="Pas de réseau").wait_for()
        assert page.get_by_role("link", name="Première page").is_visible()
        assert page.locator("html").get_attribute("lang") == "fr"
    phone.open("/field/phone/")
    settle(page)
