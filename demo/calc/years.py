"""Simulated years of one surface: what it truly drains, the readings taken of it, and its cleanings.

The truth here is drawn by itself from the published figures that the priors hold; the model that later
forecasts it sees only the readings.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import exp, log
from random import Random

from clogging import priors
from core.calc.paving import CleaningMethod, SurfaceType
from core.calc.units import UnitSystem
from demo.calc.place import LIMITS, DemoSurface
from qa.calc.counts import Zone
from qa.calc.ring import Ending, required_test_mass, ring_rate
from qa.calc.rounds import Purpose

CARE_YR = 5.0
LONGEST_TEST_S = 1886.0  # by then 3.60 kg in a 300 mm ring show less than 97.2 mm/h
RING_MM = 300.0
ZONES = (
    ("A", Zone.EDGE, -0.45),
    ("B", Zone.INTERIOR, 0.15),
    ("C", Zone.LOW, -0.15),
    ("D", Zone.INTERIOR, 0.2),
)
ROUTINE_METHOD = {
    SurfaceType.RESIN_BOUND: CleaningMethod.VACUUM,
    SurfaceType.RESIN_JOINT: CleaningMethod.VACUUM,
    SurfaceType.POROUS_ASPHALT: CleaningMethod.REGEN_AIR,
    SurfaceType.GRAVEL: CleaningMethod.BROOM,
}
REMEDY = {
    SurfaceType.PICP: CleaningMethod.JOINT_REFILL,
    SurfaceType.CLAY: CleaningMethod.JOINT_REFILL,
    SurfaceType.RESIN_JOINT: CleaningMethod.REJOINT_RESIN,
    SurfaceType.CONCRETE_GRID: CleaningMethod.JOINT_REFILL,
    SurfaceType.PLASTIC_GRID: CleaningMethod.JOINT_REFILL,
    SurfaceType.GRAVEL: CleaningMethod.BROOM,
}


@dataclass(frozen=True, slots=True)
class Reading:
    """One ring test as a technician would write it down, in kg, mm and s."""

    location: str
    prewet_time_s: float
    start_delay_s: float
    test_mass: float
    elapsed_s: float
    ended: Ending


@dataclass(frozen=True, slots=True)
class RoundDone:
    on: date
    purpose: Purpose
    hours_since_rain: float
    air_c: float
    readings: list[Reading] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class CleaningDone:
    on: date
    method: CleaningMethod
    share: float
    wet: bool


class TrueSurface:
    """The surface as it really is: log rate now, log rate as new, and the loss a year."""

    def __init__(self, spec: DemoSurface, rng: Random) -> None:
        belief = priors.SURFACES[spec.kind]
        self.spec, self.rng = spec, rng
        self.new = log(belief.as_new_mm_h) + 0.5 * belief.as_new_sd * rng.gauss(0, 1)
        self.now = self.new
        self.loss_yr = self._loss(belief.decline)
        self.spots = {label: offset + rng.gauss(0, 0.2) for label, _, offset in ZONES}

    def _loss(self, usual: float) -> float:
        s = self.spec
        site = 0.05 * s.run_on + 0.2 * s.soil + 0.05 * s.trees + 0.06 * s.grit + 0.03 * s.traffic
        return max(0.03, (usual + site) * s.stress * exp(self.rng.gauss(0, 0.15)))

    def age(self, years: float) -> None:
        """Let time pass."""
        self.now -= self.loss_yr * years + self.rng.gauss(0, 0.08 * years**0.5)

    def clean(self, done: CleaningDone) -> None:
        """Give back what the method gives back, more or less."""
        belief = priors.CLEANINGS[done.method]
        share = belief.share - belief.wet_penalty * done.wet
        gain = done.share * share * max(0.0, self.new - self.now)
        self.now += gain + self.rng.gauss(0, belief.scatter * 0.5)

    def read(self, label: str, day_effect: float, *, by_the_book: bool) -> Reading:
        """Pour, wait, write down: now and then a little off the procedure, unless it is done by the book."""
        rng = self.rng
        rate = exp(self.now + self.spots[label] + day_effect + rng.gauss(0, 0.18))
        prewet_s = round(_drain_time_s(rate, 3.60) * exp(rng.gauss(0, 0.05)), 1)
        mass = required_test_mass(prewet_s, UnitSystem.SI)
        if rng.random() < 0.03 and not by_the_book:
            mass = 21.6 - mass  # the other bucket
        poured = round(mass + rng.gauss(0, 0.02), 2)
        elapsed_s = _drain_time_s(rate, poured)
        in_time = rng.random() > 0.07 or by_the_book
        delay_s = round(rng.uniform(30, 110) if in_time else rng.uniform(125, 260), 1)
        ended = Ending.DRAINED
        if elapsed_s > LONGEST_TEST_S:
            elapsed_s, ended = LONGEST_TEST_S, Ending.STILL_PONDED
        return Reading(
            label, min(prewet_s, LONGEST_TEST_S), delay_s, poured, max(round(elapsed_s, 1), 1.0), ended
        )


def _drain_time_s(rate_mm_h: float, mass_kg: float) -> float:
    return ring_rate(mass_kg, RING_MM, 1.0, UnitSystem.SI) / rate_mm_h


def live_through(
    spec: DemoSurface, opened: date, today: date, rng: Random
) -> Iterator[RoundDone | CleaningDone]:
    """Everything recorded of a surface from opening, or from when it came into care, until today."""
    surface = TrueSurface(spec, rng)
    in_care = max(opened, today - timedelta(days=round(CARE_YR * 365.25)))
    surface.age((in_care - opened).days / 365.25)
    day = in_care
    if spec.tested:
        yield _round(surface, day, Purpose.ACCEPTANCE if day == opened else Purpose.ROUTINE)
    for event_on, kind in _calendar(spec, in_care, today, rng):
        surface.age((event_on - day).days / 365.25)
        day = event_on
        if kind == "sweep":
            yield _sweep(surface, day)
        else:
            yield from _tested(surface, day, today)


def _calendar(spec: DemoSurface, start: date, today: date, rng: Random) -> list[tuple[date, str]]:
    """Routine rounds about once a year and sweepings as often as agreed."""
    days: list[tuple[date, str]] = []
    if not spec.tested:
        return days
    t = rng.uniform(0.8, 1.2)
    while start + timedelta(days=t * 365.25) < today - timedelta(days=20):
        days.append((_off_winter(start + timedelta(days=t * 365.25)), "test"))
        t += rng.uniform(0.8, 1.3)
    if spec.routine:
        years = (today - start).days / 365.25
        sweeps = (
            start + timedelta(days=n / spec.routine * 365.25) for n in range(1, int(years * spec.routine) + 1)
        )
        days.extend((_off_winter(day), "sweep") for day in sweeps)
    return sorted({day: kind for day, kind in days if start < day < today}.items())


def _off_winter(day: date) -> date:
    return day.replace(month=4, day=12) if day.month <= 3 else day.replace(day=min(day.day, 28))


def _tested(surface: TrueSurface, day: date, today: date) -> Iterator[RoundDone | CleaningDone]:
    """A routine round; where it is poor and there was time, a cleaning and a round after it."""
    yield _round(surface, day, Purpose.ROUTINE)
    limit = LIMITS[surface.spec.limit][0]
    remedied_on = day + timedelta(days=24)
    poor = exp(surface.now) < 1.3 * limit
    if not (poor and remedied_on < today - timedelta(days=120) and surface.rng.random() < 0.75):
        return
    done = CleaningDone(remedied_on, REMEDY.get(surface.spec.kind, CleaningMethod.WASH_VACUUM), 1.0, False)
    surface.clean(done)
    yield done
    yield _round(surface, remedied_on + timedelta(days=3), Purpose.AFTER_CLEANING)


def _sweep(surface: TrueSurface, day: date) -> CleaningDone:
    method = ROUTINE_METHOD.get(surface.spec.kind, CleaningMethod.VACUUM)
    done = CleaningDone(day, method, surface.rng.choice((1.0, 1.0, 0.5)), surface.rng.random() < 0.15)
    surface.clean(done)
    return done


def _round(surface: TrueSurface, day: date, purpose: Purpose) -> RoundDone:
    rng = surface.rng
    by_the_book = purpose is Purpose.ACCEPTANCE
    dry = rng.random() > 0.08 or by_the_book
    rain_h = round(rng.uniform(30, 200), 0) if dry else round(rng.uniform(6, 20), 0)
    day_effect = rng.gauss(0, 0.12)
    spots = 4 if surface.spec.area_m2 > 2500 else 3
    readings = [surface.read(label, day_effect, by_the_book=by_the_book) for label, _, _ in ZONES[:spots]]
    return RoundDone(day, purpose, rain_h, round(rng.uniform(8, 24), 1), readings)
