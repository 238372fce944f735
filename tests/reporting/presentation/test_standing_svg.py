"""All surfaces of a site against their limits, in one picture."""

from xml.etree import ElementTree

import pytest

from reporting.presentation.standing_svg import Stand, standing_svg, standing_words

SVG = "{http://www.w3.org/2000/svg}"
YARD = Stand("Yard", 1000.0, 500.0, 2000.0, 250.0, then_mm_h=1500.0)
RAMP = Stand("Ramp with a name that is far too long for the column", 100.0, 80.0, 120.0, 250.0)


def drawn(*stands, units="si"):
    return ElementTree.fromstring(standing_svg(stands, units, for_paper=True))


def circles(picture):
    return [float(one.get("cx")) for one in picture.iter(f"{SVG}circle")]


def test_each_surface_has_a_row_and_a_long_name_is_cut():
    said = [one.text for one in drawn(YARD, RAMP).iter(f"{SVG}text")]

    assert "Yard" in said
    assert any(text.endswith("…") for text in said)
    assert {"100", "1000", "mm/h"} <= set(said)


def test_what_was_lies_to_the_right_of_what_is_where_the_rate_fell():
    then, now, *_ = circles(drawn(YARD))

    assert then > now
    assert "when the period began" in [one.text for one in drawn(YARD).iter(f"{SVG}text")]
    assert "when the period began" not in [one.text for one in drawn(RAMP).iter(f"{SVG}text")]


def test_equal_ratios_are_equally_far_apart():
    ratios = [Stand("", rate, rate, rate, 10.0) for rate in (10.0, 100.0, 1000.0)]

    first, second, third, *_ = circles(drawn(*ratios))

    assert second - first == pytest.approx(third - second, abs=0.2)


def test_units_and_words_are_those_of_the_reader():
    assert "in/h" in [one.text for one in drawn(YARD, units="us").iter(f"{SVG}text")]
    assert standing_words([YARD], "us") == (
        "Estimated rates against the limits. Yard: 39.4 in/h, limit 9.84 in/h."
    )


def test_without_an_estimate_there_is_no_picture():
    assert standing_svg([], "si", for_paper=False) == ""
