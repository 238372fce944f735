"""What the formulas of quality say to who reads French: whole sentences, with numbers, dates and plurals of French."""

from datetime import date

import pytest
from django.utils.translation import override

from core.calc.bounds import Bound
from core.calc.paving import SurfaceType
from core.calc.units import UnitSystem
from core.errors import ImpossibleRecordError
from qa.calc.acceptance import judge_acceptance
from qa.calc.check_model import HeaviestUse, Stage
from qa.calc.check_units import in_units, judge
from qa.calc.checks import checks_for
from qa.calc.citing import Verified, cited
from qa.calc.counts import count_deviation
from qa.calc.deviations import Deviations, require_positive
from qa.calc.limits import PRESETS, Agreed, governing_acceptance
from qa.calc.ring import RingReading, evaluate_ring
from qa.calc.rounds import Summary
from qa.calc.sampling import Extent, basis_words, readings_needed
from qa.calc.sources import looked_up

HALF_A_KILOGRAM_OFF = RingReading(UnitSystem.SI, 3.6, 20.0, 60.0, 17.5, 300.0, 60.0)


def check(key, use=HeaviestUse.VEHICLE):
    return next(one for one in checks_for(SurfaceType.PICP, use) if one.key == key)


@pytest.fixture
def french():
    with override("fr"):
        yield


def test_a_deviation_is_kept_so_that_each_reader_has_it_in_the_own_language():
    with override("fr"):
        kept = Deviations(evaluate_ring(HALF_A_KILOGRAM_OFF).deviations).to_json()

    (found,) = Deviations.from_json(kept).found
    assert found.message.startswith("Test mass 17.5 kg is outside 3.55 to 3.65 kg or 17.95 to 18.05 kg.")
    with override("fr"):
        assert found.message.startswith("La masse d’essai de 17,5 kg sort des plages de 3,55 à 3,65 kg")
        assert found.allowed == "3,55 à 3,65 kg ou 17,95 à 18,05 kg"
        assert found.effect.label == "Compte\u00a0; à lire avec le résultat"


def test_a_deviation_that_was_kept_with_its_numbers_in_it_is_read_as_it_is(french):
    old = {"key": "spacing", "value": 0.5, "allowed": "at least 1.00 m", "message": "0.50 m apart: {odd}."}

    (found,) = Deviations.from_json({"schema": 1, "found": [old]}).found

    assert (found.key, found.value) == ("spacing", 0.5)
    assert (found.allowed, found.message) == ("at least 1.00 m", "0.50 m apart: {odd}.")


@pytest.mark.parametrize(("tested", "begins"), [(1, "1 point a été essayé"), (2, "2 points ont été essayés")])
def test_spots_that_are_missing_are_counted(french, tested, begins):
    found = count_deviation(tested, 12_345.0, UnitSystem.SI)

    assert found.message.startswith(f"{begins}\u00a0; 12\u202f345 m² en demandent 13.")


def test_a_verdict_is_told_with_its_rates(french):
    asked = governing_acceptance(agreed=Agreed(1234.5))

    verdict = judge_acceptance(Summary(800.25, Bound.EXACT), asked, spots=3, needed=3, deviations=2)

    assert verdict.judgement.label == "Non conforme"
    assert verdict.reason == (
        "La moyenne de 800 mm/h est sous les 1230 mm/h exigés pour la réception. Notez 2 écarts à la méthode."
    )


def test_a_check_of_our_list_is_worded_and_judged(french):
    slope = in_units(check("surface_slope"), UnitSystem.SI)

    assert slope.stage is Stage.FINISH
    assert (slope.asked, slope.range_text, slope.each) == ("Pente de la surface.", "0 à 5 %", "endroit")
    assert judge(check("surface_slope"), 5.25, None, UnitSystem.SI).reason == (
        "5,25 %\u00a0; exigé\u00a0: 0 à 5 %. Consultez le concepteur\u00a0; une surface raide rejette l’eau."
    )


def test_why_so_many_readings_are_asked_is_stored_in_english_and_told_in_french(french):
    needed = readings_needed(check("subbase_lift"), Extent.of_area(1200.0), UnitSystem.SI, lifts=2)

    assert needed.basis.startswith("In each of 2 lifts: 1 for every 500 m² or part of it")
    assert basis_words(needed.basis) == (
        "Dans chacune des 2 couches élémentaires\u00a0: 1 par tranche de 500\u00a0m², même entamée, au moins 1 "
        "(pratique courante, sans source)."
    )
    assert basis_words("As the client asked.") == "As the client asked."


def test_a_source_that_was_verified_says_when(french):
    source = looked_up("Ontario guide, permeable pavement sizing")
    verified = {source.citation: Verified("2022", "A. Rey", date(2026, 3, 3))}

    assert cited(source, verified).text == (
        "Guide de l’Ontario, dimensionnement des revêtements perméables, 2022, "
        "vérifié par A. Rey le 3\u00a0mars\u00a02026"
    )
    assert PRESETS["germany"].name == "Allemagne"


def test_what_cannot_be_is_refused_in_words(french):
    with pytest.raises(ImpossibleRecordError) as refused:
        require_positive("Elapsed time", -0.5, "s", "Check the entry.")

    assert str(refused.value) == (
        "Temps écoulé\u00a0: doit dépasser 0 s\u00a0; valeur donnée\u00a0: -0,5. Vérifiez la saisie."
    )
