"""A figure that stands in several places of a page, a report, a list or a paper is one figure."""

import html
import json
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils.timezone import localdate

from accounts.calc.audience import Audience
from core.calc.format import day, format_rate
from maintenance.calc.advice_payload import Grounds
from maintenance.calc.text import speak
from maintenance.models import Forecast, Recommendation
from maintenance.models.forecasts import SurfaceState
from maintenance.services import forecasts, releases
from qa.calc import limits
from qa.calc.sieving import SieveReadings
from qa.models import ConstructionRecord, Surface
from qa.services import assembly
from qa.services.register import save_surface
from reporting.presentation.handover import handover_words
from reporting.presentation.pictures import section_of
from reporting.selectors.handovers import handover_snapshot
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    LayerFactory,
    RoundFactory,
    SievingFactory,
    SiteFactory,
    SurfaceFactory,
    field_readings,
)
from tests.reporting.papers import paper_of, words_of

LIST = reverse("maintenance:surface-list")
YEAR = timedelta(days=365)


def text_of(markup):
    """What a page says, without its tags, its charts' data, what words mean when pressed, and non-breaking blanks."""
    shown = re.sub(r"<script.*?</script>|<div class=\"term__meaning\">.*?</div>", " ", markup, flags=re.S)
    plain = html.unescape(re.sub(r"<[^>]+>", " ", shown))
    return " ".join(plain.replace("\u00a0", " ").replace("\u202f", " ").split())


def plainly(said):
    return said.replace("\u00a0", " ").replace("\u202f", " ")


def say(client, person, url, **query):
    client.force_login(person)
    return text_of(client.get(url, query).content.decode())


def chart_of(client, person, url):
    client.force_login(person)
    return client.get(url).context["chart"]


def told_of(surface, units="si"):
    """What a surface's handover record says."""
    return handover_words(handover_snapshot(surface, Audience.OWNER), units)


def trace(figure, name):
    return next(one for one in figure["data"] if one.get("name") == name)


def wear(firm, last_elapsed_s):
    """Four rounds of ring tests over five years, each slower than the one before; then the forecast."""
    today = localdate()
    firm.surface.opened_on = today - 6 * YEAR
    firm.surface.save()
    for years, elapsed in ((5, 60.0), (3, 130.0), (1, 280.0), (0.3, last_elapsed_s)):
        round_ = RoundFactory(surface=firm.surface, tested_on=today - years * YEAR)
        for share in (0.9, 1.0, 1.15):
            InfiltrationTestFactory(round=round_, elapsed_s=elapsed * share)
    forecasts.refresh(firm.surface.pk)
    firm.surface.refresh_from_db()
    return firm


@pytest.fixture
def worn(firm):
    """A surface whose chance of being below its limit reaches 10 % in some weeks, one half in a year."""
    return wear(firm, 440.0)


@pytest.fixture
def nearly_worn_out(firm):
    """A surface whose chance of being below its limit reaches one half in some months."""
    return wear(firm, 560.0)


@pytest.fixture
def worn_out(firm):
    """A surface that is more likely than not below its limit."""
    return wear(firm, 1500.0)


def pages_with_the_rate(firm):
    return {
        "surface": (firm.technician, firm.surface.get_absolute_url()),
        "site": (firm.technician, firm.site.get_absolute_url()),
        "list": (firm.viewer, LIST),
        "report": (firm.viewer, reverse("reporting:report-site", args=[firm.site.pk])),
        "owner's start": (firm.owner_person, reverse("reporting:start")),
    }


def test_the_rate_of_now_is_one_figure_everywhere(client, worn):
    said = plainly(format_rate(worn.surface.forecast.rate_now_mm_h, "si"))

    told = {place: say(client, *page) for place, page in pages_with_the_rate(worn).items()}

    assert [place for place, text in told.items() if said not in text] == []


def test_the_sentence_the_header_and_the_chart_tell_one_rate_and_range(client, worn):
    forecast, url = worn.surface.forecast, worn.surface.get_absolute_url()
    figure = chart_of(client, worn.technician, url)
    rates = (forecast.rate_now_mm_h, forecast.rate_low_mm_h, forecast.rate_high_mm_h)
    middle, low, high = (plainly(format_rate(rate, "si")) for rate in rates)

    text = say(client, worn.technician, url)

    assert f"80 % range {low} to {high}" in text
    assert f"take in {middle} today; with a chance of 80 % it is between {low} and {high}" in text
    assert trace(figure, "estimate")["y"][-1] == pytest.approx(forecast.rate_now_mm_h, rel=1e-4)
    assert trace(figure, "forecast")["y"][0] == pytest.approx(forecast.rate_now_mm_h, rel=1e-4)


@pytest.mark.parametrize("state", SurfaceState)
def test_the_state_is_told_by_one_word_everywhere(client, firm, state):
    Forecast.objects.create(surface=firm.surface, surface_state=state)

    told = {place: say(client, *page) for place, page in pages_with_the_rate(firm).items()}

    assert [place for place, text in told.items() if state.label not in text] == []


def test_the_export_gives_the_list_in_the_same_figures(client, worn):
    forecast = worn.surface.forecast
    client.force_login(worn.viewer)

    exported = client.get(LIST, {"export": "csv"}).getvalue().decode()

    assert f"{forecast.rate_now_mm_h:.4f}".rstrip("0") in exported
    assert f"{round(forecast.share_below_now, 4)}" in exported
    assert forecast.below_50_on.isoformat() in exported
    assert SurfaceState(forecast.surface_state).label in exported


def test_the_day_of_a_10_percent_chance_is_one_day_on_the_page(client, worn):
    forecast, url = worn.surface.forecast, worn.surface.get_absolute_url()
    ten, half = forecast.below_10_on, forecast.below_50_on

    text = say(client, worn.technician, url)

    assert localdate() < ten < half
    assert f"between {plainly(day(ten))} (10 % chance)" in text
    assert f"most likely by {plainly(day(half))}" in text
    assert f"10 %: {ten:%b %Y}" in text
    bar = trace(chart_of(client, worn.technician, url), "reaches the limit")
    assert bar["x"][:2] == [ten.isoformat(), half.isoformat()]
    report = reverse("reporting:report-site", args=[worn.site.pk])
    told = say(client, worn.viewer, report)
    assert f"between {plainly(day(ten))} (10 % chance)" in told


def test_the_day_of_an_even_chance_is_one_day_on_the_page(client, nearly_worn_out):
    surface = nearly_worn_out.surface
    half = surface.forecast.below_50_on

    text = say(client, nearly_worn_out.technician, surface.get_absolute_url())

    assert f"most likely by {plainly(day(half))}" in text
    assert f"Likely to reach the limit by {half:%b %Y}" in text
    assert plainly(day(half)) in say(client, nearly_worn_out.viewer, LIST)


def test_advice_taken_on_earlier_gives_its_own_grounds_and_not_those_of_today(client, worn_out):
    Recommendation.objects.update(status="planned")
    grounds = [speak(row.reasons[0], "si") for row in worn_out.surface.recommendations.all()]
    Forecast.objects.update(share_below_now=0.97)  # as a later test would have it

    text = say(client, worn_out.technician, worn_out.surface.get_absolute_url())

    assert grounds
    assert all(plainly(said) in text for said in grounds)
    assert "97 % on" not in text


def test_the_chance_below_the_limit_is_one_figure(client, worn):
    Forecast.objects.update(share_below_now=0.034)

    text = say(client, worn.technician, worn.surface.get_absolute_url())

    assert "Chance below limit today 3 %" in text
    assert "below its limit of 250 mm/h today is 3 %" in text
    assert "3 %" in say(client, worn.viewer, LIST)


def test_the_loss_a_year_and_the_place_among_its_kind_are_told_alike(client, worn):
    forecast = worn.surface.forecast
    outlook = forecast.outlook
    decline = replace(outlook.decline_percent_a_year, median=27.5049)
    placed = {"decline_percentile": 0.9971, "decline_percentile_plain": 0.9971}
    forecast.decline_percent_yr, forecast.decline_percentile = 27.5049, placed["decline_percentile"]
    forecast.outlook = replace(outlook, decline_percent_a_year=decline, **placed)
    forecast.save()

    own = say(client, worn.technician, worn.surface.get_absolute_url())
    among = say(client, worn.technician, reverse("maintenance:calibration"))

    assert "loses about 28 % of its rate a year" in own
    assert "about 28 % a year" in among
    assert "faster than over 99 % of similar surfaces" in own
    assert "faster than over 99 % of similar surfaces" in among


def test_a_rounds_means_are_one_figure_on_its_page_in_the_record_and_on_the_chart(client, worn):
    round_ = worn.surface.rounds.first()
    figure = chart_of(client, worn.technician, worn.surface.get_absolute_url())

    page = say(client, worn.technician, round_.get_absolute_url())
    record = say(client, worn.technician, worn.surface.get_absolute_url())
    report = say(client, worn.viewer, reverse("reporting:report-site", args=[worn.site.pk]))

    mean = re.search(r"([\d. ]+ mm/h) geometric mean of 3 spots", record)[1].strip()
    assert f"Geometric mean {mean}" in page
    assert f"3 tests, geometric mean {mean}." in report
    drawn = trace(figure, "test round")["y"][0]
    assert plainly(format_rate(drawn, "si")) == mean


def test_what_a_cleaning_gave_is_told_alike_in_the_record_and_on_the_chart(
    client, worn, django_capture_on_commit_callbacks
):
    """A gain of more than a thousand times: neither place writes it in powers of ten."""
    on = localdate() - timedelta(days=60)
    CleaningFactory(surface=worn.surface, cleaned_on=on)
    after = RoundFactory(surface=worn.surface, tested_on=on, purpose="after_cleaning")
    before = RoundFactory(surface=worn.surface, tested_on=on, purpose="before_cleaning")
    InfiltrationTestFactory(round=before, elapsed_s=1886.0)
    InfiltrationTestFactory(round=after, elapsed_s=1.0, test_mass=3.6)
    with django_capture_on_commit_callbacks(execute=True):
        forecasts.force_refresh(surface=worn.surface)

    url = worn.surface.get_absolute_url()
    record = say(client, worn.technician, url)
    (told,) = trace(chart_of(client, worn.technician, url), "cleaning")["text"]

    times = re.search(r"Tests before and after: ([\d ]+) times the rate", record)[1]
    assert float(times.replace(" ", "")) > 1000
    assert f"by the tests {times} times the rate" in plainly(told)
    model = re.search(r"Model: (\S+) times \(80 % range (\S+) to (\S+)\)", record)
    assert f"by the model {model[1]} ({model[2]} to {model[3]})" in plainly(told)


def test_no_chart_shows_a_rate_in_powers_of_ten(client, worn):
    """d3-format: "g" turns to an exponent above the digits it is given, "r" never does."""
    figures = [chart_of(client, worn.technician, worn.surface.get_absolute_url())]
    parts = client.get(worn.surface.rounds.first().get_absolute_url()).context["parts"]
    figures += [part.chart.figure for part in parts]

    shown = [one["hovertemplate"] for figure in figures for one in figure["data"] if one.get("hovertemplate")]

    assert len(shown) > 4
    assert not [template for template in shown if re.search(r":\.\d+g}", template)]


def test_the_mean_the_water_page_starts_from_is_the_one_its_round_reports(client, worn):
    LayerFactory(surface=worn.surface, kind="base", thickness_mm=300.0)
    Surface.objects.update(soil_rate_mm_h=10.0)
    page = say(client, worn.technician, worn.surface.rounds.first().get_absolute_url())
    mean = re.search(r"Mean of 3 spots ([\d.]+ mm/h)", page)[1]

    water = say(client, worn.technician, reverse("qa:water-detail", args=[worn.surface.pk]))

    assert f"As last tested, {mean}" in water


def flooded(surface, **fields):
    readings = {
        "dam_tight": True,
        "runs": [{"level_start": 90.0, "level_end": 60.0, "elapsed_s": 720.0}] * 3,
    }
    round_ = RoundFactory(surface=surface, tested_on=localdate(), **fields)
    empty = dict.fromkeys(("prewet_mass", "prewet_time_s", "start_delay_s", "test_mass", "ring_diameter"))
    InfiltrationTestFactory(
        round=round_, method="flooding", readings=field_readings(readings), elapsed_s=None, **empty
    )
    return round_


def test_a_latest_round_by_another_method_is_named_and_a_screening_alone_is_no_rate(client, worn):
    LayerFactory(surface=worn.surface, kind="base", thickness_mm=300.0)
    Surface.objects.update(soil_rate_mm_h=10.0)
    flooded(worn.surface)
    screened = RoundFactory(surface=worn.surface, tested_on=localdate())
    spread = {"volume": 10.0, "wetted_area": 1.8}
    empty = dict.fromkeys(("prewet_mass", "prewet_time_s", "start_delay_s", "test_mass", "ring_diameter"))
    InfiltrationTestFactory(
        round=screened, method="spreading_area", readings=field_readings(spread), elapsed_s=None, **empty
    )

    water = say(client, worn.technician, reverse("qa:water-detail", args=[worn.surface.pk]))

    assert "As last tested, 150 mm/h by full-scale flooding" in water


def test_an_acceptance_round_without_the_ring_is_told_alike_on_page_paper_and_check(client, firm, tmp_path):
    firm.surface.acceptance_rate_mm_h = 100.0
    firm.surface.save()
    record = ConstructionRecord(surface=firm.surface)
    assembly.open_record(record=record, parts=["base"], by=firm.technician)
    round_ = flooded(firm.surface, purpose="acceptance")

    page = say(client, firm.technician, round_.get_absolute_url())
    paper = words_of(paper_of(firm.surface), tmp_path)
    (part,) = told_of(firm.surface)["acceptance"]["rounds"]
    checks = say(client, firm.technician, reverse("qa:construction-detail", args=[firm.surface.pk]))

    assert "Acceptance: cannot tell yet. No test of this round counts yet." in page
    assert "of at least 3 spots tested" not in page
    assert (part["spots"], part["mean"]) == ("0 of at least 3", "150 mm/h by full-scale flooding")
    assert part["verdict"] == "Cannot tell yet"
    assert "mean 150 mm/h by full-scale flooding, 0 of at least 3 spots" in paper
    assert "1 of at least 3 spots tested" not in checks + paper


def test_an_acceptance_round_has_one_mean_and_one_verdict_on_page_paper_and_report(client, firm, tmp_path):
    firm.surface.acceptance_rate_mm_h = 1000.0
    firm.surface.save()
    round_ = RoundFactory(surface=firm.surface, purpose="acceptance")
    for elapsed in (140.0, 155.0, 171.0):
        InfiltrationTestFactory(round=round_, elapsed_s=elapsed)
    page = say(client, firm.technician, round_.get_absolute_url())
    mean = re.search(r"Mean of 3 spots ([\d.]+ mm/h)", page)[1]
    reason = re.search(r"Acceptance: passes\. (.*?required for acceptance\.)", page)[1]

    told = [
        say(client, firm.technician, firm.surface.get_absolute_url()),
        say(client, firm.viewer, reverse("reporting:report-site", args=[firm.site.pk])),
        say(client, firm.viewer, reverse("reporting:handover-show", args=[firm.surface.pk])),
        words_of(paper_of(firm.surface), tmp_path),
    ]

    assert f"mean of {mean} reaches" in reason
    assert [reason in text for text in told] == [True] * 4
    assert f"mean {mean}, 3 of at least 3 spots" in told[3]


def ruled(firm):
    firm.surface.limit_preset, firm.surface.agreed_limit_mm_h = "ontario", None
    return save_surface(surface=firm.surface)


def limit_pages(firm, round_):
    return {
        "surface": (firm.technician, firm.surface.get_absolute_url()),
        "report": (firm.viewer, reverse("reporting:report-site", args=[firm.site.pk])),
        "list": (firm.viewer, LIST),
        "handover": (firm.viewer, reverse("reporting:handover-show", args=[firm.surface.pk])),
        "round": (firm.technician, round_.get_absolute_url()),
    }


def test_a_rule_that_has_changed_since_does_not_put_a_second_limit_on_any_page(client, worn, monkeypatch):
    """The stored limit is what tests and forecasts are held against until the surface is saved again."""
    ruled(worn)
    forecasts.force_refresh(surface=worn.surface)
    round_ = worn.surface.rounds.first()
    tightened = limits.LimitPreset("Ontario", limits.PRESETS["ontario"].source, "new print", limit_mm_h=333.0)
    monkeypatch.setitem(limits.PRESETS, "ontario", tightened)

    told = {place: say(client, *page) for place, page in limit_pages(worn, round_).items()}

    assert [place for place, text in told.items() if "250 mm/h" not in text or "333 mm/h" in text] == []


def test_a_sieve_shows_the_percent_it_was_judged_by(client, firm):
    """94.25 is 94.2 by one rounding and 94.3 by another: the table, the reason and the paper take the same."""
    readings = SieveReadings(((37.5, 100.0), (25.0, 94.25), (12.5, 40.0), (4.75, 5.0), (2.36, 2.0)))
    sieving = SievingFactory(
        surface=firm.surface, designation="57", readings=readings, recorded_by=firm.technician
    )

    page = say(client, firm.technician, sieving.get_absolute_url())

    shown = re.search(r"Only ([\d.]+) % pass the 25 mm \(1 in\) sieve", page)[1]
    assert f"25 mm (1 in) {shown} %" in page
    (part,) = told_of(firm.surface)["gradings"]
    assert [line["passing"] for line in part["lines"] if line["sieve"].startswith("25 mm")] == [f"{shown} %"]


@pytest.mark.parametrize(("units", "words"), [("si", "45 mm"), ("us", "1.77 in")])
def test_water_below_the_overflow_is_one_figure_on_the_drawing_and_the_waters_page(
    client, firm, units, words
):
    """Half of 90 mm is left by the fall of the subgrade: on both, or on neither."""
    LayerFactory(surface=firm.surface, kind="base", position=1, thickness_mm=300.0, porosity=0.3)
    facts = {"overflow_invert_mm": 300.0, "subgrade_slope_percent": 1.0, "subgrade_fall_length_m": 30.0}
    Surface.objects.update(soil_rate_mm_h=10.0, **facts)
    firm.technician.units = units
    firm.technician.save()

    drawn = say(client, firm.technician, firm.surface.get_absolute_url())
    water = say(client, firm.technician, reverse("qa:water-detail", args=[firm.surface.pk]))

    assert f"{words} of water stays below" in drawn
    assert f"Stored below the overflow {words}" in water


def test_nothing_is_drawn_below_the_overflow_while_a_porosity_is_missing(client, firm):
    LayerFactory(surface=firm.surface, kind="base", position=1, thickness_mm=300.0, porosity=0.3)
    LayerFactory(surface=firm.surface, kind="subbase", position=2, thickness_mm=300.0, porosity=None)
    Surface.objects.update(overflow_invert_mm=400.0)

    drawn = say(client, firm.technician, firm.surface.get_absolute_url())

    assert "Overflow" in drawn
    assert "of water stays below" not in drawn


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_layer_has_the_same_thickness_stone_and_voids_on_the_drawing_and_in_the_table(firm, units):
    """Values that other roundings would part: 37.5 mm, 1234 mm, and a porosity of 0.385."""
    sizes = {"stone_min_mm": 9.5, "stone_max_mm": 37.5}
    LayerFactory(surface=firm.surface, kind="base", position=1, thickness_mm=1234.0, porosity=0.385, **sizes)

    snapshot = handover_snapshot(firm.surface, Audience.OWNER)

    (layer,) = handover_words(snapshot, units)["layers"]
    drawn = text_of(section_of(snapshot.build_up, units, snapshot.key).svg)
    assert plainly(layer["thickness"]) in drawn
    assert f"{plainly(layer['voids'])} voids" in drawn
    said = plainly(layer["stone"])
    assert f"stone {said if units == 'us' else said.replace(' to ', '–')}" in drawn


def test_the_report_adds_up_what_it_lists(client, firm):
    """Not the cleaning of a surface that is gone, nor a round in which nothing was tested."""
    today = localdate()
    gone = SurfaceFactory(site=firm.site, removed_on=today)
    CleaningFactory(surface=gone, cleaned_on=today, cost=Decimal("5000"))
    CleaningFactory(surface=firm.surface, cleaned_on=today, cost=Decimal("1200.50"))
    CleaningFactory(surface=firm.surface, cleaned_on=today, cost=Decimal("99.50"), currency="CHF")
    CleaningFactory(surface=firm.surface, cleaned_on=today, cost=None)
    RoundFactory(surface=firm.surface, tested_on=today)
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=today))

    text = say(client, firm.viewer, reverse("reporting:report-site", args=[firm.site.pk]))

    assert "1 test round, 3 cleanings, 99.50 CHF, 1,200.50 EUR" in text


def test_a_cost_is_written_alike_wherever_it_stands(client, worn_out):
    row = worn_out.surface.recommendations.exclude(method="").first()
    row.cost, row.status = Decimal("1234.5"), "open"
    row.save()
    forecast = Forecast.objects.get(surface=worn_out.surface)
    options = tuple(replace(option, cost=Decimal("1234.50")) for option in forecast.outlook.options)
    forecast.outlook = replace(forecast.outlook, options=options)
    forecast.save()

    texts = [
        say(client, worn_out.technician, url)
        for url in (worn_out.surface.get_absolute_url(), row.get_absolute_url(), reverse("reporting:start"))
    ]

    assert all("1,234.50 EUR" in text for text in texts)
    assert not any(re.search(r"1,?23[45](\.5)? EUR", text) for text in texts)


@pytest.mark.parametrize(
    ("zone", "late"),
    [("Pacific/Kiritimati", "1 day late"), ("UTC", "today"), ("Pacific/Pago_Pago", "in 1 day")],
)
def test_advice_is_as_late_on_the_first_page_as_on_the_surfaces_own(client, firm, monkeypatch, zone, late):
    """Noon in London is tomorrow on Kiritimati and the small hours, or still yesterday, on Samoa."""
    at = datetime(2026, 6, 10, 10 if zone != "Pacific/Pago_Pago" else 9, 59, tzinfo=UTC)
    for place in ("qa.models.sites.now", "reporting.views.pages.now"):
        monkeypatch.setattr(place, lambda: at)
    firm.site.time_zone = zone
    firm.site.save()
    forecasts.refresh(firm.surface.pk)
    day_of_london = at.date()
    Recommendation.objects.all().delete()
    row = Recommendation.objects.create(
        surface=firm.surface,
        action="test",
        due_on=day_of_london,
        earliest_on=day_of_london,
        currency="EUR",
        grounds=Grounds(firm.surface.record_version, ("Because.",)),
    )

    releases.release(recommendations=[row], by=firm.coordinator)

    own = say(client, firm.technician, firm.surface.get_absolute_url())
    first = say(client, firm.technician, reverse("reporting:start"))
    owners = say(client, firm.owner_person, reverse("reporting:start"))

    by = f"{late} by 10 Jun 2026"
    assert [by in text for text in (own, first, owners)] == [True, True, True]
    assert plainly(day(firm.site.today())) in first


def test_the_first_page_is_dated_where_most_surfaces_lie(client, firm, monkeypatch):
    at = datetime(2026, 6, 10, 5, 0, tzinfo=UTC)
    monkeypatch.setattr("qa.models.sites.now", lambda: at)
    monkeypatch.setattr("reporting.views.pages.now", lambda: at)
    west = SiteFactory(owner=firm.owner, time_zone="America/Los_Angeles")
    SurfaceFactory.create_batch(2, site=west)

    assert "9 Jun 2026, 3 surfaces" in say(client, firm.technician, reverse("reporting:start"))
    assert "9 Jun 2026" in say(client, firm.owner_person, reverse("reporting:start"))


def test_the_charts_data_are_the_pages_figures_as_json(client, worn):
    """What the browser draws is read from the page itself."""
    client.force_login(worn.technician)
    page = client.get(worn.surface.get_absolute_url()).content.decode()

    data = re.search(r'<script id="decline-data" type="application/json">(.*?)</script>', page, re.S)[1]

    line = next(one for one in json.loads(data)["data"] if one.get("name") == "limit")
    assert line["y"] == [worn.surface.limit_mm_h] * 2
