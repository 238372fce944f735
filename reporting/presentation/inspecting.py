"""The record behind an inspector's link as rows of a file: the same lines as on its page."""

from collections.abc import Iterator, Sequence
from typing import Any

from django.utils.translation import gettext as _

from core.calc.format import counted
from core.calc.units import Quantity, UnitSystem, to_display, unit_of
from reporting.calc.inspecting import InspectedLine, InspectedSurface, InspectorSnapshot
from reporting.calc.parts import AskedRate, FindingPart
from reporting.calc.values import BoundedRate
from reporting.presentation.sources import unverified_words


def inspector_page(snapshot: InspectorSnapshot) -> dict[str, Any]:
    """What the page shows."""
    return {"page": snapshot, "held": _held(snapshot), **unverified_words(snapshot)}


def _held(snapshot: InspectorSnapshot) -> str:
    """How much it tells of."""
    return _("{surfaces} at {sites}: {rounds}, {cleanings}.").format(
        surfaces=counted(len(snapshot.surfaces), "surface"),
        sites=", ".join(snapshot.sites),
        rounds=counted(snapshot.rounds, "test round"),
        cleanings=counted(snapshot.cleanings, "cleaning"),
    )


def inspector_headers(units: str) -> list[str]:
    """Names of the columns, with units where no unit stands beside a number."""
    rate = unit_of(Quantity.RATE, UnitSystem(units))
    return [
        "Site",
        "Address",
        "Surface",
        "Type",
        "Date",
        "What",
        "Test methods",
        "Spots with the ring",
        f"Geometric mean rate ({rate})",
        "Geometric mean is",
        f"Lowest spot ({rate})",
        "Lowest is",
        f"Limit ({rate})",
        "Limit asked by",
        "Result",
        "Deviations",
        "What was done or found",
    ]


def inspector_rows(snapshot: InspectorSnapshot, units: str) -> Iterator[Sequence[Any]]:
    """A row a line; of a surface without any, one that says so."""
    for surface in snapshot.surfaces:
        for line in surface.lines:
            yield _cells(surface, line, units)
        if not surface.lines:
            yield [*_of_surface(surface), "", _("Nothing was recorded in this period"), *[""] * 11]


def _of_surface(surface: InspectedSurface) -> list[Any]:
    return [surface.site, surface.address, surface.name, surface.surface_type]


def _cells(surface: InspectedSurface, line: InspectedLine, units: str) -> list[Any]:
    result = f"{line.result}. {line.reason.in_units(units)}" if line.reason else ""
    return [
        *_of_surface(surface),
        line.on.isoformat(),
        line.title,
        "; ".join(line.methods),
        line.spots.in_units(units) if line.spots else "",
        *_bounded(line.mean, units),
        *_bounded(line.lowest, units),
        _number(surface.limit.rate_mm_h, units),
        asked_by(surface.limit, units),
        result,
        " ".join(line.deviations),
        "; ".join([*(said.in_units(units) for said in line.said), *map(_finding, line.findings)]),
    ]


def asked_by(limit: AskedRate, units: str) -> str:
    """What asks for a rate, and where that is written."""
    reason = limit.reason.in_units(units) if limit.reason else ""
    return " ".join(part for part in (reason, limit.source) if part)


def _bounded(rate: BoundedRate | None, units: str) -> tuple[Any, str]:
    return (_number(rate.rate_mm_h, units), rate.bound.label or _("exact")) if rate else ("", "")


def _number(rate_mm_h: float, units: str) -> float:
    return round(to_display(rate_mm_h, Quantity.RATE, UnitSystem(units)).value, 4)


def _finding(found: FindingPart) -> str:
    done = f"; {found.done_on}: {found.done}" if found.done_on else ""
    return f"{found.item}: {found.what} ({found.state_word}{done})"
