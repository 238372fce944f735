"""Everything done to imports: sent, matched, looked through, stored, thrown away."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.db import transaction
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.roles import Role
from accounts.models import Membership
from core.calc.jobs import JobState
from core.errors import NotAllowedNowError, UnusableRecordError
from core.models.rows import validate_and_save
from core.services import jobs
from core.services.records import find_by_device_id
from exchange.calc.headers import plain
from exchange.calc.kinds import SheetKind
from exchange.calc.payloads import LearntColumns, Matching, SheetHeads, SheetMatch
from exchange.calc.steps import ImportStep
from exchange.models import ColumnTemplate, DataImport
from exchange.services import files
from exchange.services.finished_notices import language_of, tell_imported
from exchange.services.making import Making
from exchange.services.storing import Tell, prepare, store
from qa.models import Surface
from qa.services.changes import left_to_the_sweep

NO_SHEET = gettext_noop("Every sheet is left out. Say of one at least what its rows are.")
GONE = gettext_noop("The sheets of this import are gone. Send them again.")
AT_WORK = gettext_noop("This import is being worked on. Wait until it is done.")
NOT_READY = gettext_noop(
    "This import cannot be stored as it stands. Look through it again, and mend what is listed."
)
STORED_AT_ONCE = gettext_noop("every row is read, and all are being stored at once")
TRIED_TOGETHER = gettext_noop("every row is read, and all are being tried together, without storing")
PLACES = 24


@transaction.atomic
def begin_import(*, data_import: DataImport, sent: Sequence[File[bytes]]) -> DataImport:
    """Keep sheets that were sent, with what their columns seem to hold. Raises ValidationError for what is no sheet."""
    first = find_by_device_id(data_import, organisation=data_import.organisation_id)
    if first:
        return first
    packed = files.pack(sent)
    read = files.read_packed(packed)
    data_import.names = ", ".join(file.name or "" for file in sent)[:400]
    data_import.heads = SheetHeads(tuple(files.head_of(name, rows) for name, rows in read))
    data_import.matching = files.suggested(data_import.heads, files.templates_of(data_import.organisation))
    data_import.state = JobState.DONE  # nothing is to be done before a person has seen the columns
    packed.seek(0)
    data_import.content.save("", packed, save=False)
    validate_and_save(data_import)
    return data_import


@transaction.atomic
def match_columns(*, data_import: DataImport, matching: Matching) -> DataImport:
    """Store what the sheets hold, keep it for the next time, and have them looked through."""
    _refuse_while_at_work(data_import)
    heads = data_import.heads or SheetHeads()
    used = [(head, match) for head, match in zip(heads.sheets, matching.sheets, strict=True) if match.kind]
    if not used:
        raise ValidationError(_(NO_SHEET))
    for head, match in used:
        _keep_template(data_import, head.headers, match)
    data_import.matching = matching
    return _ask(data_import, ImportStep.CHECKING, "matching_json")


def _keep_template(data_import: DataImport, headers: Sequence[str], match: SheetMatch) -> None:
    template, _made = ColumnTemplate.objects.select_for_update().get_or_create(
        organisation=data_import.organisation,
        kind=SheetKind(match.kind).value,
        defaults={"columns_json": LearntColumns().to_json()},
    )
    before = template.columns.columns if template.columns else {}
    learnt = {plain(header): key for header, key in zip(headers, match.columns, strict=True) if plain(header)}
    template.columns = LearntColumns({**before, **learnt})
    template.save(update_fields=["columns_json"])


@transaction.atomic
def ask_to_store(*, data_import: DataImport) -> DataImport:
    """Have an import stored that was looked through and has no problem."""
    _refuse_while_at_work(data_import)
    if not data_import.is_ready:
        raise NotAllowedNowError(_(NOT_READY))
    return _ask(data_import, ImportStep.STORING)


def _ask(data_import: DataImport, step: ImportStep, *columns: str) -> DataImport:
    if not data_import.content:
        raise NotAllowedNowError(_(GONE))
    data_import.step, data_import.error = step.value, ""
    data_import.save(update_fields=["step", "error", *columns])
    jobs.requeue(DataImport.objects.filter(pk=data_import.pk))
    jobs.nudge(data_import)
    return data_import


def _refuse_while_at_work(data_import: DataImport) -> None:
    current = DataImport.objects.select_for_update().get(pk=data_import.pk)
    if current.is_unfinished:
        raise NotAllowedNowError(_(AT_WORK))
    if current.is_stored or not current.content:
        raise NotAllowedNowError(_(GONE))


@transaction.atomic
def discard_import(*, data_import: DataImport) -> None:
    """Throw away the sheets of an import; what was taken in from them stays."""
    current = DataImport.objects.select_for_update().get(pk=data_import.pk)
    if current.is_unfinished:
        raise NotAllowedNowError(_(AT_WORK))
    content = current.content
    current.delete()
    _remove_later(content)


def _remove_later(content: File[bytes]) -> None:
    name, storage = content.name, content.storage  # type: ignore[attr-defined]  # of a file that is stored
    if name:
        transaction.on_commit(lambda: storage.delete(name), robust=True)


@jobs.works_on(DataImport)
def work_through(data_import: DataImport, claim: jobs.Claim) -> None:
    """Look through the sheets of an import, or store what they hold: all of it or nothing.

    What is found is told in the language of whoever sent them.
    """
    with translation.override(language_of(data_import)):
        _work_through(data_import, claim)


def _work_through(data_import: DataImport, claim: jobs.Claim) -> None:
    role = _role_of(data_import)
    try:
        sheets = list(files.sheets_of(data_import))
    except (FileNotFoundError, ValidationError) as error:
        raise UnusableRecordError(_(GONE)) from error
    tell: Tell = lambda done, total: claim.progress(done, total, gettext_noop("rows read"))  # noqa: E731
    making = prepare(
        organisation=data_import.organisation,
        by=data_import.made_by,
        role=role,
        ways=data_import.ways,
        sheets=sheets,
        tell=tell,
    )
    # From here on one transaction writes everything: nobody else sees how far it is, so none is said.
    claim.progress(0, 0, STORED_AT_ONCE if data_import.step == ImportStep.STORING else TRIED_TOGETHER)
    if data_import.step == ImportStep.STORING and not making.problems:
        _store(data_import, making, claim)
    else:
        _try_out(making)
        claim.finish(step=ImportStep.CHECKING.value, report_json=making.report().to_json())


def _try_out(making: Making) -> None:
    """Store everything and take it back, so that every rule is tried."""
    with transaction.atomic(), left_to_the_sweep():
        store(making)
        transaction.set_rollback(True)


def _store(data_import: DataImport, making: Making, claim: jobs.Claim) -> None:
    with transaction.atomic(), left_to_the_sweep():
        store(making)
        if not making.problems:
            report = making.report(_places(making)).to_json()
            claim.finish(step=ImportStep.STORED.value, report_json=report, content="")
            tell_imported(data_import=data_import)
            _remove_later(data_import.content)
            return
        transaction.set_rollback(True)
    claim.finish(step=ImportStep.CHECKING.value, report_json=making.report().to_json())


def _places(making: Making) -> list[tuple[str, str]]:
    """The surfaces that rows were made for, as many as a page shows."""
    found: dict[UUID, Surface] = {}
    for kind, made in making.new.items():
        for new in made:
            row = new.made[0] if kind is SheetKind.LAYERS else new.made
            surface = _surface_of(row, kind)
            if surface is not None:
                found.setdefault(surface.pk, surface)
    return [(str(surface), surface.get_absolute_url()) for surface in list(found.values())[:PLACES]]


def _surface_of(row: Any, kind: SheetKind) -> Any:
    if kind in (SheetKind.SURFACES, SheetKind.LAYERS):
        return row
    if kind is SheetKind.TESTS:
        return row.round.surface
    return getattr(row, "surface", None)


def _role_of(data_import: DataImport) -> Role:
    """The role of whoever sent it, as it is now. Raises UnusableRecordError for somebody who left."""
    found = Membership.objects.filter(
        organisation=data_import.organisation, user=data_import.made_by
    ).values_list("role", flat=True)
    role = found.first()
    if role is None or role < Role.TECHNICIAN:
        said = _("{person} records nothing for this firm any more.")
        raise UnusableRecordError(said.format(person=data_import.made_by))
    return Role(role)
