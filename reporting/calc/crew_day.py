"""A crew's day on paper as typed plain data: where it goes, what it does there, and what it loads."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from reporting.calc.values import UnitText

Position = tuple[float, float]


@dataclass(frozen=True, slots=True)
class SurfaceWork:
    """What is to be done to one surface. work: tasks in words; care: what to mind with its ways of cleaning."""

    key: UUID
    surface: str
    about: UnitText
    work: tuple[str, ...]
    care: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StopPart:
    """A stop at a site. times: empty where no plan gave them; position: latitude and longitude in degrees."""

    number: int
    site: str
    address: str
    access: str
    times: str
    position: Position | None
    surfaces: tuple[SurfaceWork, ...]


@dataclass(frozen=True, slots=True)
class JointLine:
    """Joint material for one surface, estimated. mass: empty where it cannot be; assumed: what was not recorded."""

    surface: str
    material: UnitText
    mass: UnitText
    assumed: str


@dataclass(frozen=True, slots=True)
class WaterLine:
    """Water for the ring tests on one surface."""

    surface: str
    spots: int
    volume: UnitText


@dataclass(frozen=True, slots=True)
class CrewDayPaper:
    """Everything that a crew takes along on a day. key: of the crew; notes: of the office, on the visits."""

    key: UUID
    firm: str
    crew: str
    on: date
    made_on: date
    people: str
    hours: str
    depot: str
    depot_at: Position | None
    order: str
    warning: str
    notes: tuple[str, ...]
    stops: tuple[StopPart, ...]
    equipment: tuple[str, ...]
    joints: tuple[JointLine, ...]
    joint_source: str
    waters: tuple[WaterLine, ...]
    water_source: str
    cautions: tuple[str, ...]
    demo_notice: str
