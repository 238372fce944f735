"""Lists of visits."""

from typing import Any

import django_tables2 as tables

from core.calc.format import NOTHING, day


class VisitTable(tables.Table):
    """Visits, the next first. Expects tasks prefetched with their surfaces and sites."""

    visit_on = tables.Column("On", linkify=lambda record: record.get_absolute_url())
    crew = tables.Column()
    where = tables.Column("Where", empty_values=(), orderable=False)
    tasks = tables.Column("Done", empty_values=(), orderable=False)
    status = tables.Column()

    class Meta:
        fields = ("visit_on", "crew", "where", "tasks", "status")
        order_by = ("-visit_on",)
        empty_text = "No visits yet. Take on a recommendation from the first page, or plan a visit by hand."

    def render_visit_on(self, value: Any) -> str:
        return day(value)

    def render_where(self, record: Any) -> str:
        return ", ".join(sorted({task.surface.site.name for task in record.tasks.all()})) or NOTHING

    def render_tasks(self, record: Any) -> str:
        tasks = record.tasks.all()
        return f"{sum(task.is_done for task in tasks)} of {len(tasks)}" if tasks else "nothing planned"
