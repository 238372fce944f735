"""Working out an import from its sheets, and storing it, by the services that people's forms call."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from accounts.services import people
from core.errors import NotAllowedNowError
from exchange.calc.kinds import SheetKind
from exchange.calc.problems import Remark
from exchange.calc.rows import Sheet, SheetRow, converted_columns, rows_of
from exchange.calc.ways import Ways
from exchange.services import record_rows, register_rows
from exchange.services.known import Known
from exchange.services.making import Making, New
from maintenance.services import cleanings
from qa.models import Surface
from qa.services import register
from qa.services.batches import record_rounds, record_tests

NOT_YOURS = gettext_noop("Your role does not record this")
ASK = gettext_noop("Ask somebody with the {role} role to send the sheet, or leave it out.")
Tell = Callable[[int, int], object]
_TELL_EVERY = 200


def prepare(
    *,
    organisation: Organisation,
    by: User,
    role: Role,
    ways: Ways,
    sheets: Sequence[Sheet],
    tell: Tell = lambda done, total: None,
) -> Making:
    """Everything that sheets would make, through the forms that people use, and what is wrong. Stores nothing.

    tell: is told how many rows are done, of how many.
    """
    making = Making(Known.of(organisation), by, role, ways)
    allowed = [sheet for sheet in sheets if _may(making, sheet)]
    kinds = [sheet.kind for sheet in allowed]
    making.known.read_records(kinds)
    total = sum(len(sheet.rows) for sheet in allowed)
    done = 0
    for kind in SheetKind:
        for sheet in (each for each in allowed if each.kind is kind):
            for count in _take_sheet(making, sheet):
                if count % _TELL_EVERY == 0:
                    tell(done + count, total)
            done += len(sheet.rows)
            tell(done, total)
    return making


def _may(making: Making, sheet: Sheet) -> bool:
    if making.role >= sheet.what.least_role:
        return True
    asked = _(ASK).format(role=sheet.what.least_role.label.lower())
    making.problems.append(Remark(sheet.name, 0, "", sheet.kind.label, _(NOT_YOURS), asked))
    return False


def _take_sheet(making: Making, sheet: Sheet) -> Iterator[int]:
    """Take a sheet row by row; gives how many are done."""
    making.notices += converted_columns(sheet, making.ways)
    if sheet.kind is SheetKind.LAYERS:
        rows = list(rows_of(sheet, making.ways))
        register_rows.take_layers(making, sheet, rows)
        return
    take = _taker(making, sheet)
    for count, row in enumerate(rows_of(sheet, making.ways), start=1):
        take(count, row)
        making.notices += row.told
        yield count


def _taker(making: Making, sheet: Sheet) -> Callable[[int, SheetRow], None]:
    if sheet.kind is SheetKind.TESTS:
        tests = record_rows.TestRows(making, len(sheet.rows) + 1)
        return lambda n, row: None if record_rows.refuse_rate_alone(making, row) else tests.take(n, row)
    if sheet.kind is SheetKind.CLEANINGS:
        seen: Counter[tuple[Any, ...]] = Counter()
        return lambda _n, row: record_rows.take_cleaning(making, row, seen)
    take = {
        SheetKind.OWNERS: register_rows.take_owner,
        SheetKind.SITES: register_rows.take_site,
        SheetKind.SURFACES: register_rows.take_surface,
        SheetKind.LOCATIONS: register_rows.take_location,
        SheetKind.ROUNDS: record_rows.take_round,
    }[sheet.kind]
    return lambda _n, row: take(making, row)


# ---- storing: in a transaction of the caller ---------------------------------------------------------------


def store(making: Making, tell: Tell = lambda done, total: None) -> None:
    """Store what is new, in a transaction of the caller, who undoes it where `problems` are found.

    What hangs on a row that was refused is passed over.
    """
    gone: set[UUID] = set()
    for done, kind in enumerate(SheetKind):
        tell(done, len(SheetKind))
        if kind is SheetKind.ROUNDS:
            _store_rounds(making, gone)
        elif kind is SheetKind.TESTS:
            _store_tests(making, gone)
        elif kind is SheetKind.LOCATIONS:
            _store_locations(making, gone)
        else:
            for new in making.new.get(kind, ()):
                _store_one(making, kind, new, gone)


_PARENTS: Mapping[SheetKind, str] = MappingProxyType(
    {
        SheetKind.SITES: "owner_id",
        SheetKind.SURFACES: "site_id",
        SheetKind.CLEANINGS: "surface_id",
    }
)


def _store_one(making: Making, kind: SheetKind, new: New, gone: set[UUID]) -> None:
    made, by = new.made, making.by
    if kind is SheetKind.LAYERS:
        surface, layers = made
        parent, key = surface.pk, None
    else:
        parent, key = getattr(made, _PARENTS.get(kind, "pk")), made.pk
    if parent in gone:
        gone.add(key or parent)
        return
    steps: dict[SheetKind, Callable[[], object]] = {
        SheetKind.OWNERS: lambda: people.save_owner(owner=made),
        SheetKind.SITES: lambda: register.save_site(site=made),
        SheetKind.SURFACES: lambda: register.save_surface(surface=made),
        SheetKind.LAYERS: lambda: register.save_build_up(surface=surface, layers=layers, removed=()),
        SheetKind.CLEANINGS: lambda: cleanings.record_cleaning(event=made, by=by),
    }
    for row in layers if kind is SheetKind.LAYERS else (made,):
        row._history_user = by  # in a worker there is no request to take it from
    try:
        steps[kind]()
    except (ValidationError, NotAllowedNowError) as error:
        making.refuse(new.row, error)
        gone.add(key or parent)


def _store_locations(making: Making, gone: set[UUID]) -> None:
    by_surface: dict[Surface, list[New]] = {}
    for new in making.new.get(SheetKind.LOCATIONS, ()):
        by_surface.setdefault(new.made.surface, []).append(new)
    for surface, here in by_surface.items():
        if surface.pk in gone:
            continue
        try:
            made, system = [new.made for new in here], making.ways.system
            register.save_locations(surface=surface, locations=made, removed=(), system=system)
        except ValidationError as error:
            making.refuse(here[0].row, error)
            gone.update(new.made.pk for new in here)


def _store_rounds(making: Making, gone: set[UUID]) -> None:
    here = {n.made.pk: n for n in making.new.get(SheetKind.ROUNDS, ()) if n.made.surface_id not in gone}
    refusals = record_rounds(rounds=[new.made for new in here.values()], by=making.by)
    for pk, error in refusals.items():
        making.refuse(here[pk].row, error)
    gone.update(refusals)
    gone.update(n.made.pk for n in making.new.get(SheetKind.ROUNDS, ()) if n.made.pk not in here)


def _store_tests(making: Making, gone: set[UUID]) -> None:
    here = {
        new.made.pk: new
        for new in making.new.get(SheetKind.TESTS, ())
        if new.made.round_id not in gone and new.made.location_id not in gone
    }
    refusals = record_tests(tests=[new.made for new in here.values()], by=making.by)
    for pk, new in here.items():
        if pk in refusals:
            making.refuse(new.row, refusals[pk])
        else:
            record_rows.tell_result(making, new.row, new.made)
