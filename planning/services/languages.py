"""In which language somebody is told something: their own, else the one of the owner or the firm they read for."""

from collections import defaultdict
from collections.abc import Collection, Iterable

from accounts.models import Organisation, Owner, OwnerPerson, User


def by_language(people: Iterable[User | None], firm: Organisation) -> dict[str, list[User]]:
    """People of a firm by the language that each reads."""
    return _grouped(people, firm.language)


def languages_of(people: Collection[int], firm: Organisation) -> dict[int, str]:
    """The language that each of some people of a firm reads, by their ids."""
    rows = User.objects.filter(pk__in=people).values_list("pk", "language")
    return {pk: language or firm.language for pk, language in rows}


def language_of(reader: OwnerPerson) -> str:
    """The language that somebody reads who reads for an owner."""
    return reader.user.language or reader.owner.reads


def readers_by_language(owner: Owner) -> dict[str, list[User]]:
    """Who reads for an owner and may sign in, by the language that each reads."""
    return _grouped(User.objects.filter(owner_links__owner=owner, is_active=True), owner.reads)


def _grouped(people: Iterable[User | None], usual: str) -> dict[str, list[User]]:
    found: dict[str, list[User]] = defaultdict(list)
    for person in people:
        if person is not None:
            found[person.language or usual].append(person)
    return found
