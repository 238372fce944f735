"""What the browser shows must be what the server records and draws."""

import json
import re
import subprocess
from itertools import product
from pathlib import Path
from random import Random

import pytest

from core.calc.units import UnitSystem, rounded_for_reading
from qa.calc.field_tests import evaluate_field_test
from qa.calc.methods import METHODS, Gives
from qa.calc.outlines import FaultKind, fault_of, fault_words
from qa.calc.ring import (
    BOUND_BY_ENDING,
    Bound,
    Ending,
    RingReading,
    evaluate_ring,
    required_test_mass,
    time_for_rate_s,
)
from qa.calc.rounds import Rate, spot_mean
from qa.presentation.drawing.palette import COLOURS
from tests.factories import field_readings
from tests.needs import need
from tests.qa.calc.test_field_tests import SOUND, in_us

HERE = Path(__file__).parent
SECTION_CSS = HERE.parent.parent / "static" / "css" / "section.css"

VALUES = {
    UnitSystem.SI: {
        "diameters": (300.0, 297.5, 280.0),
        "prewet": (3.6, 3.65, 3.7),
        "test": (3.6, 18.0, 18.05, 9.0),
    },
    UnitSystem.US: {
        "diameters": (12.0, 12.05, 11.0),
        "prewet": (8.0, 8.1, 8.25),
        "test": (8.0, 40.0, 40.1, 20.0),
    },
}
TIMES_S = (29.9, 30.0, 1234.5)
DELAYS_S = (None, 120.0, 120.1)


def readings():
    for system, values in VALUES.items():
        grid = product(values["diameters"], values["prewet"], values["test"], TIMES_S, DELAYS_S, Ending)
        for diameter, prewet, mass, time, delay, ending in grid:
            yield RingReading(system, prewet, time, delay, mass, diameter, elapsed_s=61.7, ending=ending)
        nominal = (system, None, None, None, values["test"][0], values["diameters"][0])
        for sequence, gap, leak in product((1, 2, 3), (None, 4.5, 5.0, 5.01), (False, True)):
            yield RingReading(
                *nominal,
                elapsed_s=61.7,
                sequence=sequence,
                minutes_since_first=gap,
                rewetted=False,
                leak_seen=leak,
            )
        yield RingReading(*nominal, elapsed_s=61.7)  # prewetting forgotten
        for first_s in (None, 29.9, 30.0):  # the mass of a repeat is chosen by the first test's prewetting
            yield RingReading(
                *nominal,
                61.7,
                sequence=2,
                minutes_since_first=1.0,
                rewetted=False,
                first_prewet_time_s=first_s,
            )
        yield RingReading(*nominal, elapsed_s=0.1)  # faster than open gravel
        yield RingReading(system, values["prewet"][0] / 2.1, 45.0, 60.0, *nominal[4:], elapsed_s=61.7)


def as_the_page_holds_it(reading):
    return {
        "system": reading.system.value,
        "ringDiameter": reading.ring_diameter,
        "prewetMass": reading.prewet_mass,
        "prewetTimeS": reading.prewet_time_s,
        "startDelayS": reading.start_delay_s,
        "testMass": reading.test_mass,
        "elapsedS": reading.elapsed_s,
        "ended": reading.ending.value,
        "sequence": reading.sequence,
        "rewetted": reading.rewetted,
        "minutesSinceFirst": reading.minutes_since_first,
        "leakSeen": reading.leak_seen,
        "firstPrewetTimeS": reading.first_prewet_time_s,
        "testStarted": True,
    }


def shown_by_page(cases):
    done = subprocess.run(
        [need("node", "nodejs"), str(HERE / "ring-results.mjs")],
        input=json.dumps(cases),
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    return json.loads(done.stdout)


def test_page_shows_the_rate_bound_mass_and_words_that_the_server_records():
    cases = list(readings())

    shown = shown_by_page([as_the_page_holds_it(case) for case in cases])

    assert len(shown) == len(cases) > 600
    for case, page in zip(cases, shown, strict=True):
        server = evaluate_ring(case)
        assert page["rate"] == pytest.approx(server.rate, rel=1e-12)
        assert page["bound"] == server.bound.value
        timed = case.prewet_time_s is not None
        assert page["mass"] == (required_test_mass(case.prewet_time_s, case.system) if timed else None)
        assert page["deviations"] == [
            {"key": found.key, "effect": found.effect.value, "message": found.message}
            for found in server.deviations
        ]


@pytest.mark.parametrize("system", UnitSystem)
def test_page_shows_the_rate_of_every_other_method_as_the_server_records_it(system):
    rated = {method: readings for method, readings in SOUND.items() if METHODS[method].gives is Gives.RATE}
    cases = {m: readings if system is UnitSystem.SI else in_us(m, readings) for m, readings in rated.items()}

    shown = shown_by_page(
        [
            {"method": m, "once": r, "runs": r.get("runs", []), "system": system.value}
            for m, r in cases.items()
        ]
    )

    for (method, readings), page in zip(cases.items(), shown, strict=True):
        assert page == pytest.approx(
            evaluate_field_test(method, field_readings(readings), system).rate_mm_h, rel=1e-12
        )


def test_page_shows_numbers_as_pages_show_them_once_they_are_stored():
    generator = Random(3)
    values = [0.0123, 0.5, 9.995, 9999.4, 9999.6, 10_049.0, 12_345.6, 99_950.0, 1e6, 250.0, 0.25, 2.5]
    values += [10 ** generator.uniform(-3, 6) for _ in range(500)]

    shown = shown_by_page([{"call": "threeDigits", "with": [value]} for value in values])

    assert shown == [rounded_for_reading(value) for value in values]


@pytest.mark.parametrize("system", UnitSystem)
def test_page_waits_as_long_for_the_limit_as_the_server_would(system):
    cases = [(limit, *sizes) for limit in (97.2, 250.0, 2540.0) for sizes in ((3.6, 300.0), (40.0, 12.0))]
    asked = [
        {"call": "secondsToShowBelow", "with": [limit, {"mass": m, "diameter": d, "system": system.value}]}
        for limit, m, d in cases
    ]

    shown = shown_by_page(asked)

    per_unit = 1.0 if system is UnitSystem.SI else 25.4
    expected = [time_for_rate_s(limit / per_unit, mass, diameter, system) for limit, mass, diameter in cases]
    assert shown == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("first", "second"), list(product(Ending, Ending)))
def test_page_shows_the_mean_of_two_tests_at_a_spot_as_the_round_has_it(first, second):
    repeats = [Rate(1203.0, BOUND_BY_ENDING[first]), Rate(799.0, BOUND_BY_ENDING[second])]
    before = {"tests": 1, "rate_mm_h": repeats[0].rate_mm_h, "bound": repeats[0].bound.value}

    (said,) = shown_by_page(
        [{"call": "meanOfTwo", "with": [before, repeats[1].rate_mm_h, second.value, "si"]}]
    )

    mean = spot_mean(repeats)
    sign = {Bound.EXACT: "", Bound.UNCLEAR: "about "}.get(mean.bound, f"{mean.bound.value} ")
    assert said.startswith(f"Mean of the two: {sign}{rounded_for_reading(mean.rate_mm_h)} mm/h")


def drawn_outlines():
    """Outlines as fingers draw them: on a coarse grid, where much crosses and touches, and measured ones."""
    generator = Random(11)
    for corners in (2, 3, 4, 5, 6, 8):
        for _ in range(60):
            yield [(float(generator.randint(0, 5)), float(generator.randint(0, 5))) for _ in range(corners)]
        for _ in range(30):
            yield [
                (round(generator.uniform(-90, 90), 2), round(generator.uniform(-90, 90), 2))
                for _ in range(corners)
            ]
    for gap_m in (0.0009, 0.0011):
        yield [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, gap_m), (0.0, 10.0)]


@pytest.mark.parametrize("system", UnitSystem)
def test_page_says_of_an_outline_what_the_server_says(system):
    in_metres = list(drawn_outlines())
    per_unit = 1.0 if system is UnitSystem.SI else 0.3048
    cases = [[(x / per_unit, y / per_unit) for x, y in outline] for outline in in_metres]

    shown = shown_by_page([{"outline": outline, "system": system.value} for outline in cases])

    faults = [fault_of([(x * per_unit, y * per_unit) for x, y in outline]) for outline in cases]
    expected = [
        fault and fault_words(fault, len(outline), system)
        for fault, outline in zip(faults, cases, strict=True)
    ]
    assert shown == expected
    assert {fault.kind for fault in faults if fault} == set(FaultKind) - {FaultKind.NO_NUMBER}
    assert None in shown


def test_page_judges_what_is_typed_as_the_form_would():
    typed = ["0 0\n10 10\n10 0\n0 10", "0, 0\n40; 0\n40 25\n0 25\n", "0 0\n5 five\n9 9", "0 0\n5 0"]

    crossed, fine, unread, few = shown_by_page([{"typed": text, "system": "si"} for text in typed])

    assert crossed.startswith("Sides 1 and 3 cross at 5 m, 5 m.")
    assert (fine, unread, few) == (None, None, None)


def test_page_colours_the_section_in_both_themes_as_the_drawing_does():
    pairs = re.findall(
        r"--section-([\w-]+): light-dark\((#\w+), (#\w+)\);", SECTION_CSS.read_text(encoding="utf-8")
    )

    assert {name: (light, dark) for name, light, dark in pairs} == COLOURS
