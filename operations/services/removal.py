"""Takes a firm out for good: every row that belongs to it, its files, and the accounts that nothing else needs.

What belongs to a firm is found by the keys between tables, not by a list that somebody would have to keep: whatever
points at a row that goes, goes with it. Accounts of people stay where another firm still knows them.
"""

import logging
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django.apps import apps
from django.contrib.sessions.models import Session
from django.core.files.storage import default_storage
from django.db import OperationalError, connection, transaction
from django.db.models import FileField, ForeignKey, Model

from accounts.models import Organisation, User
from core.errors import NotAllowedNowError

log = logging.getLogger(__name__)

Rows = dict[type[Model], set[object]]
AT_ONCE = 500  # ids in one question: SQLite takes no more than some thousands
OF_ACCOUNTS = frozenset(
    {"account", "mfa", "usersessions", "admin", "auth", "socialaccount"}
)  # apps of libraries
NONE_SUCH = (
    "No firm is called %(asked)s, and none has that id. Give the name as its own page shows it, or its id."
)
SEVERAL = "%(count)d firms are called %(asked)s. Give the id of the one that is to go: %(ids)s."
FILE_LEFT = "%(path)s could not be erased: %(why)s. Erase it by hand: nothing names it any more."
NOT_ANEW = (
    "The rows are gone, but the database's file holds traces of them: %(why)s. Stop the server, run VACUUM."
)
OTHER_NAME = "The firm is called %(name)s, not %(asked)s. Nothing was removed."


@dataclass(frozen=True, slots=True)
class Removal:
    """What goes with a firm. rows: how many, by the name of their kind; people: addresses of accounts that go too.

    people_kept: of accounts that another firm knows; left: what could not be erased, in words.
    """

    firm: str
    rows: dict[str, int]
    files: tuple[str, ...]
    people: tuple[str, ...]
    people_kept: tuple[str, ...]
    left: tuple[str, ...] = ()


def find_firm(asked: str) -> Organisation:
    """The firm of that name or id. Raises NotAllowedNowError where there is none, or more than one."""
    found = list(Organisation.objects.filter(name=asked))
    if not found and (pk := _uuid(asked)):
        found = list(Organisation.objects.filter(pk=pk))
    if not found:
        raise NotAllowedNowError(NONE_SUCH % {"asked": asked})
    if len(found) > 1:
        ids = ", ".join(str(firm.pk) for firm in found)
        raise NotAllowedNowError(SEVERAL % {"count": len(found), "asked": asked, "ids": ids})
    return found[0]


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def what_goes(firm: Organisation) -> Removal:
    """What `remove_firm` would take away, as it stands now."""
    return _found(firm)[1]


def remove_firm(*, firm: Organisation, name: str) -> Removal:
    """Take it away, for good; nothing of it where anything fails. name: its name, as whoever asks has typed it.

    Raises NotAllowedNowError for another name. Backups made before still hold it.
    """
    if name != firm.name:
        raise NotAllowedNowError(OTHER_NAME % {"name": firm.name, "asked": name})
    with transaction.atomic():
        Organisation.objects.select_for_update().get(pk=firm.pk)
        rows, removal = _found(firm)
        for model, ids in rows.items():
            for some in _in_parts(ids):
                everything = model._base_manager.filter(pk__in=some)
                everything._raw_delete(everything.db)  # keys are compared at the commit, whatever the order
    log.warning(
        "The firm %s was removed: %d rows, %d files.", firm.pk, sum(removal.rows.values()), len(removal.files)
    )
    return replace(removal, left=(*_without_files(removal.files), *_without_erased_rows()))


def _without_files(paths: Iterable[str]) -> Iterator[str]:
    """Erase files; tells of each that could not be, since nothing names it any more."""
    for path in paths:
        try:
            default_storage.delete(path)
        except OSError as error:
            yield FILE_LEFT % {"path": path, "why": error}


def _without_erased_rows() -> Iterator[str]:
    """SQLite keeps erased rows in its file until they are written over: write the file anew without them."""
    if connection.vendor != "sqlite" or connection.in_atomic_block:
        return
    try:
        with connection.cursor() as cursor:
            cursor.execute("VACUUM")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    except OperationalError as error:
        yield NOT_ANEW % {"why": error}


def _found(firm: Organisation) -> tuple[Rows, Removal]:
    rows = _with_all_that_points_at({Organisation: {firm.pk}})
    people = _people_in(rows)
    kept = _known_elsewhere(people, rows)
    going: set[object] = {person.pk for person in people if person not in kept}
    accounts = _with_all_that_points_at({User: going})
    for model, ids in accounts.items():
        rows.setdefault(model, set()).update(ids)
    rows[Session] = _sessions_of(going)
    counts: Counter[str] = Counter()
    for model, ids in rows.items():
        counts[str(model._meta.verbose_name)] += len(ids)
    return rows, Removal(
        firm=firm.name,
        rows={kind: count for kind, count in sorted(counts.items()) if count},
        files=tuple(sorted(_files_of(rows))),
        people=tuple(sorted(person.email for person in people if person not in kept)),
        people_kept=tuple(sorted(person.email for person in kept)),
    )


def _with_all_that_points_at(start: Rows) -> Rows:
    """These rows, and every row that a key leads from to one of them, and so on; with their histories."""
    found: defaultdict[type[Model], set[object]] = defaultdict(set)
    keys = _keys()
    new = {model: set(ids) for model, ids in start.items()}
    while new:
        for model, ids in new.items():
            found[model] |= ids
        further: defaultdict[type[Model], set[object]] = defaultdict(set)
        for model, ids in new.items():
            for pointing, pks in _pointing_at(model, ids, keys[model]):
                further[pointing] |= pks - found[pointing]
        new = {model: ids for model, ids in further.items() if ids}
    return dict(found)


def _keys() -> defaultdict[type[Model], list[tuple[type[Model], str]]]:
    """For each kind of row, the keys that lead to it: the kind they start from, and their names."""
    keys: defaultdict[type[Model], list[tuple[type[Model], str]]] = defaultdict(list)
    for model in apps.get_models(include_auto_created=True):
        for field in model._meta.local_fields:
            if isinstance(field, ForeignKey):
                keys[field.remote_field.model].append((model, field.attname))
        history = getattr(model, "history", None)
        if history is not None and hasattr(history, "model"):  # a history knows its row by number alone
            keys[model].append((history.model, model._meta.pk.attname))
    return keys


def _pointing_at(
    model: type[Model], ids: set[object], keys: Iterable[tuple[type[Model], str]]
) -> Iterator[tuple[type[Model], set[object]]]:
    for pointing, column in keys:
        for some in _in_parts(ids):
            yield (
                pointing,
                set(pointing._base_manager.filter(**{f"{column}__in": some}).values_list("pk", flat=True)),
            )


def _in_parts(ids: Collection[Any]) -> Iterator[list[Any]]:
    listed = list(ids)
    for start in range(0, len(listed), AT_ONCE):
        yield listed[start : start + AT_ONCE]


def _people_in(rows: Rows) -> set[User]:
    """Everybody whom a row that goes names: members, owners' people, and who left the firm before."""
    named: set[Any] = set()
    for model, column in _keys()[User]:
        for some in _in_parts(rows.get(model, set())):
            named |= set(model._base_manager.filter(pk__in=some).values_list(column, flat=True))
    people = User.objects.filter(is_staff=False, is_superuser=False)
    return {person for some in _in_parts(named - {None}) for person in people.filter(pk__in=some)}


def _known_elsewhere(people: set[User], rows: Rows) -> set[User]:
    """Those whom a row names that stays, other than what libraries keep of their accounts."""
    known: set[object] = set()
    for model, column in _keys()[User]:
        if model._meta.app_label in OF_ACCOUNTS:
            continue
        going = rows.get(model, set())
        for some in _in_parts({person.pk for person in people}):
            naming = model._base_manager.filter(**{f"{column}__in": some}).values_list("pk", column)
            known |= {person for pk, person in naming if pk not in going}
    return {person for person in people if person.pk in known}


def _sessions_of(people: set[object]) -> set[object]:
    listed = apps.get_model("usersessions", "UserSession")
    return set(listed._base_manager.filter(user__in=people).values_list("session_key", flat=True))


def _files_of(rows: Rows) -> set[str]:
    found: set[str] = set()
    for model, ids in rows.items():
        names = [field.attname for field in model._meta.local_fields if isinstance(field, FileField)]
        for name in names:
            for some in _in_parts(ids):
                found |= set(model._base_manager.filter(pk__in=some).values_list(name, flat=True))
    return found - {""}
