"""Advice, forecasts and care in French: sentences with their numbers, days and plurals."""

from datetime import date
from decimal import Decimal

import pytest
from django.utils.translation import override

from core.calc.paving import CleaningMethod
from maintenance.calc import text
from maintenance.calc.actions import SurfaceStatus, advise
from maintenance.calc.agreed import CLEANINGS
from maintenance.calc.data_quality import SLOWER
from maintenance.calc.needs import CleaningNeed, Needs, Rival
from maintenance.calc.price_effect import Effect
from maintenance.calc.returning import MORE_CHANCE, MORE_COSTS, RULE
from maintenance.calc.vocabulary import Action
from maintenance.calc.windows import Climate, cleaning_window
from maintenance.models import CleaningEvent, Recommendation
from maintenance.presentation.cleanings import cleaning_details, price_effect_words
from maintenance.services import releases
from maintenance.templatetags.advice import amount
from tests.clock import TODAY
from tests.factories import BECAUSE

VACUUM = Rival(CleaningMethod.VACUUM, Decimal(450), Decimal(1200))
RELAY = Rival(CleaningMethod.RELAY, Decimal(9000), Decimal(-310))
NEEDS = Needs(
    "EUR",
    year_below=Decimal(12500),
    ask_first=Decimal(2000),
    cleaning=CleaningNeed(date(2026, 6, 8), VACUUM, 0.34, (RELAY,), 3.0),
    acts_below_mm_h=480.0,
)
WORN = SurfaceStatus(
    today=date(2026, 6, 1),
    opened_on=date(2020, 6, 1),
    limit_mm_h=250.0,
    rate_now_mm_h=300.5,
    share_below_now=0.34,
    below_10_on=date(2026, 1, 1),
    below_50_on=date(2026, 8, 1),
    last_tested_on=date(2026, 3, 3),
    last_cleaned_on=None,
)


def in_french(sentence):
    """The sentence as a French reader reads it, with ordinary spaces."""
    with override("fr"):
        return text.speak(sentence, "si").replace("\u00a0", " ").replace("\u202f", " ")


def test_stored_advice_is_read_in_french():
    (piece,) = advise(WORN, NEEDS, ())

    said = [in_french(reason) for reason in piece.reasons]

    assert "à 450 EUR économise 1 200 EUR par rapport à l’attente" in said[0]
    assert said[1].startswith("En comparaison : ")
    assert said[1].endswith("à 9 000 EUR coûterait 310 EUR de plus que d’attendre.")
    assert said[2] == (
        "La probabilité d’être sous le seuil de 250 mm/h est de 34 % le 8 juin 2026 ; une année sous le seuil compte "
        "ici pour 12 500 EUR."
    )


def test_what_names_a_price_of_work_is_told_as_naming_money():
    work = text.work(VACUUM.method, VACUUM.price, "EUR")
    rival = text.rival(RELAY.method, RELAY.price, RELAY.saves, "EUR")

    assert text.names_money(f"{work} would be next.")
    assert text.names_money(f"Compared with it: {rival}.")


@pytest.mark.parametrize(
    ("per_year", "last", "said"),
    [
        (1, None, "Le contrat demande 1 nettoyage par an ; aucun n’est encore enregistré."),
        (
            2.5,
            date(2026, 2, 3),
            "Le contrat demande 2,5 nettoyages par an ; le dernier date du 3 févr. 2026.",
        ),
    ],
)
def test_what_was_agreed_is_counted_in_french(per_year, last, said):
    assert in_french(CLEANINGS.asked(per_year, last)) == said


def test_why_a_day_was_moved_is_said_in_french():
    window = cleaning_window(
        date(2027, 1, 10), date(2026, 6, 1), Climate(frost_months=(12, 1, 2)), hours=80.0
    )

    assert in_french(window.reason) == "La date a été reportée au 1 mars 2027 : gel le 10 janv. 2027."


def test_an_odd_round_is_told_with_a_decimal_comma():
    sentence = SLOWER.format(day1=text.day(date(2026, 3, 3)), number1=text.number("0.5"))

    assert in_french(sentence).startswith(
        "La série d’essais du 3 mars 2026 n’a montré que 0,5 % de la vitesse"
    )


def test_counts_of_passes_and_of_advice_have_their_plurals():
    with override("fr"):
        (passes,) = cleaning_details(CleaningEvent(passes=2), with_people=False)
        told = price_effect_words(Effect(1, 1, 0, 0))

        assert passes("si") == "2 passages"
        assert "Sur 1 préconisation ouverte de nettoyage" in told
        assert (amount(1234.5), amount(None)) == ("1\u202f234,50", "")


def test_the_rule_of_what_returns_names_the_figures_that_decide():
    assert f"by {MORE_CHANCE * 100:.0f} percentage points" in RULE
    assert f"costs {MORE_COSTS} times" in RULE


def test_an_owner_is_shown_advice_under_a_title_in_the_owners_language(firm):
    firm.surface.site.owner.language = "fr"
    firm.surface.site.owner.save()
    row = Recommendation.objects.create(
        surface=firm.surface,
        action=Action.TEST,
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        grounds=BECAUSE,
    )

    (shown,) = releases.release(recommendations=[row], by=firm.coordinator)

    assert shown.content.title == "Essai"
