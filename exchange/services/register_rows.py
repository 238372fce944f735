"""Owners, sites, surfaces, build-ups and locations from rows of sheets, by the forms that people use."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.forms.people import OwnerForm
from accounts.models import Owner
from core.models.rows import OnceRow
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.rows import Sheet, SheetRow
from exchange.services.known import BROKEN, Found, squeezed
from exchange.services.making import Making, differences, filled, same, take_errors, typed
from qa.forms.buildups import LayerForm, LocationForm, layer_formset
from qa.forms.limit_choice import chosen_rule
from qa.forms.rowsets import kept_forms, rows_to_send
from qa.forms.sites import SiteForm
from qa.forms.surfaces import SurfaceForm
from qa.models import Layer, Location, Site, Surface

NO_OWNER = gettext_noop("There is no owner “%(name)s”. Add it to a sheet of owners, or correct the name.")
NO_SITE = gettext_noop(
    "There is no site “%(name)s”. Add it to a sheet of sites, give its owner in this row, or correct the name."
)
NO_SURFACE = gettext_noop(
    "There is no surface “%(name)s” at %(site)s. Add it to a sheet of surfaces, or correct the name."
)
SEVERAL = gettext_noop("There are %(count)d surfaces “%(name)s”. Add a column with the site.")
NAMELESS = gettext_noop("The row does not say which %(what)s it is about. Add a column with its name.")
RULE = gettext_noop(
    "There is no rule “%(name)s”. Write the name of a published rule or of the firm's own, or an agreed limit."
)
TWICE = gettext_noop(
    "%(what)s “%(name)s” stands in the sheets twice. Remove one of the two, or tell them apart."
)
ID_TWICE = gettext_noop(
    "Two rows have the ID “%(id)s”. Give each an ID of its own, or remove one of the two."
)
OTHER_BUILD_UP = gettext_noop(
    "This surface has another build-up already. Nothing is overwritten: change it on the surface's page."
)


def refused(message: str, beside: str, /, **params: object) -> ValidationError:
    """A refusal beside the column of a row. message: in English, as it stands above."""
    return ValidationError({beside: ValidationError(_(message), params=params)})


def take_owner(making: Making, row: SheetRow) -> None:
    """An owner, new or there."""
    key, owner = squeezed(row.text("name")), Owner(organisation=making.known.organisation)
    _take(making, SheetKind.OWNERS, row, making.known.owners, key, owner, _owner_form)


def _owner_form(making: Making, row: SheetRow, owner: Owner) -> OwnerForm:
    return filled(OwnerForm(instance=owner), row)


def take_site(making: Making, row: SheetRow) -> None:
    """A site, new or there."""
    known = making.known
    owner = _owner_of(making, row)
    if owner is BROKEN or owner is None:
        making.problems += row.problems
        known.sites.setdefault(squeezed(row.text("name")), BROKEN)
        return
    site = Site(organisation=known.organisation, owner=owner)
    _take(making, SheetKind.SITES, row, known.sites, squeezed(row.text("name")), site, _site_form)


def _owner_of(making: Making, row: SheetRow) -> Found:
    name = row.text("owner")
    owner = making.known.by_own_id(SheetKind.OWNERS, name) or making.known.owners.get(squeezed(name))
    if owner is None and not row.is_told("owner"):
        making.refuse(row, refused(NO_OWNER if name else NAMELESS, "owner", name=name, what=_("owner")))
    return owner


def _site_form(making: Making, row: SheetRow, site: Site) -> SiteForm:
    # The form begins with time zone and months of the firm's newest site, else of its office and country.
    sent = typed(SiteForm(instance=site), row)
    if not row.text("time_zone"):
        sent["time_zone"] = _zone_told_before(making) or sent["time_zone"]
    form = SiteForm(sent, instance=site)
    for name in ("owner", "rain_record"):  # its owner may be about to be stored with it
        form.fields.pop(name, None)
    return form


def _zone_told_before(making: Making) -> str:
    """The time zone of the last new site of this import, empty where it is the first."""
    sites = [site for site in making.known.sites.values() if isinstance(site, Site) and site._state.adding]
    return sites[-1].time_zone if sites else ""


def site_of(making: Making, row: SheetRow) -> Found:
    """The site that a row names, refused where there is none."""
    name = row.text("site")
    site = making.known.by_own_id(SheetKind.SITES, name) or making.known.sites.get(squeezed(name))
    if site is None and not row.is_told("site"):
        making.refuse(row, refused(NO_SITE if name else NAMELESS, "site", name=name, what=_("site")))
    return site


def surface_of(making: Making, row: SheetRow) -> Found:
    """The surface that a row names, refused where there is none or several."""
    known, name = making.known, row.text("surface")
    if not name:
        if not row.is_told("surface"):
            making.refuse(row, refused(NAMELESS, "surface", what=_("surface")))
        return None
    by_id = known.by_own_id(SheetKind.SURFACES, name)
    if by_id is not None:
        return by_id
    if row.text("site"):
        site = site_of(making, row)
        if site is None or site is BROKEN:
            return site
        found = [known.surfaces.get((site.pk, squeezed(name)))]
    else:
        found = known.surfaces_by_name.get(squeezed(name), [None])
    if len(found) > 1 or found[0] is None:
        message = SEVERAL if len(found) > 1 else NO_SURFACE
        site_name = row.text("site") or _("any site")
        making.refuse(row, refused(message, "surface", name=name, site=site_name, count=len(found)))
        return None
    return found[0]


def take_surface(making: Making, row: SheetRow) -> None:
    """A surface, new or there; with a site that is not known yet, where the row says whose it is."""
    _imply_site(making, row)
    known, site, name = making.known, site_of(making, row), squeezed(row.text("name"))
    if site is None or site is BROKEN or not _take_rule(making, row):
        _break_surface(making, row, site, name)
        return
    surface = Surface(site=site)
    key = (site.pk, name)
    _take(making, SheetKind.SURFACES, row, known.surfaces, key, surface, _surface_form)
    if known.surfaces.get(key) in (surface, BROKEN):
        known.surfaces_by_name.setdefault(name, []).append(known.surfaces[key])


_OF_SITE = MappingProxyType(
    {"site": "name", "owner": "owner", "site_address": "address", "time_zone": "time_zone"}
)


def _imply_site(making: Making, row: SheetRow) -> None:
    """One list of surfaces with their sites and owners is what most firms have: make those with it."""
    known, site, owner = making.known, row.text("site"), row.text("owner")
    if not site or not owner or squeezed(site) in known.sites or known.by_own_id(SheetKind.SITES, site):
        return
    if squeezed(owner) not in known.owners and not known.by_own_id(SheetKind.OWNERS, owner):
        take_owner(making, _other_row(row, SheetKind.OWNERS, {"owner": "name"}))
    take_site(making, _other_row(row, SheetKind.SITES, _OF_SITE))


def _other_row(row: SheetRow, kind: SheetKind, keys: Mapping[str, str]) -> SheetRow:
    """What a row says of something else than it is about. keys: the other's by those of the row."""
    sheet = row.sheet
    columns = tuple(keys.get(key, "") for key in sheet.columns)
    other = Sheet(sheet.name, kind, sheet.headers, columns, sheet.rows, sheet.first_row)
    values = {keys[key]: value for key, value in row.values.items() if key in keys}
    raw = {keys[key]: value for key, value in row.raw.items() if key in keys}
    return SheetRow(other, row.number, values, raw=raw)


def _break_surface(making: Making, row: SheetRow, site: Found, name: str) -> None:
    making.problems += row.problems
    if isinstance(site, Site):
        making.known.surfaces.setdefault((site.pk, name), BROKEN)
    making.known.surfaces_by_name.setdefault(name, [BROKEN])


def _take_rule(making: Making, row: SheetRow) -> bool:
    """Bring the name of a rule to its key."""
    name = row.text("rule")
    if not name:
        return True
    key = _rule_named(making.known.rules, squeezed(name))
    if key is None:
        making.refuse(row, refused(RULE, "rule", name=name))
        return False
    row.values["rule"] = key
    return True


def _rule_named(rules: Mapping[str, str], wanted: str) -> str | None:
    """The key of a rule by its name, or by how that of one alone begins."""
    begun = {key for name, key in rules.items() if name.startswith(wanted)}
    return rules.get(wanted) or (begun.pop() if len(begun) == 1 else None)


def _surface_form(making: Making, row: SheetRow, surface: Surface) -> SurfaceForm:
    units = making.ways.system.value
    return filled(SurfaceForm(instance=surface, units=units), row)


def _take(  # the same for whatever has a name: found, made, broken, told twice
    making: Making,
    kind: SheetKind,
    row: SheetRow,
    names: dict[Any, Found],
    key: Any,
    fresh: Any,
    form_of: Any,
) -> None:
    known, own_id = making.known, row.text("id")
    if not row.text("name"):  # missing or not readable, which is told
        making.problems += row.problems
        return
    if own_id and _is_new(known.by_id.get((kind, own_id))):
        making.refuse(row, refused(ID_TWICE, "id", id=own_id))
        return
    fresh.device_id = known.device_id(kind, "id", own_id) if own_id else known.device_id(kind, "name", key)
    before = known.sent_before.get(fresh.device_id) or names.get(key)
    if _is_new(before):
        making.refuse(row, refused(TWICE, "name", what=_capital(_(KINDS[kind].one)), name=row.text("name")))
        return
    form = form_of(making, row, fresh)
    fine = take_errors(making, row, form, fields_alone=before is not None)
    making.problems += row.problems
    found: Found = before or (fresh if fine and not row.problems else BROKEN)
    names[key] = found
    if own_id:
        known.by_id[kind, own_id] = found
    if before is not None:
        making.is_there(kind, row, _differing(row, form.cleaned_data, before))
    elif found is fresh:
        fresh.device_id = (
            known.device_id(kind, "id", own_id) if own_id else known.device_id(kind, "name", key)
        )
        making.add(kind, row, fresh)


def _capital(word: str) -> str:
    return word[:1].upper() + word[1:]


def _is_new(found: Found) -> bool:
    """Whether a row of this import stands for it already, made or broken."""
    return found is BROKEN or (found is not None and found._state.adding)


def _differing(row: SheetRow, cleaned: dict[str, Any], stored: OnceRow) -> list[Any]:
    found = differences(row, cleaned, stored)
    if isinstance(stored, Surface) and row.text("rule") and not same(row.text("rule"), chosen_rule(stored)):
        found.append(
            row.remark(
                "rule",
                _("another rule is stored"),
                _("Change it on the surface's page if the sheet is right."),
            )
        )
    return found


# ---- build-ups: all layers of a surface at once ------------------------------------------------------


def take_layers(making: Making, sheet: Sheet, rows: Sequence[SheetRow]) -> None:
    """The build-up of each surface of a sheet."""
    grouped: dict[Any, list[SheetRow]] = {}
    for row in rows:
        surface = surface_of(making, row)
        making.problems += row.problems
        making.notices += row.told
        if isinstance(surface, Surface):
            grouped.setdefault(surface, []).append(row)
    for surface, here in grouped.items():
        if surface.pk in making.known.build_ups_told:
            making.refuse(here[0], refused(TWICE, "surface", what=_("The build-up of"), name=surface.name))
            continue
        making.known.build_ups_told.add(surface.pk)
        _take_build_up(making, surface, here)


def _take_build_up(making: Making, surface: Surface, rows: list[SheetRow]) -> None:
    units = making.ways.system.value
    ordered = sorted(rows, key=lambda row: float(row.text("position") or "inf"))
    for place, row in enumerate(ordered, start=1):
        row.values["place"] = str(place)
    start = LayerForm(instance=Layer(surface=surface), units=units)
    sent = rows_to_send("layers", [], [typed(start, row) for row in ordered])
    formset = layer_formset(Surface(site=surface.site, surface_type=surface.surface_type), units, sent)
    fine = formset.is_valid()
    for row, form in zip(ordered, formset.forms, strict=True):
        fine = take_errors(making, row, form) and fine
    for message in formset.non_form_errors():
        making.refuse(ordered[0], ValidationError(message))
    stored = making.known.layers.get(surface.pk, [])
    if stored:
        _compare_build_up(making, ordered, formset, stored)
    elif fine and not any(row.problems for row in ordered):
        layers = [form.save(commit=False) for form in kept_forms(formset)]
        making.add(SheetKind.LAYERS, ordered[0], (surface, layers))


def _compare_build_up(making: Making, rows: list[SheetRow], formset: Any, stored: list[Layer]) -> None:
    given = [{**form.cleaned_data} for form in formset.forms if hasattr(form, "cleaned_data")]
    names = [name for name in LayerForm.Meta.fields if name != "place"]
    alike = len(given) == len(stored) and all(
        same(values.get(name), getattr(layer, name))
        for values, layer in zip(given, stored, strict=True)
        for name in names
    )
    told = [] if alike else [rows[0].remark("", *_(OTHER_BUILD_UP).split(". ", 1))]
    making.is_there(SheetKind.LAYERS, rows[0], told)


def take_location(making: Making, row: SheetRow) -> None:
    """A test location, new or there."""
    surface, label = surface_of(making, row), squeezed(row.text("label"))
    making.problems += row.problems
    if not isinstance(surface, Surface) or not label:
        return
    units, known = making.ways.system.value, making.known
    location = Location(surface=surface)
    before = known.locations.get((surface.pk, label))
    if _is_new(before):
        making.refuse(row, refused(TWICE, "label", what=_("Location"), name=row.text("label")))
        return
    form = filled(LocationForm(instance=location, units=units), row)
    fine = take_errors(making, row, form, fields_alone=before is not None) and not row.problems
    if before is not None:
        making.is_there(SheetKind.LOCATIONS, row, differences(row, form.cleaned_data, before))
        return
    known.locations[surface.pk, label] = location if fine else BROKEN
    if fine:
        making.add(SheetKind.LOCATIONS, row, location)
