"""Which forms a phone may keep and send later: the one table that server and pages read."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from core.calc.translation import gettext_noop


@dataclass(frozen=True, slots=True)
class FieldForm:
    """A form that records.

    route: name of its route. records: what a row is called to people, in English. on: the model whose row the id of
    the route names. files_to: the route that takes photos of what it stored. parent: the form whose row it may hang on
    before the server has that row.
    """

    route: str
    records: str
    on: str
    files_to: str = ""
    parent: str = ""


_FORMS = (
    FieldForm("qa:round-create", gettext_noop("Test round"), "qa.Surface", files_to="qa:round-file-create"),
    FieldForm(
        "qa:test-create",
        gettext_noop("Test"),
        "qa.TestRound",
        files_to="qa:test-file-create",
        parent="qa:round-create",
    ),
    FieldForm("qa:inspection-create", gettext_noop("Inspection"), "qa.Surface"),
    FieldForm(
        "qa:finding-create",
        gettext_noop("Finding"),
        "qa.Inspection",
        files_to="qa:finding-file-create",
        parent="qa:inspection-create",
    ),
    FieldForm(
        "qa:remedy-create",
        gettext_noop("Correction of a finding"),
        "qa.InspectionFinding",
        files_to="qa:remedy-file-create",
        parent="qa:finding-create",
    ),
    FieldForm(
        "qa:check-record", gettext_noop("Check"), "qa.ConstructionCheck", files_to="qa:entry-file-create"
    ),
    FieldForm("qa:stage-record", gettext_noop("Checks of a layer"), "qa.ConstructionCheck"),
    FieldForm(
        "qa:entry-recheck",
        gettext_noop("Check after correction"),
        "qa.CheckEntry",
        files_to="qa:entry-file-create",
    ),
    FieldForm("qa:check-not-needed", gettext_noop("Check that does not apply"), "qa.ConstructionCheck"),
    FieldForm(
        "qa:work-create",
        gettext_noop("Corrective work"),
        "qa.CheckEntry",
        files_to="qa:work-file-create",
        parent="qa:check-record",
    ),
    FieldForm("qa:source-change-create", gettext_noop("Change of a sediment source"), "qa.Surface"),
    FieldForm("qa:soil-test-create", gettext_noop("Soil test"), "qa.Surface"),
    FieldForm("qa:sieving-create", gettext_noop("Sieve analysis"), "qa.Surface"),
    FieldForm(
        "maintenance:cleaning-create",
        gettext_noop("Cleaning"),
        "qa.Surface",
        files_to="maintenance:cleaning-file-create",
    ),
    FieldForm("planning:task-finish", gettext_noop("Task"), "planning.VisitTask"),
    FieldForm("planning:visit-tell", gettext_noop("How the day went"), "planning.Visit"),
    FieldForm("qa:surface-file-create", gettext_noop("Photos of a surface"), "qa.Surface"),
    FieldForm(
        "qa:round-file-create",
        gettext_noop("Photos of a test round"),
        "qa.TestRound",
        parent="qa:round-create",
    ),
    FieldForm(
        "qa:test-file-create",
        gettext_noop("Photos of a test"),
        "qa.InfiltrationTest",
        parent="qa:test-create",
    ),
    FieldForm(
        "qa:entry-file-create", gettext_noop("Photos of a check"), "qa.CheckEntry", parent="qa:check-record"
    ),
    FieldForm(
        "qa:work-file-create",
        gettext_noop("Photos of corrective work"),
        "qa.CorrectiveWork",
        parent="qa:work-create",
    ),
    FieldForm(
        "qa:finding-file-create",
        gettext_noop("Photos of a finding"),
        "qa.InspectionFinding",
        parent="qa:finding-create",
    ),
    FieldForm(
        "qa:remedy-file-create",
        gettext_noop("Photos of a correction"),
        "qa.Remedy",
        parent="qa:remedy-create",
    ),
    FieldForm(
        "maintenance:cleaning-file-create",
        gettext_noop("Photos of a cleaning"),
        "maintenance.CleaningEvent",
        parent="maintenance:cleaning-create",
    ),
)


def _by_route(forms: Iterable[FieldForm]) -> Mapping[str, FieldForm]:
    return MappingProxyType({form.route: form for form in forms})


FIELD_FORMS = _by_route(_FORMS)
