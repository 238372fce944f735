"""What people read of programmes of care."""

import pytest

from core.calc.paving import CleaningMethod
from maintenance.calc.care_payload import CareKind, Use
from maintenance.calc.deciding.programmes import Programme
from maintenance.presentation.care_words import changes, lead_sentence, outcome_name, uses_words
from tests.maintenance.presentation.comparisons import (
    ADVISED,
    AGREED,
    ALL,
    LESS,
    MORE,
    NOTHING,
    RELAY,
    SOURCE,
    STRONGER,
    UNTESTED,
    VACUUM,
    along,
    comparison,
    outcome,
)

SWEEPING = VACUUM.label.lower()


@pytest.mark.parametrize(
    ("kind", "programme", "name"),
    [
        (CareKind.NOTHING, Programme(), "Nothing"),
        (CareKind.ADVISED, Programme(worth_m2_yr=4.0), "As advised, tested when due"),
        (CareKind.UNTESTED, Programme(worth_m2_yr=4.0), "As advised, without tests"),
        (
            CareKind.LESS,
            Programme(worth_m2_yr=0.4),
            "Less care, as if a year within were worth 0.40 EUR a m²",
        ),
        (
            CareKind.MORE,
            Programme(worth_m2_yr=250.0),
            "More care, as if a year within were worth 250 EUR a m²",
        ),
        (CareKind.CALENDAR, Programme(1.0, VACUUM), f"{VACUUM.label} once a year"),
        (CareKind.CALENDAR, Programme(2.0, VACUUM), f"{VACUUM.label} twice a year"),
        (CareKind.CALENDAR, Programme(3.0, VACUUM), f"{VACUUM.label} 3 times a year"),
        (CareKind.SOURCE, Programme(stop_source=True), "The sediment stopped first, then as advised"),
    ],
)
def test_each_programme_is_named_so_that_it_is_told_from_its_kind(kind, programme, name):
    assert outcome_name(outcome(kind, programme), "EUR", "si") == name


def test_a_calendar_with_a_stronger_method_names_both_and_the_doubt():
    name = outcome_name(STRONGER, "EUR", "si")

    assert name == f"{VACUUM.label} once a year, {RELAY.label.lower()} from 20\u00a0% on"


@pytest.mark.parametrize(
    ("programme", "name"),
    [
        (
            Programme(1.0, VACUUM, test_every_yr=2.0),
            f"As agreed: {SWEEPING} once a year, a test every 2 years",
        ),
        (Programme(0.5, VACUUM), f"As agreed: {SWEEPING} 0.5 times a year"),
        (Programme(test_every_yr=3.0), "As agreed: a test every 3 years"),
    ],
)
def test_an_agreement_is_named_by_what_it_asks_for_alone(programme, name):
    assert outcome_name(outcome(CareKind.AGREED, programme), "EUR", "si") == name


@pytest.mark.parametrize(
    ("a_year", "words"),
    [
        (3.0, "3.0 times a year"),
        (1.0, "about once a year"),
        (0.9, "about once a year"),
        (0.5, "every 2 years"),
        (0.1, "every 10 years"),
        (0.01, "every 100 years"),
    ],
)
def test_how_often_is_said_as_people_say_it(a_year, words):
    one = outcome(uses=(Use(VACUUM, a_year),), tests_a_year=0.0)

    assert uses_words(one) == f"{SWEEPING} {words}"


def test_several_methods_and_tests_are_told_one_after_another():
    uses = Use(VACUUM, 1.5), Use(CleaningMethod.JOINT_REFILL, 0.2)
    said = uses_words(outcome(uses=uses, tests_a_year=0.25))

    refill = CleaningMethod.JOINT_REFILL.label.lower()
    assert said == f"{SWEEPING} 1.5 times a year; {refill} every 5 years; a test every 4 years"


@pytest.mark.parametrize(
    ("tests", "said"), [(0.0, "nothing"), (0.009, "nothing"), (0.01, "a test every 100 years")]
)
def test_a_test_that_is_next_to_never_made_is_not_told(tests, said):
    assert uses_words(outcome(uses=(), tests_a_year=tests)) == said


# ---- The first sentence --------------------------------------------------------------------------


def test_the_first_sentence_works_the_figures_of_this_surface_through():
    text = lead_sentence(comparison(), 2500.0, "EUR", "si")

    assert text == (
        "A year below its limit counts as 10,000 EUR here: 4.00 EUR a m² on 2,500 m². "
        f"Suggested: as advised, tested when due, which is {SWEEPING} every 4 years; a test every 2 years. "
        "That costs about 1,000 EUR a year over ten years (80 % range 800 EUR to 1,200 EUR), "
        "leaves it below its limit 3.0 months a year, "
        "and keeps it within the limit all ten years with a chance of 40\u00a0%."
    )


@pytest.mark.parametrize(
    ("months", "said"),
    [(0.0, "hardly a day"), (0.049, "hardly a day"), (0.05, "0.1 months"), (12.0, "12.0 months")],
)
def test_next_to_no_time_below_is_hardly_a_day(months, said):
    chosen = outcome(months_below=months)

    text = lead_sentence(comparison(NOTHING, chosen, chosen=chosen), 1000.0, "EUR", "si")

    assert f"below its limit {said} a year" in text


@pytest.mark.parametrize("chance", [0.0, 1.0])
def test_no_chance_of_staying_within_is_certain(chance):
    chosen = outcome(chance_within=chance)

    text = lead_sentence(comparison(NOTHING, chosen, chosen=chosen), 1000.0, "EUR", "si")

    assert ("under 1 %" if chance == 0.0 else "over 99 %") in text


@pytest.mark.parametrize(("kind", "worth"), [(CareKind.LESS, 1.6), (CareKind.MORE, 10.0)])
def test_more_or_less_care_than_the_price_calls_for_says_what_it_saves(kind, worth):
    chosen = along(kind, worth, total_10=11_000.0)

    text = lead_sentence(comparison(NOTHING, ADVISED, chosen, chosen=chosen), 1000.0, "CHF", "si")

    assert text.endswith(
        "Counted at the price above, it costs 1,000 CHF less over ten years in all than deciding by that price."
    )


@pytest.mark.parametrize("chosen", [ADVISED, UNTESTED, NOTHING])
def test_what_the_price_itself_calls_for_needs_no_such_reason(chosen):
    assert "Counted at the price above" not in lead_sentence(comparison(chosen=chosen), 1000.0, "EUR", "si")


def test_without_the_advised_programme_there_is_nothing_to_compare_with():
    text = lead_sentence(comparison(NOTHING, MORE, chosen=MORE), 1000.0, "EUR", "si")

    assert "Counted at the price above" not in text


# ---- What would change it ------------------------------------------------------------------------


def told(beginning, compared, units="si"):
    """The one line that so begins; None where there is none."""
    lines = [line for line in changes(compared, "EUR", units) if line.startswith(beginning)]
    assert len(lines) <= 1
    return lines[0] if lines else None


@pytest.mark.parametrize(("units", "rate"), [("si", "400 mm/h"), ("us", "15.7 in/h")])
def test_the_rate_from_which_acting_pays_is_in_the_readers_units(units, rate):
    said = told("The rate:", comparison(), units).replace("\u00a0", " ")

    assert said == f"The rate: below {rate} a cleaning now would pay, above it waiting costs less."


def test_where_no_rate_calls_for_a_cleaning_that_is_said():
    compared = comparison(acts_below_mm_h=None)

    assert told("No rate", compared) == "No rate, however low, would call for a cleaning now at these prices."
    assert told("The rate:", compared) is None


def test_the_ends_of_the_frontier_say_what_another_worth_would_change():
    assert told("What a year", comparison()) == (
        f"What a year within the limit is worth: at 0.40 EUR a m² it would be {SWEEPING} every 4 years; "
        f"a test every 2 years, 400 EUR a year; at 32.00 EUR a m² it would be {SWEEPING} every 4 years; "
        "a test every 2 years, 2,500 EUR a year."
    )


@pytest.mark.parametrize("rows", [(NOTHING, ADVISED), (NOTHING, ADVISED, UNTESTED, AGREED)])
def test_without_a_frontier_nothing_is_said_of_worth(rows):
    assert told("What a year", comparison(*rows)) is None


def test_tests_that_save_money_are_worth_up_to_that():
    said = told("Tests:", comparison())

    assert said.startswith("Tests: made when due they save 700 EUR over ten years, their price counted;")


def test_tests_that_cost_more_than_they_save_say_by_how_much():
    untested = outcome(CareKind.UNTESTED, total_10=11_500.0)

    said = told("Tests:", comparison(ADVISED, untested))

    assert said == "Tests: over ten years they cost 500 EUR more than they save here."


@pytest.mark.parametrize("rows", [(ADVISED, NOTHING), (ADVISED, AGREED)])
def test_without_the_untested_programme_nothing_is_said_of_tests(rows):
    assert told("Tests:", comparison(*rows)) is None


@pytest.mark.parametrize(
    ("total", "words"),
    [
        (12_500.0, "stopping its source saves about 7,500 EUR over twenty years. It pays up to that price."),
        (20_000.0, "stopping its source would save nothing here."),
        (20_100.0, "stopping its source would save nothing here."),
    ],
)
def test_stopping_the_sediment_is_worth_what_it_saves(total, words):
    stopped = outcome(CareKind.SOURCE, total_20=total)

    assert told("The sediment:", comparison(ADVISED, stopped)) == f"The sediment: {words}"


def test_without_a_source_nothing_is_said_of_it():
    assert told("The sediment:", comparison(*(o for o in ALL if o is not SOURCE))) is None


def test_doing_nothing_is_held_against_what_is_suggested():
    assert told("Doing nothing", comparison()) == (
        "Doing nothing leaves it below its limit 11.0 months a year and costs 21,000 EUR more over ten years in all."
    )


@pytest.mark.parametrize(("rows", "chosen"), [(ALL, NOTHING), ((ADVISED, LESS, MORE), ADVISED)])
def test_nothing_is_not_held_against_itself_nor_against_what_was_not_compared(rows, chosen):
    assert told("Doing nothing", comparison(*rows, chosen=chosen)) is None


@pytest.mark.parametrize("rival", [LESS, MORE], ids=["less", "more"])
def test_a_currency_within_the_leading_sentence_keeps_its_capitals(rival):
    said = lead_sentence(comparison(ADVISED, rival, chosen=rival), 960.0, "EUR", "si")

    assert "eur" not in said
    assert "Suggested: " + outcome_name(rival, "EUR", "si")[0].lower() in said


def test_where_both_ends_of_the_frontier_are_alike_they_are_told_once():
    free = along(CareKind.LESS, 0.0, cost=0.0)

    said = " ".join(changes(comparison(ADVISED, free, free), "EUR", "si"))

    assert said.count("at 0.00 EUR a m²") == 1


def test_tests_that_neither_save_nor_cost_are_said_to_break_even():
    even = outcome(CareKind.UNTESTED, Programme(worth_m2_yr=4.0), total_10=ADVISED.total_10)

    said = " ".join(changes(comparison(ADVISED, even), "EUR", "si"))

    assert "they save here what they cost" in said
    assert "-0.00" not in said


@pytest.mark.parametrize(
    ("worth_m2", "units", "said"),
    [
        (0.4, "us", "as if a year within were worth 0.0372 EUR a ft²"),
        (2.691, "us", "as if a year within were worth 0.25 EUR a ft²"),
        (2.691, "si", "as if a year within were worth 2.691 EUR a m²"),
    ],
)
def test_a_worth_by_area_follows_the_readers_units(worth_m2, units, said):
    found = outcome_name(outcome(CareKind.LESS, Programme(worth_m2_yr=worth_m2)), "EUR", units)

    assert found == f"Less care, {said}"


def test_the_first_sentence_and_the_frontier_follow_the_readers_units():
    """4.00 a m² is 0.3716 a ft², and 2,500 m² are 26,910 ft²; the money is the same."""
    lead = lead_sentence(comparison(), 2500.0, "EUR", "us")
    changed = " ".join(changes(comparison(), "EUR", "us"))

    assert lead.startswith(
        "A year below its limit counts as 10,000 EUR here: 0.3716 EUR a ft² on 26,910 ft²."
    )
    assert "at 0.0372 EUR a ft² it would be" in changed
    assert "m²" not in lead + changed
