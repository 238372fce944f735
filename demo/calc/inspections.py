"""Invented inspections: what was seen where, what was found, and what became of it."""

from dataclasses import dataclass

from core.calc.paving import SourceChange
from qa.calc.drain_down import WellReading
from qa.calc.inspections import InspectionItem, Severity


@dataclass(frozen=True, slots=True)
class DemoFinding:
    """Something wrong. done: what was done a week later; aside: why it was set aside; scene: of the invented photo."""

    item: InspectionItem
    what: str
    where: str
    severity: Severity = Severity.SOON
    comes_from: str = ""
    depth_mm: float | None = None
    scene: str = ""
    done: str = ""
    aside: str = ""


@dataclass(frozen=True, slots=True)
class DemoInspection:
    """One inspection, days before today. Everything not among the findings was in order."""

    site: str
    surface: str
    days_ago: int
    findings: tuple[DemoFinding, ...] = ()
    well: tuple[WellReading, ...] = ()
    winter: str = ""


@dataclass(frozen=True, slots=True)
class DemoChange:
    """A change of what washes fines on to a surface, days before today."""

    site: str
    surface: str
    days_ago: int
    kind: SourceChange
    source: str
    what: str


INSPECTIONS = (
    DemoInspection(
        "Lower Quay School",
        "Front yard",
        40,
        well=(WellReading(6.0, 180.0), WellReading(30.0, 60.0)),
        winter="The caretaker sweeps snow by hand; no sand, salt at the gate only.",
    ),
    DemoInspection(
        "Lower Quay School",
        "Staff car park",
        21,
        (
            DemoFinding(
                InspectionItem.SEDIMENT,
                "Soil washed over the first three rows",
                "along the bed at the north side",
                comes_from="the bed above, which has no kerb",
                scene="soil",
            ),
            DemoFinding(
                InspectionItem.JOINTS,
                "Joint stone has sunk under the wheels",
                "bays 4 to 9",
                Severity.MINOR,
                depth_mm=18.0,
                scene="units",
            ),
        ),
    ),
    DemoInspection(
        "Fennick Yard",
        "Lorry park",
        12,
        (
            DemoFinding(
                InspectionItem.SETTLEMENT,
                "A dip of two fingers where lorries turn",
                "at the gate",
                Severity.URGENT,
            ),
            DemoFinding(
                InspectionItem.STAINING,
                "Old oil stain",
                "bay 2",
                Severity.MINOR,
                aside="Known since the opening and sealed in; it takes in water as the rest does.",
            ),
        ),
    ),
    DemoInspection(
        "Alder Rise",
        "Parking, east",
        160,
        (
            DemoFinding(
                InspectionItem.OUTLET,
                "Leaves over the outlet",
                "chamber at bay 12",
                done="Outlet cleared and flushed from above.",
            ),
        ),
    ),
)

CHANGES = (
    DemoChange(
        "Weir Park",
        "River walk",
        300,
        SourceChange.STOPPED,
        "Bare slope above the walk",
        "Slope planted and a kerb set (invented)",
    ),
)
