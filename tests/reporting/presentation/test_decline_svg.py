"""The picture of a decline: everything the interactive chart shows, in forms and in words."""

import re
from dataclasses import replace
from datetime import timedelta
from xml.etree import ElementTree

import pytest

from core.calc.bounds import Bound
from maintenance.calc.decline import LimitReach
from maintenance.presentation.charts import BOUND_MARKS, decline_figure
from reporting.presentation.decline_svg import decline_svg, decline_words
from tests.reporting.reports import TODAY, curve, decline

SVG = "{http://www.w3.org/2000/svg}"


def drawn(record, units="si", *, for_paper=True):
    return ElementTree.fromstring(decline_svg(record, units, for_paper=for_paper))


def texts(picture):
    return [one.text for one in picture.iter(f"{SVG}text")]


def paths(picture, **attributes):
    return [
        one
        for one in picture.iter(f"{SVG}path")
        if all(one.get(name.replace("_", "-")) == value for name, value in attributes.items())
    ]


def test_its_axes_carry_units_and_rates_on_a_logarithmic_scale():
    said = texts(drawn(decline()))

    assert "Rate (mm/h, logarithmic)" in said
    assert {"100", "1000", "10\u202f000"} & set(said)
    assert {"2023", "2025", "2027"} <= set(said)
    assert "limit 250 mm/h" in said
    assert any(word and word.replace("\xa0", " ") == "1 Jun 2026" for word in said)


def test_it_is_drawn_in_the_units_of_the_reader():
    said = texts(drawn(decline(), "us"))

    assert "Rate (in/h, logarithmic)" in said
    assert "limit 9.84 in/h" in said


def test_marks_differ_by_form_and_the_legend_names_those_that_are_there():
    said = texts(drawn(decline()))

    for words in (
        "single test",
        "at most this",
        "at least this",
        "another method",
        "mean of a round",
        "cleaning",
    ):
        assert words in said
    plain = texts(drawn(decline(tests=(), rounds=(), cleanings=(), reach=LimitReach(None, None, None))))
    for words in ("single test", "at most this", "another method", "mean of a round", "cleaning"):
        assert words not in plain
    assert "reaches it, 10 to 90 % chance" not in plain


@pytest.mark.parametrize("bound", list(BOUND_MARKS))  # those that the interactive chart knows
def test_each_bound_has_a_mark_of_its_own(bound):
    (test, *_) = decline().tests
    one, other = (decline(tests=(replace(test, bound=each),)) for each in (bound, Bound.EXACT))

    def shapes(record):
        return {re.sub(r"M[\d. ]+", "M", path.get("d")) for path in paths(drawn(record), stroke_width="1.2")}

    assert (shapes(one) == shapes(other)) is (bound is Bound.EXACT)


def test_curves_bands_and_dashes_are_those_of_the_interactive_chart():
    record = decline()
    picture = drawn(record)

    names = [trace["name"] for trace in decline_figure(record, "si")["data"]]
    assert names.count("95 % range") == names.count("80 % range") == 2
    assert len(paths(picture, fill="#2b86a0")) == 4
    assert len(paths(picture, stroke="#0b566c", stroke_dasharray="2 4")) == 2  # curve, and legend
    assert len(paths(picture, stroke="#94152a", stroke_dasharray="8 4")) == 2


def test_a_cleaning_stands_on_its_day_across_the_plot():
    (line,) = paths(drawn(decline()), stroke_dasharray="7 3 2 3")

    (x,) = re.match(r"M([\d.]+) ", line.get("d")).groups()
    # The view begins two weeks before the opening and ends with the forecast, at 60 to 428 units.
    since, until = decline().past.on[0] - timedelta(days=14), decline().future.on[-1]
    assert float(x) == pytest.approx(
        60 + 368 * ((decline().cleanings[0].on - since) / (until - since)), abs=0.1
    )


def test_on_a_page_its_colours_are_those_of_the_theme_and_on_paper_plain():
    page, paper = (decline_svg(decline(), "si", for_paper=on_paper) for on_paper in (False, True))

    assert "var(--chart-limit)" in page
    assert "var(" not in paper
    assert "#94152a" in paper


def test_it_says_the_same_in_words():
    said = decline_words(decline(), "si").replace("\xa0", " ")

    for words in (
        "Limit 250 mm/h.",
        "Estimate: 5000 mm/h on 1 Jun 2022, 1000 mm/h on 1 Jun 2026 (80 % range 667 mm/h to 1500 mm/h).",
        "4 tests in 2 ring rounds, the last with a mean of 700 mm/h on 1 May 2024; 1 cleaning.",
        "Chance of being below the limit: 10 % by 1 Aug 2027, 50 % by 1 May 2028.",
    ):
        assert words in said, words
    assert drawn(decline()).get("aria-label").replace("\xa0", " ") == said


def test_a_limit_out_of_reach_is_said_in_words():
    never = decline(reach=LimitReach(None, None, None))

    assert decline_words(never, "si").endswith("The limit is not expected to be reached within the forecast.")


def test_a_place_named_like_markup_does_no_harm():
    (test, *_) = decline().tests

    assert drawn(decline(tests=(replace(test, place="<script>&"),))) is not None


def test_a_surface_of_two_days_is_drawn_too():
    days = [TODAY, TODAY + timedelta(days=400)]

    assert drawn(decline(past=curve(days[:1], [500.0]), future=curve(days, [500.0, 400.0]), below=(0.0, 0.1)))


def test_it_stays_light():
    assert len(decline_svg(decline(), "si", for_paper=False)) < 9_000
