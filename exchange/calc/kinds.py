"""The kinds of sheet that can be taken in, and the columns each may have."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from accounts.calc.roles import Role
from core.calc.choices import TextChoice
from core.calc.translation import gettext_noop
from exchange.calc.columns import Column
from exchange.calc.record_columns import CLEANINGS, ROUNDS, TESTS
from exchange.calc.register_columns import LAYERS, LOCATIONS, OWNERS, SITES, SURFACES


class SheetKind(TextChoice):
    """What each row of a sheet is."""

    OWNERS = "owners", "Owners"
    SITES = "sites", "Sites"
    SURFACES = "surfaces", "Surfaces"
    LAYERS = "layers", "Build-ups"
    LOCATIONS = "locations", "Test locations"
    ROUNDS = "rounds", "Test rounds"
    TESTS = "tests", "Tests"
    CLEANINGS = "cleanings", "Cleanings"


@dataclass(frozen=True, slots=True)
class KindOfSheet:
    """A kind of sheet: what a row is called, its columns, who may record such rows, what else a sheet may be called."""

    kind: SheetKind
    one: str
    columns: tuple[Column, ...]
    least_role: Role
    other_names: tuple[str, ...] = ()

    @property
    def by_key(self) -> Mapping[str, Column]:
        """Its columns by their keys."""
        return {column.key: column for column in self.columns}


_PLAN, _RECORD = Role.COORDINATOR, Role.TECHNICIAN
KINDS = MappingProxyType(
    {
        each.kind: each
        for each in (
            KindOfSheet(SheetKind.OWNERS, gettext_noop("owner"), OWNERS, _PLAN, ("clients", "customers")),
            KindOfSheet(SheetKind.SITES, gettext_noop("site"), SITES, _PLAN, ("properties", "projects")),
            KindOfSheet(
                SheetKind.SURFACES,
                gettext_noop("surface"),
                SURFACES,
                _PLAN,
                ("areas", "pavements", "register"),
            ),
            KindOfSheet(
                SheetKind.LAYERS,
                gettext_noop("layer"),
                LAYERS,
                _PLAN,
                ("layers", "build-up", "buildups", "construction"),
            ),
            KindOfSheet(
                SheetKind.LOCATIONS,
                gettext_noop("test location"),
                LOCATIONS,
                _PLAN,
                ("locations", "spots", "points"),
            ),
            KindOfSheet(SheetKind.ROUNDS, gettext_noop("test round"), ROUNDS, _RECORD, ("rounds",)),
            KindOfSheet(
                SheetKind.TESTS,
                gettext_noop("test"),
                TESTS,
                _RECORD,
                ("infiltration", "infiltration tests", "results"),
            ),
            KindOfSheet(
                SheetKind.CLEANINGS,
                gettext_noop("cleaning"),
                CLEANINGS,
                _RECORD,
                ("cleaning", "maintenance"),
            ),
        )
    }
)
