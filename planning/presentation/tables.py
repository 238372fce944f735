"""Lists of visits."""

from typing import Any

import django_tables2 as tables

from core.calc.format import NOTHING, day
from core.calc.jobs import JobState


class VisitTable(tables.Table):
    """Visits in the order they come in. Expects tasks prefetched with their surfaces and sites."""

    visit_on = tables.Column("On", linkify=lambda record: record.get_absolute_url())
    crew = tables.Column()
    where = tables.Column("Where", empty_values=(), orderable=False)
    tasks = tables.Column("Done", empty_values=(), orderable=False)
    status = tables.Column()

    class Meta:
        fields = ("visit_on", "crew", "where", "tasks", "status")
        empty_text = "No visits yet. Take on a recommendation from the first page, or plan a visit by hand."

    def render_visit_on(self, value: Any) -> str:
        return day(value)

    def render_where(self, record: Any) -> str:
        return ", ".join(sorted({task.surface.site.name for task in record.tasks.all()})) or NOTHING

    def render_tasks(self, record: Any) -> str:
        tasks = record.tasks.all()
        return f"{sum(task.is_done for task in tasks)} of {len(tasks)}" if tasks else "nothing planned"


class WorkPlanTable(tables.Table):
    """Plans of work, the newest first."""

    first_on = tables.Column("From", linkify=lambda record: record.get_absolute_url())
    days = tables.Column("Days")
    state = tables.Column("State")
    made_by = tables.Column("Asked for by", orderable=False)
    created_at = tables.Column("On")

    class Meta:
        fields = ("first_on", "days", "state", "made_by", "created_at")
        order_by = ("-created_at",)
        empty_text = "No plan yet. Make one to see which crew could do what on which day."

    def render_first_on(self, value: Any) -> str:
        return day(value)

    def render_created_at(self, value: Any) -> str:
        return day(value.date())

    def render_state(self, record: Any) -> str:
        return "a proposal" if record.state == JobState.DONE else JobState(record.state).label
