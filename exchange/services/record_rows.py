"""Test rounds, tests and cleanings from rows of sheets, by the forms that people use."""

from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta
from math import isclose
from typing import Any
from uuid import UUID

from django.core.exceptions import NON_FIELD_ERRORS
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.audit import AuditState
from core.calc.marks import marked
from core.calc.paving import TestMethod
from core.calc.units import Quantity, UnitSystem, from_display
from exchange.calc.cells import OFF
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.problems import Remark
from exchange.calc.rows import SheetRow
from exchange.services.known import BROKEN, Found, spot_of, squeezed
from exchange.services.making import (
    CHANGED_SINCE,
    Making,
    differences,
    filled,
    rules_asked_later,
    same,
    starts_of,
    take_errors,
    typed,
)
from exchange.services.register_rows import refused, surface_of
from maintenance.forms.cleanings import CleaningForm
from maintenance.models import CleaningEvent
from qa.calc.field_tests import FIELD_TESTS, Measures
from qa.calc.ring import Ending
from qa.calc.rounds import Purpose
from qa.forms.field_tests import FieldTestForm
from qa.forms.rounds import KEEP, RoundForm, TestForm
from qa.models import InfiltrationTest, Location, Surface, TestRound

NO_ROUND = gettext_noop(
    "There is no test round “%(name)s”. Add it to a sheet of test rounds, or give site, surface and date here."
)
SEVERAL_ROUNDS = gettext_noop(
    "There are several rounds of this purpose on this surface that day. "
    "Give rounds and tests an ID each, and name the round in the tests."
)
RATE_ALONE = gettext_noop(
    "A rate alone cannot be stored: rates are worked out from the readings. "
    "Add columns with mass, diameter and time."
)
TOLD_TWICE = gettext_noop(
    "This %(what)s stands in the sheets twice. Remove one of the two, or give each an ID of its own."
)
NO_EARLY_STOP = gettext_noop("A %(method)s has no early stop. Write what was read, without “more than”.")
RATE_DIFFERS = 0.02  # of a rate worked out by hand, with a rounded constant


def take_round(making: Making, row: SheetRow) -> None:
    """A test round, new or there."""
    surface = surface_of(making, row)
    making.problems += row.problems
    if isinstance(surface, Surface):
        found = _round(making, row, surface, SheetKind.ROUNDS)
        if row.text("id"):
            making.known.by_id[SheetKind.ROUNDS, row.text("id")] = found


def _purpose(row: SheetRow) -> str:
    return row.text("purpose") or Purpose.ROUTINE.value


def _round(making: Making, row: SheetRow, surface: Surface, kind: SheetKind) -> Found:
    """The round that a row is or belongs to; made where there is none. kind: what the sheet of the row holds."""
    known, own_id = making.known, row.text("id") if kind is SheetKind.ROUNDS else ""
    if not row.text("tested_on"):
        return BROKEN
    key = (surface.pk, date.fromisoformat(row.text("tested_on")), _purpose(row))
    there = known.rounds.setdefault(key, [])
    mine = known.device_id(SheetKind.ROUNDS, *(("id", own_id) if own_id else key))
    before: Found = known.sent_before.get(mine) or _unclaimed(there, own_id)
    if kind is not SheetKind.ROUNDS and before is not None:
        return _only(making, row, there, before)
    if before is BROKEN or (before is not None and before._state.adding):
        making.refuse(row, refused(SEVERAL_ROUNDS, "tested_on"))
        return BROKEN
    round_, form = _round_form(making, row, surface)
    fine = take_errors(making, row, form, fields_alone=before is not None) and not _hurt(row, kind)
    if before is not None:
        _tell_there(making, SheetKind.ROUNDS, row, form.cleaned_data, before)
        return before
    round_.device_id = mine
    there.append(round_ if fine else BROKEN)
    if fine:
        known.sent_before[mine] = round_
        making.add(SheetKind.ROUNDS, row, round_)
    return there[-1]


def _hurt(row: SheetRow, kind: SheetKind) -> bool:
    """Whether a cell about the round cannot be read; of a test, others do not keep the round from being made."""
    if kind is SheetKind.ROUNDS:
        return bool(row.problems)
    told = {problem.column for problem in row.problems}
    return any(
        row.sheet.header_of(key) in told for key in KINDS[SheetKind.ROUNDS].by_key.keys() - {"id", "note"}
    )


def _unclaimed(there: Sequence[Found], own_id: str) -> Found:
    """The round of that day and purpose, where a row has no ID; else one that was stored without the sheet's IDs."""
    stored = (each for each in there if not own_id or (each is not BROKEN and not each._state.adding))
    return next(stored, None)


def first_told(making: Making, row: SheetRow, device_id: UUID) -> bool:
    """Whether nothing before in these sheets is the same record; refused where something is."""
    if device_id not in making.known.records_told:
        making.known.records_told.add(device_id)
        return True
    beside = "id" if row.text("id") else ""
    error = refused(TOLD_TWICE, beside or NON_FIELD_ERRORS, what=_(row.sheet.what.one))
    making.refuse(row, error)
    return False


def _only(making: Making, row: SheetRow, there: Sequence[Found], before: Found) -> Found:
    if len(there) <= 1:
        return before
    making.refuse(row, refused(SEVERAL_ROUNDS, "tested_on"))
    return BROKEN


def _round_form(making: Making, row: SheetRow, surface: Surface) -> tuple[TestRound, RoundForm]:
    units, round_ = making.ways.system.value, TestRound(surface=surface)
    if making.round_form is None:  # one serves all: making one takes longer than using it
        making.round_form = RoundForm(instance=round_, units=units)
    form: RoundForm = making.round_form
    sent = typed(form, row)
    if row.sheet.kind is SheetKind.TESTS:
        sent.pop("note", None)  # of the test
    form.data, form.is_bound, form.instance = {**sent, KEEP: "on"}, True, round_
    with rules_asked_later(round_):
        form.full_clean()
    return round_, form


def changed_since(row: SheetRow) -> Remark:
    """What is said of a record that is no longer as it was sent."""
    return row.remark("", _(CHANGED_SINCE).format(record=_(row.sheet.what.one)))


def _tell_there(making: Making, kind: SheetKind, row: SheetRow, cleaned: dict[str, Any], before: Any) -> None:
    if before.state != AuditState.ACTIVE:
        making.is_there(kind, row, [changed_since(row)])
    else:
        making.is_there(kind, row, differences(row, cleaned, before))


# ---- tests --------------------------------------------------------------------------------------------


class TestRows:
    """The tests of an import. Each is told from others at its spot by its number there, unless it has an ID."""

    __test__ = False

    def __init__(self, making: Making, count: int) -> None:
        self.making = making
        self.seen: Counter[tuple[Any, ...]] = Counter()
        self.first_made_at = now() - timedelta(microseconds=count)
        self.forms: dict[tuple[str, ...], tuple[TestForm | FieldTestForm, dict[str, Any]]] = {}

    def take(self, number: int, row: SheetRow) -> None:
        """A test, new or there. number: of the row among all tests, so that they keep their order."""
        making = self.making
        round_ = self._round_of(row)
        making.problems += row.problems
        if not isinstance(round_, TestRound):
            return
        test = InfiltrationTest(round=round_, method=row.text("method") or TestMethod.RING.value)
        self._place(test, row)
        self.seen[spot_of(test)] += 1
        mine = test.device_id = self._device_id(test, row)
        before = self._before(test)
        form = self._form(test, row)
        fine = take_errors(making, row, form, fields_alone=before is not None) and not row.problems
        if before is not None:
            self._tell_there(row, form, before)
        elif fine and first_told(making, row, mine):
            test.device_id = mine  # the form that serves all has one of its own
            test.made_at = self.first_made_at + timedelta(microseconds=number)
            making.add(SheetKind.TESTS, row, test)

    def _round_of(self, row: SheetRow) -> Found:
        making, name = self.making, row.text("round")
        if name:
            found = making.known.by_own_id(SheetKind.ROUNDS, name)
            if found is None:
                making.refuse(row, refused(NO_ROUND, "round", name=name))
            return found
        surface = surface_of(making, row)
        return _round(making, row, surface, SheetKind.TESTS) if isinstance(surface, Surface) else surface

    def _place(self, test: InfiltrationTest, row: SheetRow) -> None:
        """At the fixed location of that label, else at a spot in words."""
        label = row.text("location")
        found = self.making.known.locations.get((test.round.surface_id, squeezed(label)))
        if isinstance(found, Location):
            test.location = found
        else:
            row.values["spot"] = test.spot = label

    def _device_id(self, test: InfiltrationTest, row: SheetRow) -> UUID:
        if row.text("id"):
            return self.making.known.device_id(SheetKind.TESTS, "id", row.text("id"))
        spot = squeezed(row.text("location"))
        key = (test.round_id if test.round.device_id is None else test.round.device_id, test.method, spot)
        return self.making.known.device_id(SheetKind.TESTS, *key, self.seen[spot_of(test)])

    def _before(self, test: InfiltrationTest) -> InfiltrationTest | None:
        """What is stored of it: by its ID, else the test of the same number at the spot."""
        sent: Any = self.making.known.sent_before.get(test.device_id) if test.device_id else None
        there = self.making.known.tests.get(spot_of(test), [])
        place = self.seen[spot_of(test)] - 1
        return sent or (there[place] if place < len(there) else None)

    def _form(self, test: InfiltrationTest, row: SheetRow) -> TestForm | FieldTestForm:
        system = row.text("unit_system") or self.making.ways.system.value
        if row.over and "ended" not in row.values:
            row.values["ended"] = Ending.STILL_PONDED.value
        if not test.is_ring:
            _as_first_run(test, row)
        form, start = self._blank_form(test, system)
        if row.over and "ended" not in form.fields:
            method = TestMethod(test.method).in_sentence
            self.making.refuse(row, refused(NO_EARLY_STOP, min(row.over), method=method))
        sent = {name: value for name, value in row.values.items() if name in form.fields and value != OFF}
        left = {name: value for name, value in start.items() if row.values.get(name) != OFF}
        form.data, form.is_bound, form.instance = {**left, **sent}, True, test
        with rules_asked_later(test):
            form.full_clean()
        return form

    def _blank_form(
        self, test: InfiltrationTest, system: str
    ) -> tuple[TestForm | FieldTestForm, dict[str, Any]]:
        """The form of such a test and what it starts with: made once, since making one takes longer than using it."""
        key = (test.method, system, test.round.surface.surface_type)
        if key not in self.forms:
            kind = TestForm if test.is_ring else FieldTestForm
            form = kind(None, instance=test, initial={"unit_system": system})
            del form.fields["location"]  # it is known, and may be about to be stored with the test
            self.forms[key] = form, starts_of(form) | _ticked(test)
        return self.forms[key]

    def _tell_there(self, row: SheetRow, form: Any, before: InfiltrationTest) -> None:
        entries = {"spot"} if before.is_ring else {"spot", *form.instance.readings_json["once"]}
        cleaned = {name: value for name, value in form.cleaned_data.items() if name not in entries}
        told = differences(row, cleaned, before)
        if not before.is_ring and before.is_active and _reads_otherwise(row, form.instance, before):
            remedy = _("Correct the test on its page if the sheet is right.")
            told.append(row.remark("", _("other readings are stored"), remedy))
        if not before.is_active:
            told = [changed_since(row)]
        self.making.is_there(SheetKind.TESTS, row, told)


def _reads_otherwise(row: SheetRow, test: InfiltrationTest, before: InfiltrationTest) -> bool:
    """Whether the sheet gives other entries of a method, or other runs, than are stored."""
    new, old = test.readings_json, before.readings_json
    there = old.get("once", {})
    once = (not same(value, there.get(key)) for key, value in new["once"].items() if key in row.values)
    return any(once) or not same(new.get("runs"), old.get("runs"))


def _as_first_run(test: InfiltrationTest, row: SheetRow) -> None:
    """A time without the number of a run is that of the first run, where the method has runs."""
    entries = {entry.key for entry in FIELD_TESTS[TestMethod(test.method)].repeated}
    if "elapsed_s" in entries and "elapsed_s" in row.values:
        row.values.setdefault("run1_elapsed_s", row.values["elapsed_s"])


def _ticked(test: InfiltrationTest) -> dict[str, str]:
    """What a form of the method starts with as ticked: that it was done as it should be."""
    if test.is_ring:
        return {}
    keys = {e.key for e in FIELD_TESTS[TestMethod(test.method)].fixed if e.measures is Measures.YES}
    return dict.fromkeys(keys & {"outer_level", "dam_tight"}, "on")


def tell_result(making: Making, row: SheetRow, test: InfiltrationTest) -> None:
    """What came out of a test and is worth a look before it is stored."""
    if not test.is_valid:
        making.notices.append(
            row.remark("", _("it will not count: {why}").format(why=test.voided_by[0].message))
        )
    elif test.bounded_by:
        making.notices.append(
            row.remark("", _("it will count as a bound only: {why}").format(why=test.bounded_by[0].message))
        )
    written = row.text("rate_mm_h")
    if not written or test.rate_mm_h is None:
        return
    rate = from_display(float(written), Quantity.RATE, UnitSystem(making.ways.system))
    if not isclose(rate, test.rate_mm_h, rel_tol=RATE_DIFFERS):
        said = _("the readings give {measured} mm/h, not {written} mm/h").format(
            measured=marked(f"{test.rate_mm_h:.4g}"), written=marked(f"{rate:.4g}")
        )
        remedy = _("The readings are stored. Check mass, diameter, time and units.")
        making.notices.append(row.remark("rate_mm_h", said, remedy))


def refuse_rate_alone(making: Making, row: SheetRow) -> bool:
    """Whether a row gives a rate and no readings, which is refused once instead of cell by cell."""
    readings = {"test_mass", "ring_diameter", "elapsed_s"} & set(row.values)
    if not row.text("rate_mm_h") or readings or row.text("method") not in ("", TestMethod.RING.value):
        return False
    making.refuse(row, refused(RATE_ALONE, "rate_mm_h"))
    return True


# ---- cleanings -------------------------------------------------------------------------------------------


def take_cleaning(making: Making, row: SheetRow, seen: Counter[tuple[Any, ...]]) -> None:
    """A cleaning, new or there. seen: how many of the same way came of the surface and day before."""
    surface = surface_of(making, row)
    making.problems += row.problems
    if not isinstance(surface, Surface) or row.problems:
        return
    key = (surface.pk, date.fromisoformat(row.text("cleaned_on")), row.text("method"))
    seen[key] += 1
    own_id, known = row.text("id"), making.known
    mine = known.device_id(SheetKind.CLEANINGS, *(("id", own_id) if own_id else (*key, seen[key])))
    there = known.cleanings.get(key, [])
    before: Any = known.sent_before.get(mine) or (there[seen[key] - 1] if seen[key] <= len(there) else None)
    event = CleaningEvent(surface=surface)
    units = making.ways.system.value
    form = filled(CleaningForm(instance=event, units=units), row)
    fine = take_errors(making, row, form, fields_alone=before is not None)
    if before is not None:
        _tell_there(making, SheetKind.CLEANINGS, row, form.cleaned_data, before)
    elif fine and first_told(making, row, mine):
        event.device_id = mine
        making.add(SheetKind.CLEANINGS, row, event)
