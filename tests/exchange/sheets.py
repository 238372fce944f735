"""Sheets for tests, as an import takes them."""

from accounts.calc.roles import Role
from core.calc.units import UnitSystem
from exchange.calc.example import example_rows, header
from exchange.calc.headers import suggest_columns
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.rows import Sheet
from exchange.calc.ways import Ways
from exchange.services.storing import prepare, store


def sheet(kind, headers, *rows, name=None):
    headers = tuple(headers)
    return Sheet(name or kind.label, kind, headers, suggest_columns(kind, headers), rows)


def example_sheets(system=UnitSystem.SI):
    return [
        sheet(kind, [header(c, system) for c in KINDS[kind].columns], *example_rows(kind, system))
        for kind in SheetKind
    ]


def prepared(firm, *sheets, role=Role.COORDINATOR, ways=None):
    people = {Role.TECHNICIAN: "technician", Role.COORDINATOR: "coordinator"}
    by = getattr(firm, people[role])
    return prepare(organisation=firm.organisation, by=by, role=role, ways=ways or Ways(), sheets=sheets)


def taken_in(firm, *sheets, **kwargs):
    making = prepared(firm, *sheets, **kwargs)
    store(making)
    return making
