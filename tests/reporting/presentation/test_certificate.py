"""The certificate of a round on paper: one tagged sheet that says what was measured, and no more."""

import pytest

from accounts.calc.audience import Audience
from qa.services import rounds
from reporting.presentation.certificate import certificate_words
from tests.factories import InfiltrationTestFactory
from tests.reporting.papers import certificate_of, facts_of, words_of
from tests.reporting.selectors.test_certificates import BY_THE_METHOD, accept, certified


def test_the_paper_names_method_result_limit_and_the_line_to_sign(firm, tmp_path, settings):
    settings.DEMO_NOTICE = "Invented demonstration data."
    round_ = accept(firm)

    words = words_of(certificate_of(round_), tmp_path)

    for said in (
        "Infiltration test certificate",
        "Invented demonstration data.",
        "Constant-head single ring. ASTM C1781/C1781M",
        "Passes The mean of 9170 mm/h reaches the 2540 mm/h required for acceptance.",
        "Limit to be kept 250 mm/h",
        "Acceptance rate when new 2540 mm/h",
        "3 of at least 3",
        "18 kg in 100 s, ring 300 mm",
        "last rain 48 h before, no standing water",
        f"by {firm.technician}",
        "None was found.",
        "unsigned it certifies nothing",
        "For a licensed professional",
        "Name and signature",
        "Page 1 of 1",
    ):
        assert said in words, said


def test_it_is_a_tagged_paper_of_one_page(firm, tmp_path):
    facts = facts_of(certificate_of(accept(firm)), tmp_path)

    assert (facts["Tagged"], facts["Pages"]) == ("yes", "1")
    assert facts["Title"].startswith("Test certificate of ")


def test_a_round_of_many_spots_with_departures_still_fits_one_page(firm, tmp_path):
    round_ = accept(firm)
    for number in range(12):
        InfiltrationTestFactory(round=round_, spot=f"Bay {number}", leak_seen=True, **BY_THE_METHOD)

    pdf = certificate_of(round_)

    assert facts_of(pdf, tmp_path)["Pages"] == "1"
    assert "Bay 11" in words_of(pdf, tmp_path)


def test_what_no_sheet_holds_goes_on_and_loses_nothing(firm, tmp_path):
    round_ = accept(firm)
    for number in range(120):
        InfiltrationTestFactory(round=round_, spot=f"Bay {number}", **BY_THE_METHOD)

    pdf = certificate_of(round_)

    words = words_of(pdf, tmp_path)
    assert int(facts_of(pdf, tmp_path)["Pages"]) > 1
    assert [number for number in range(120) if f"Bay {number} " not in words] == []
    assert "Name and signature" in words


@pytest.mark.parametrize("audience", Audience)
def test_void_tests_and_rounds_set_aside_are_never_said_to_pass(firm, tmp_path, audience):
    void_by_rain = accept(firm, hours_since_rain=5.0)
    aside = accept(firm)
    rounds.void_round(round_=aside, by=firm.technician, reason="Wrong surface.")

    rained, gone = (
        words_of(certificate_of(each, audience=audience), tmp_path) for each in (void_by_rain, aside)
    )

    assert "Cannot tell: too few valid tests" in rained
    assert "No result: the round was set aside" in gone
    assert "passes" not in (rained + gone).lower()


def test_a_reader_of_us_units_gets_inches_on_letter_paper(firm, tmp_path):
    pdf = certificate_of(accept(firm), units="us")

    assert "The mean of 361 in/h reaches the 100 in/h required for acceptance." in words_of(pdf, tmp_path)
    assert b"/MediaBox[0 0 612 792]" in pdf


def test_a_round_without_tests_or_a_rate_to_ask_says_so(firm):
    round_ = accept(firm)
    round_.tests.all().delete()
    firm.surface.acceptance_rate_mm_h = None
    firm.surface.save()

    words = certificate_words(certified(round_), "si")

    assert words["mean"] == "none: no test with a rate counts"
    assert words["result"]["word"].startswith("Cannot tell")
    assert words["tone"] == "partly"


def test_tests_replaced_since_are_named_by_their_number(firm, tmp_path):
    round_ = accept(firm)
    rounds.void_test(test=round_.tests.first(), by=firm.technician, reason="Wrong spot.")

    words = words_of(certificate_of(round_, audience=Audience.OWNER), tmp_path)

    assert "1 test of this round was replaced or set aside and not counted." in words
    assert "Wrong spot." not in words
