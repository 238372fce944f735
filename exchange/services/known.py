"""What a firm has already, found by what people call it in a sheet; and what an import is about to make."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import UUID, uuid5

from accounts.models import Organisation, Owner
from core.models.rows import OnceRow
from exchange.calc.kinds import SheetKind
from exchange.calc.register_columns import RULES, rule_names
from exchange.calc.tongues import in_every_language
from maintenance.models import CleaningEvent
from qa.forms.limit_choice import OWN_PREFIX
from qa.models import InfiltrationTest, Layer, Location, OwnLimit, Site, Surface, TestRound
from qa.services.batches import in_pieces


def squeezed(name: str) -> str:
    """A name without regard to case and blanks."""
    return " ".join(name.casefold().split())


class Broken:
    """Stands for a row of the import that cannot be made: what hangs on it is passed over without a word."""


BROKEN = Broken()
Found = Any  # a row, BROKEN, or None


@dataclass(slots=True)
class Known:
    """Rows of one firm, stored and to be made, by what leads to them."""

    organisation: Organisation
    owners: dict[str, Found] = field(default_factory=dict)
    sites: dict[str, Found] = field(default_factory=dict)
    surfaces: dict[tuple[UUID, str], Found] = field(default_factory=dict)
    surfaces_by_name: dict[str, list[Found]] = field(default_factory=dict)
    locations: dict[tuple[UUID, str], Found] = field(default_factory=dict)
    layers: dict[UUID, list[Layer]] = field(default_factory=dict)
    rounds: dict[tuple[UUID, date, str], list[Found]] = field(default_factory=dict)
    tests: dict[tuple[Any, ...], list[InfiltrationTest]] = field(default_factory=dict)
    cleanings: dict[tuple[UUID, date, str], list[CleaningEvent]] = field(default_factory=dict)
    rules: dict[str, str] = field(default_factory=dict)
    by_id: dict[tuple[SheetKind, str], Found] = field(default_factory=dict)
    build_ups_told: set[UUID] = field(default_factory=set)
    records_told: set[UUID] = field(default_factory=set)
    sent_before: dict[UUID, OnceRow] = field(default_factory=dict)

    @classmethod
    def of(cls, organisation: Organisation) -> "Known":
        """What the firm has of owners, sites, surfaces and rules; the rest is read when the sheets are known."""
        known = cls(organisation)
        for owner in Owner.objects.of_organisation(organisation):
            known.owners[squeezed(owner.name)] = owner
            known.note_sending(owner)
        sites = {}
        for site in Site.objects.of_organisation(organisation).select_related("owner"):
            site.organisation = organisation
            sites[site.pk] = site
            known.sites[squeezed(site.name)] = site
            known.note_sending(site)
        for surface in Surface.objects.of_organisation(organisation):
            surface.site = sites[surface.site_id]
            known.add_surface(surface)
        own = OwnLimit.objects.of_organisation(organisation).filter(retired=False)
        for names in in_every_language(rule_names):
            known.rules |= {squeezed(name): key for key, name in zip(RULES, names, strict=True)}
        known.rules |= {key: key for key in RULES}
        known.rules |= {squeezed(rule.name): f"{OWN_PREFIX}{rule.pk}" for rule in own}
        return known

    def add_surface(self, surface: Surface) -> None:
        """Have a surface found by site and name, or by its name alone."""
        self.surfaces[surface.site_id, squeezed(surface.name)] = surface
        self.surfaces_by_name.setdefault(squeezed(surface.name), []).append(surface)
        self.note_sending(surface)

    def by_own_id(self, kind: SheetKind, own_id: str) -> Found:
        """The row that sheets give that ID, in this import or one before; None where none does."""
        found = self.by_id.get((kind, own_id))
        return found or (self.sent_before.get(self.device_id(kind, "id", own_id)) if own_id else None)

    def note_sending(self, row: OnceRow) -> None:
        """Have a stored row found by the id of the sending that made it, whatever became of it since."""
        if row.device_id:
            self.sent_before[row.device_id] = row

    def device_id(self, kind: SheetKind, *key: object) -> UUID:
        """The id that a row sent again has again. key: the sheet's own id, or what else tells the row from others."""
        return uuid5(self.organisation.pk, "|".join(map(str, (kind.value, *key))))

    def read_records(self, kinds: Iterable[SheetKind]) -> None:
        """Read what hangs on the firm's surfaces, as far as the sheets are about it."""
        asked, surfaces = set(kinds), {surface.pk: surface for surface in self.surfaces.values()}
        ids = list(surfaces)
        if asked & {SheetKind.LOCATIONS, SheetKind.TESTS}:
            self._read_locations(ids)
        if SheetKind.LAYERS in asked:
            for layer in _rows(Layer, "surface", ids):
                self.layers.setdefault(layer.surface_id, []).append(layer)
        if asked & {SheetKind.ROUNDS, SheetKind.TESTS}:
            self._read_rounds(ids, surfaces)
        if SheetKind.CLEANINGS in asked:
            self._read_cleanings(ids)

    def _read_cleanings(self, ids: Sequence[UUID]) -> None:
        for event in _rows(CleaningEvent, "surface", ids):
            self.note_sending(event)
            if event.is_active:
                key = (event.surface_id, event.cleaned_on, event.method)
                self.cleanings.setdefault(key, []).append(event)

    def _read_locations(self, ids: Sequence[UUID]) -> None:
        for location in _rows(Location, "surface", ids):
            self.locations[location.surface_id, squeezed(location.label)] = location

    def _read_rounds(self, ids: Sequence[UUID], surfaces: dict[UUID, Surface]) -> None:
        rounds = {}
        for round_ in _rows(TestRound, "surface", ids):
            round_.surface = surfaces[round_.surface_id]
            self.note_sending(round_)
            rounds[round_.pk] = round_
            if round_.is_active:
                key = (round_.surface_id, round_.tested_on, round_.purpose)
                self.rounds.setdefault(key, []).append(round_)
        for test in _rows(InfiltrationTest, "round", list(rounds)):
            test.round = rounds[test.round_id]
            self.note_sending(test)
            if test.is_active:
                self.tests.setdefault(spot_of(test), []).append(test)


def spot_of(test: InfiltrationTest) -> tuple[Any, ...]:
    """What tests are repeats of one another by: round, method and place."""
    return (test.round_id, test.method, test.location_id, "" if test.location_id else squeezed(test.spot))


def _rows(model: Any, name: str, values: Sequence[Any]) -> Iterator[Any]:
    """Rows whose column is one of many values, in the order of the model."""
    for piece in in_pieces(values):
        yield from model._base_manager.filter(**{f"{name}__in": piece}).order_by(*model._meta.ordering)
