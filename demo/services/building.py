"""Construction records of invented surfaces: one complete with a failure corrected, one stopped at a hold
point, one with a waiver. Made through the services that people use."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from random import Random
from zlib import crc32

from accounts.models import Organisation, User
from core.calc.paving import SurfaceType
from core.services.uploads import NOTHING_SENT, Sent, accept
from demo.presentation.pictures import picture
from qa.calc.buildups import LayerKind, typical_layers
from qa.calc.check_model import Stage
from qa.calc.check_progress import Outcome, lifts_needed
from qa.calc.rounds import Purpose
from qa.models import CheckEntry, ConstructionCheck, ConstructionRecord, CorrectiveWork, Layer, Site, Surface
from qa.selectors.construction import AUTOMATIC, recorded_sizes
from qa.services import assembly, construction, files, register

# Readings that the build-up entered tells, with the layer meant.
AS_ENTERED = {
    "unit_thickness": LayerKind.SURFACE_COURSE,
    "subbase_lift": LayerKind.SUBBASE,
    "base_lift": LayerKind.BASE,
}
UNKNOWN_DESIGNS = {"joint_width": 8.0, "concrete_density": 1900.0}
FAILED_PLACE = 2
SCENES = {
    "subgrade_undisturbed": ("soil", "Subgrade trimmed, not rolled"),
    "geotextile_overlap": ("cloth", "Overlap at the north side"),
    "subbase_still": ("stone", "Subbase after the last pass"),
    "base_still": ("stone", "Base after the last pass"),
    "bedding_thickness": ("bedding", "Screed rails at level B2"),
    "joint_fill_level": ("units", "Joints filled and swept"),
}
WHERE = {
    "level": "level B{}",
    "delivery": "delivery {}",
    "joint": "joint {}",
    "test pit": "pit {}",
    "place": "place {}",
    "overlap": "overlap {}",
    "unit": "unit {}",
    "line": "line {}",
    "stretch": "stretch {}",
}


@dataclass(frozen=True, slots=True)
class Failing:
    """A first finding that fails, what is done about it, and what is found then."""

    reading: float | None
    what: str
    again: float | None


@dataclass(frozen=True, slots=True)
class Story:
    """What happened while one surface was built. Everything else was found as asked.

    stop_at: the check where the work stands today, with a first finding that failed.
    """

    site: str
    surface: str
    failing: dict[str, Failing] = field(default_factory=dict)
    waived: dict[str, str] = field(default_factory=dict)
    not_needed: dict[str, str] = field(default_factory=dict)
    stop_at: str = ""


STORIES = (
    Story(
        "Tollgate Green",
        "Home zone",
        failing={
            "bedding_thickness": Failing(
                63.0,
                "Bedding taken up over 40 m² at B2, base raised with No. 57 and rolled, screeded again.",
                46.0,
            ),
        },
        waived={
            "base_grading": "One sieve (25 mm) 1 % outside the band. The designer accepts this delivery by letter; "
            "porosity was measured at 0.41 (invented)."
        },
        not_needed={"lippage_at_basins": "No basin lies in this surface."},
    ),
    Story(
        "Millrace School",
        "Bicycle shelter",
        waived={
            "geotextile_overlap": "Roll ends at the tree pit overlap 240 mm only; the designer accepts it there "
            "because a root barrier lies behind (invented)."
        },
        not_needed={"lippage_at_basins": "No basin lies in this surface."},
    ),
    Story(
        "Millrace School",
        "Kitchen yard",
        failing={"geotextile_overlap": Failing(220.0, "", None)},
        stop_at="geotextile_overlap",
    ),
)


def build(firm: Organisation, today: date, coordinator: User, technician: User) -> None:
    """Make the records of all stories."""
    _yard_being_built(firm, today)
    for story in STORIES:
        surface = Surface.objects.of_organisation(firm).get(site__name=story.site, name=story.surface)
        _Builder(surface, story, today, coordinator, technician).build()


def _yard_being_built(firm: Organisation, today: date) -> None:
    """A surface whose work began last week."""
    site = Site.objects.of_organisation(firm).get(name="Millrace School")
    surface = Surface(
        site=site,
        name="Kitchen yard",
        surface_type=SurfaceType.PICP,
        area_m2=280,
        opened_on=today + timedelta(days=24),
        limit_preset="ontario",
        acceptance_rate_mm_h=2540.0,
        joint_width_mm=8.0,
        overflow_invert_mm=120.0,
        overflow_diameter_mm=100.0,
        soil_rate_mm_h=8.0,
    )
    register.save_surface(surface=surface)
    names = ("kind", "material", "thickness_mm", "stone_min_mm", "stone_max_mm", "porosity")
    layers = [
        Layer(**{name: getattr(one, name) for name in names})
        for one in typical_layers(surface.surface_type, surface.traffic)
    ]
    register.save_build_up(surface=surface, layers=layers, removed=[])


class _Builder:
    """Walks one record from the ground up."""

    def __init__(
        self, surface: Surface, story: Story, today: date, coordinator: User, technician: User
    ) -> None:
        self.surface, self.story = surface, story
        self.coordinator, self.technician = coordinator, technician
        self.rng = Random(crc32(f"{story.site} {story.surface}".encode()))
        self.day = min(surface.opened_on, today + timedelta(days=30)) - timedelta(days=36)

    def build(self) -> None:
        record = ConstructionRecord(surface=self.surface)
        parts = assembly.usual_parts(self.surface)
        assembly.open_record(record=record, parts=parts, by=self.coordinator)
        stage = ""
        for check in record.checks.order_by("position"):
            if check.stage != stage:
                self.day += timedelta(days=2)
                stage = check.stage
            self._take(check)
            if check.key == self.story.stop_at:
                return
        self._picture_of_the_test()

    def _take(self, check: ConstructionCheck) -> None:
        key = check.key
        if key in AUTOMATIC:
            return
        if key in self.story.waived:
            self._leave_out(check, Outcome.WAIVED, self.story.waived[key])
        elif key in self.story.not_needed:
            self._leave_out(check, Outcome.NOT_NEEDED, self.story.not_needed[key])
        elif key in self.story.failing:
            self._fail(check, self.story.failing[key])
        else:
            self._pass(check)

    def _pass(self, check: ConstructionCheck) -> None:
        if check.against_design and check.design is None:
            check.design = UNKNOWN_DESIGNS[check.key]
            construction.change_criterion(check=check, by=self.coordinator, reason="Drawing 7 (invented)")
        for number in range(1, check.readings_asked + 1):
            self._find(check, self._good_reading(check), number)

    def _find(
        self, check: ConstructionCheck, reading: float | None, number: int, again: CheckEntry | None = None
    ) -> CheckEntry:
        entry = CheckEntry(
            construction_check=check,
            done_on=self.day,
            reading=reading,
            where=self._where(check, number),
            rechecks=again,
        )
        answer = None if check.as_check.is_number else True
        return construction.record_entry(
            entry=entry, answer=answer, by=self.technician, sent=self._sent(check.key, number)
        )

    def _fail(self, check: ConstructionCheck, failing: Failing) -> None:
        """One place fails; the others are as asked."""
        failed = self._find(check, failing.reading, FAILED_PLACE)
        if not failing.what:
            return
        self.day += timedelta(days=1)
        work = CorrectiveWork(entry=failed, done_on=self.day, what=failing.what, done_by="Crew north")
        scene = accept(picture("stone", "Base raised at B2", 77))
        construction.record_work(work=work, by=self.technician, sent=Sent((scene,), "Base raised at B2"))
        self.day += timedelta(days=1)
        self._find(check, failing.again, FAILED_PLACE, again=failed)
        for number in range(1, check.readings_asked + 1):
            if number != FAILED_PLACE:
                self._find(check, self._good_reading(check), number)

    def _leave_out(self, check: ConstructionCheck, outcome: Outcome, reason: str) -> None:
        entry = CheckEntry(construction_check=check, outcome=outcome, done_on=self.day, reason=reason)
        construction.leave_out(entry=entry, by=self.coordinator)

    def _good_reading(self, check: ConstructionCheck) -> float | None:
        asked = check.as_check
        if not asked.is_number:
            return None
        if check.key in AS_ENTERED:
            return self._as_entered(check) + self.rng.choice((-1.0, 0.0, 1.0))
        base = check.design or 0.0 if check.against_design else 0.0
        whole = asked.unit in ("passes", "h", "d", "spots")
        reading = base + _within(asked.least, asked.most, self.rng)
        return float(round(reading)) if whole or abs(reading) >= 100 else round(reading, 1)

    def _as_entered(self, check: ConstructionCheck) -> float:
        """What the build-up says, so that the record does not contradict it."""
        return float(round(self._thickness(AS_ENTERED[check.key]) / self._lifts(check)))

    def _where(self, check: ConstructionCheck, number: int) -> str:
        """The place of a reading; in a layer of several lifts each lift in turn."""
        if check.each != "lift":
            return WHERE.get(check.each, "").format(number)
        place, lift = divmod(number - 1, self._lifts(check))
        return f"lift {lift + 1}, place {place + 1}"

    def _lifts(self, check: ConstructionCheck) -> int:
        kind = AS_ENTERED[f"{check.stage}_lift"] if check.each == "lift" else None
        return lifts_needed(Stage(check.stage), self._thickness(kind)) if kind else 1

    def _thickness(self, kind: LayerKind) -> float:
        return recorded_sizes(self.surface).thickness_mm[kind]

    def _sent(self, key: str, number: int) -> Sent:
        if key not in SCENES or number > 2:
            return NOTHING_SENT
        scene, caption = SCENES[key]
        return Sent((accept(picture(scene, caption, self.rng.randrange(10_000))),), caption)

    def _picture_of_the_test(self) -> None:
        round_ = self.surface.rounds.active().filter(purpose=Purpose.ACCEPTANCE).last()
        if round_:
            shown = accept(picture("ring", "Ring at spot A, head between the lines", 5))
            sent = Sent((shown,), "Ring at spot A, head between the lines")
            files.attach(to=round_, sent=sent, by=self.technician)


def _within(least: float | None, most: float | None, rng: Random) -> float:
    """A value well inside the bounds."""
    if least is not None and most is not None:
        return least + (most - least) * rng.uniform(0.35, 0.65)
    if least is not None:
        return least * rng.uniform(1.1, 1.3) if least else rng.uniform(1.0, 3.0)
    return (most or 0.0) * rng.uniform(0.4, 0.7)
