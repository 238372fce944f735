"""The page of a plan of work at a large firm: 3,000 pieces of work, 30 crews, 20 working days; ms of CPU and bytes.

Invented: 1,800 pieces have a place, the others none. Payload read, board made and page rendered, as the view does it,
but for the queries, whose number tests/planning/views hold; the median of several, beside the whole plan on one page.
"""

import os
from datetime import date, timedelta
from statistics import median
from time import process_time
from uuid import uuid4

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
django.setup()

from django.template.loader import render_to_string  # noqa: E402  # the settings come first

from accounts.models import Organisation  # noqa: E402  # the settings come first
from planning.calc.plan_payload import LeftOut, PlannedDay, PlannedStop, WorkPlanResult  # noqa: E402  # the settings come first
from planning.calc.routing.reasons import Why  # noqa: E402  # the settings come first
from planning.models import Crew, WorkPlan  # noqa: E402  # the settings come first
from planning.presentation import work_plans  # noqa: E402  # the settings come first

MONDAY = date(2026, 6, 1)
DAYS, CREWS, A_DAY, LEFT = 20, 30, 3, 1200


def firm() -> tuple[WorkPlan, list[Crew]]:
    """A plan that is stored, and the crews on it."""
    crews = [Crew(name=f"Crew {i:02}") for i in range(CREWS)]
    days = tuple(
        _day(crew, MONDAY + timedelta(days=7 * (i // 5) + i % 5)) for i in range(DAYS) for crew in crews
    )
    left = tuple(
        LeftOut(f"advice {uuid4()}", "Clean: vacuum sweeping", uuid4(), "Yard, Site", Why.TAKEN, 120, 300.0)
        for _ in range(LEFT)
    )
    plan = WorkPlan(organisation=Organisation(name="Firm", currency="EUR"), first_on=MONDAY, days=28)
    plan.result_json = WorkPlanResult(days, left, 9000, 9000.0).to_json()
    return plan, crews


def _day(crew: Crew, on: date) -> PlannedDay:
    stops = tuple(
        PlannedStop(f"advice {uuid4()}", "Clean: vacuum sweeping", uuid4(), "Yard, Site", at, at + 90, 300.0)
        for at in range(480, 480 + 120 * A_DAY, 120)
    )
    return PlannedDay(crew.pk, on, 450, 900, 480, 60, 40.0, 60.0, stops)


def page_ms(plan: WorkPlan, crews: list[Crew]) -> tuple[float, int]:
    """CPU milliseconds and bytes of one page, read anew."""
    plan.__dict__.pop("_result_json_read", None)
    begun = process_time()
    result = plan.result
    if result is None:
        raise ValueError("The plan cannot be read.")
    board = work_plans.board_of(plan, result, crews)
    page = render_to_string("planning/_board.html", {"plan": plan, "board": board, "csrf_token": "x"})
    return 1000 * (process_time() - begun), len(page.encode())


def main() -> None:
    plan, crews = firm()
    print(f"{DAYS * CREWS * A_DAY} pieces placed, {LEFT} left, {CREWS} crews, {DAYS} days")
    for name, crews_a_page, left_a_page in (
        ("a page as shown", work_plans.CREWS_A_PAGE, work_plans.LEFT_A_PAGE),
        ("all crews, all left", CREWS, LEFT),
    ):
        work_plans.CREWS_A_PAGE, work_plans.LEFT_A_PAGE = crews_a_page, left_a_page
        timed = [page_ms(plan, crews) for _ in range(5)]
        print(f"{name:<22}{median(ms for ms, _ in timed):8.0f} ms{timed[0][1] / 1024:9.0f} KB", flush=True)


if __name__ == "__main__":
    main()
