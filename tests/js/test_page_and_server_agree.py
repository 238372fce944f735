"""What the browser shows must be what the server records and draws."""

import json
import re
import shutil
import subprocess
from itertools import product
from pathlib import Path

import pytest

from qa.calc.ring import Ending, RingReading, evaluate_ring, required_test_mass
from qa.calc.units import UnitSystem
from qa.drawing.palette import COLOURS

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
    }


def shown_by_page(cases):
    done = subprocess.run(
        ["node", str(HERE / "ring-results.mjs")],
        input=json.dumps([as_the_page_holds_it(case) for case in cases]),
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    return json.loads(done.stdout)


@pytest.mark.skipif(shutil.which("node") is None, reason="needs Node 20 or newer")
def test_page_shows_the_rate_bound_mass_and_words_that_the_server_records():
    cases = list(readings())

    shown = shown_by_page(cases)

    assert len(shown) == len(cases) > 600
    for case, page in zip(cases, shown, strict=True):
        server = evaluate_ring(case)
        assert page["rate"] == pytest.approx(server.rate, rel=1e-12)
        assert page["bound"] == server.bound.value
        assert page["mass"] == required_test_mass(case.prewet_time_s, case.system)
        assert page["deviations"] == [found.message for found in server.deviations]


def test_page_colours_the_section_in_both_themes_as_the_drawing_does():
    light, *dark = [
        dict(re.findall(r"--section-([\w-]+): (#\w+);", block))
        for block in SECTION_CSS.read_text().split(":root")[1:]
    ]

    assert light == {name: colours[0] for name, colours in COLOURS.items()}
    assert dark == [{name: colours[1] for name, colours in COLOURS.items()}] * 2
