"""The forms of people, filled in from bodies: what holds for a page holds for a program."""

from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from api.calc.problems import Wrong, pointer_of
from api.forms.bodies import CleaningIn, InspectionIn, RoundIn, SiteIn, SurfaceIn, TestIn
from api.forms.filling import Filled, filled
from api.presentation.observations import RING_ENTRIES
from core.calc.paving import TestMethod
from maintenance.forms.cleanings import CleaningForm
from maintenance.models import CleaningEvent
from qa.calc.field_tests import FIELD_TESTS, Measures
from qa.calc.inspections import Answer, items_for
from qa.forms.field_tests import FieldTestForm, form_for, run_name
from qa.forms.inspections import InspectionForm
from qa.forms.rounds import KEEP, RoundForm, TestForm, offer_to_keep
from qa.forms.sites import SiteForm
from qa.forms.surfaces import SurfaceForm
from qa.models import InfiltrationTest, Inspection, Site, Surface, TestRound

KEEP_LABEL = gettext_noop("Store it as it is")
NOT_READ = gettext_noop("%(method)s has no reading “%(name)s”. It has: %(known)s.")
NO_RUNS = gettext_noop("%(method)s has no runs, or none that are so many. Leave them out.")
NOT_ASKED = gettext_noop("%(method)s does not ask for it. Leave it out.")
NOT_THERE = gettext_noop("Surfaces of this kind have no such item. They have: %(known)s.")
TWICE = gettext_noop("There are two findings of this item. Say it in one.")
NO_RAIN = gettext_noop("The firm has no rain record yet. Leave it out, or add one on its page first.")
OTHER_MONEY = gettext_noop("The firm keeps its sums in %(currency)s. Give the price in it.")


def site_form(body: SiteIn, site: Site) -> tuple[SiteForm, Filled]:
    """The form of a site, bound."""
    made = filled(dict(body))
    return SiteForm(made.data, instance=site), made


def surface_form(body: SurfaceIn, surface: Surface) -> tuple[SurfaceForm, Filled]:
    """The form of a surface, bound."""
    made = filled({name: value for name, value in body if name != "site"})
    return SurfaceForm(made.data, instance=surface), made


def round_form(body: RoundIn, round_: TestRound) -> tuple[RoundForm, Filled]:
    """The form of a round, bound. Asked to keep it, it is kept whatever its weather."""
    made = filled({name: value for name, value in body if name not in ("surface", KEEP)})
    made.put(KEEP, body.keep_anyway)
    return RoundForm(made.data, instance=round_), made


def cleaning_form(body: CleaningIn, event: CleaningEvent) -> tuple[CleaningForm, Filled]:
    """The form of a cleaning, bound."""
    made = filled({name: value for name, value in body if name not in ("surface", "price")})
    made.put("cost", body.price.amount if body.price else None, "price", "amount")
    return CleaningForm(made.data, instance=event), made


def test_form(body: TestIn, test: InfiltrationTest) -> tuple[TestForm | FieldTestForm, Filled]:
    """The form of a test by its method, bound."""
    left = ("round", "method", "readings", "runs", KEEP)
    made = filled({name: value for name, value in body if name not in left})
    for name, value in body.readings.items():
        made.put(name, value, "readings", name)
    for number, run in enumerate(body.runs, start=1):
        for name, value in run.items():
            made.put(f"run{number}_{name}", value, "runs", number - 1, name)
    made.put(KEEP, body.keep_anyway)
    form = form_for(test, made.data, {})
    offer_to_keep(form, _(KEEP_LABEL))
    for name in form.fields.keys() & (set(RING_ENTRIES) | _once(body.method)):
        made.places.setdefault(name, ("readings", name))
    return form, made


test_form.__test__ = False  # type: ignore[attr-defined]


def inspection_form(body: InspectionIn, inspection: Inspection) -> tuple[InspectionForm, Filled]:
    """The form of an inspection with its findings and its well, bound."""
    made = filled({name: getattr(body, name) for name in InspectionForm.Meta.fields})
    made.put("everything", body.all_in_order, "all_in_order")
    for item, answer in body.answers.items():
        made.put(f"{item.value}-answer", answer.value, "answers", item.value)
    for number, finding in enumerate(body.findings):
        made.put(f"{finding.item.value}-answer", Answer.WRONG.value, "findings", number)
        for name, value in finding:
            if name != "item":
                made.put(f"{finding.item.value}-{name}", value, "findings", number, name)
    for number, level in enumerate(body.well):
        made.put(f"well-{number}-hours", level.hours, "well", number, "hours")
        made.put(f"well-{number}-water_mm", level.water_mm, "well", number, "water_mm")
    form = InspectionForm(made.data, instance=inspection)
    made.places |= {name: ("answers",) for name in form.fields if name.startswith("all_")}
    return form, made


# ---- what a form cannot say, since it would pass over what it does not ask ---------------------------------


def _once(method: TestMethod) -> set[str]:
    if method is TestMethod.RING:
        return set(RING_ENTRIES)
    return {entry.key for entry in FIELD_TESTS[method].fixed if entry.measures is not Measures.LOOKED_UP}


def odd_in_test(body: TestIn, form: TestForm | FieldTestForm) -> list[Wrong]:
    """Readings that the method does not have, and entries that its form does not ask."""
    return [*_odd_readings(body), *_odd_runs(body, form), *_not_asked(body, form)]


def _odd_readings(body: TestIn) -> Iterator[Wrong]:
    known = _once(body.method)
    for name, value in body.readings.items():
        if name not in known:
            params = {"method": body.method.label, "name": name[:40], "known": ", ".join(sorted(known))}
            yield Wrong(_(NOT_READ) % params, pointer_of(("readings", name)), value=value)


def _odd_runs(body: TestIn, form: TestForm | FieldTestForm) -> Iterator[Wrong]:
    repeated = () if body.method is TestMethod.RING else FIELD_TESTS[body.method].repeated
    for number, run in enumerate(body.runs, start=1):
        if not repeated or run_name(number, repeated[0]) not in form.fields:
            yield Wrong(_(NO_RUNS) % {"method": body.method.label}, pointer_of(("runs", number - 1)))
            continue
        known = {entry.key for entry in repeated}
        for name in run.keys() - known:
            params = {"method": body.method.label, "name": name[:40], "known": ", ".join(sorted(known))}
            yield Wrong(_(NOT_READ) % params, pointer_of(("runs", number - 1, name)))


def _not_asked(body: TestIn, form: TestForm | FieldTestForm) -> Iterator[Wrong]:
    plain = {
        name: TestIn.model_fields[name].default for name in ("ended", "seal", "ring_position", "leak_seen")
    }
    plain["rewetted"] = True
    for name, usual in plain.items():
        if name not in form.fields and getattr(body, name) != usual:
            said: Any = getattr(body, name)
            yield Wrong(_(NOT_ASKED) % {"method": body.method.label}, pointer_of((name,)), value=said)


def odd_in_inspection(body: InspectionIn, inspection: Inspection) -> list[Wrong]:
    """Items that the surface's checklist does not have, and those found twice."""
    known = set(items_for(inspection.surface.surface_type))
    named = ", ".join(sorted(known))
    found = [
        Wrong(_(NOT_THERE) % {"known": named}, pointer_of(("answers", item.value)), value=item.value)
        for item in body.answers.keys() - known
    ]
    seen = set()
    for number, finding in enumerate(body.findings):
        place = pointer_of(("findings", number, "item"))
        if finding.item not in known:
            found.append(Wrong(_(NOT_THERE) % {"known": named}, place, value=finding.item.value))
        elif finding.item in seen:
            found.append(Wrong(_(TWICE), place, value=finding.item.value))
        seen.add(finding.item)
    return found


def odd_in_site(body: SiteIn, form: SiteForm) -> list[Wrong]:
    """A rain record where the firm has none."""
    if body.rain_record is None or "rain_record" in form.fields:
        return []
    return [Wrong(_(NO_RAIN), pointer_of(("rain_record",)), value=str(body.rain_record))]


def odd_in_cleaning(body: CleaningIn, event: CleaningEvent) -> list[Wrong]:
    """A price in another currency than the firm's."""
    currency = event.surface.organisation.currency
    if body.price is None or body.price.currency == currency:
        return []
    place = pointer_of(("price", "currency"))
    return [Wrong(_(OTHER_MONEY) % {"currency": currency}, place, value=body.price.currency)]
