"""Lists of visits."""

from typing import Any

import django_tables2 as tables
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import pgettext_lazy

from core.calc.format import NOTHING, day
from core.calc.jobs import JobState


class VisitTable(tables.Table):
    """Visits in the order they come in. Expects tasks prefetched with their surfaces and sites."""

    visit_on = tables.Column(pgettext_lazy("a day", "On"), linkify=lambda record: record.get_absolute_url())
    crew = tables.Column(_lazy("Crew"))
    where = tables.Column(_lazy("Where"), empty_values=(), orderable=False)
    tasks = tables.Column(_lazy("Done"), empty_values=(), orderable=False)
    status = tables.Column(_lazy("Status"))

    class Meta:
        fields = ("visit_on", "crew", "where", "tasks", "status")
        empty_text = _lazy(
            "No visits yet. Take on a recommendation from the first page, or plan a visit by hand."
        )

    def render_visit_on(self, value: Any) -> str:
        return day(value)

    def render_where(self, record: Any) -> str:
        return ", ".join(sorted({task.surface.site.name for task in record.tasks.all()})) or NOTHING

    def render_tasks(self, record: Any) -> str:
        tasks = record.tasks.all()
        if not tasks:
            return _("nothing planned")
        return _("{count} of {total}").format(count=sum(task.is_done for task in tasks), total=len(tasks))


class WorkPlanTable(tables.Table):
    """Plans of work, the newest first."""

    first_on = tables.Column(
        pgettext_lazy("first day", "From"), linkify=lambda record: record.get_absolute_url()
    )
    days = tables.Column(_lazy("Days"))
    state = tables.Column(_lazy("State"))
    made_by = tables.Column(_lazy("Asked for by"), orderable=False)
    created_at = tables.Column(pgettext_lazy("a day", "On"))

    class Meta:
        fields = ("first_on", "days", "state", "made_by", "created_at")
        order_by = ("-created_at",)
        empty_text = _lazy("No plan yet. Make one to see which crew could do what on which day.")

    def render_first_on(self, value: Any) -> str:
        return day(value)

    def render_created_at(self, value: Any) -> str:
        return day(value.date())

    def render_state(self, record: Any) -> str:
        return _("a proposal") if record.state == JobState.DONE else JobState(record.state).label
