"""The invented gauge of the invented town, and the hours that crews told of their cleanings."""

from datetime import date, timedelta
from random import Random

from accounts.models import Organisation
from demo.calc.weather import invented_rain
from planning.models import VisitTask
from planning.selectors.outputs import minutes_of
from planning.services import day_end
from planning.services.crews import outputs_now
from planning.services.day_end import Told
from qa.models import RainRecord, TestRound
from qa.services import rain_records

YEARS_BACK = 2


def gauge(firm: Organisation, today: date, seed: int) -> RainRecord:
    """A rain record of the last years that serves every site of the firm."""
    record = RainRecord(
        organisation=firm,
        name="Harbour gauge",
        place="Harbour Steps, Ossenfell",
        source="Invented figures of an invented gauge",
    )
    rain_records.save_rain_record(record=record)
    first = today - timedelta(days=365 * YEARS_BACK)
    rounds = TestRound.objects.of_organisation(firm).active().filter(tested_on__gt=first)
    told = list(rounds.order_by("-tested_on").values_list("tested_on", "hours_since_rain"))
    dry = [(on, hours) for on, hours in told if hours is not None]
    table = invented_rain(first, today, dry, seed)
    rain_records.add_table(record=record, table=table)
    firm.sites.update(rain_record=record)
    return record


def tell_hours(firm: Organisation, seed: int) -> int:
    """Hours of work for past cleanings, about a fifth more than planned. Returns of how many."""
    chance, outputs = Random(seed), outputs_now(firm)
    tasks = VisitTask.objects.of_organisation(firm).filter(cleaning__isnull=False, ended_at__isnull=False)
    rows = list(
        tasks.select_related("visit__crew", "surface__site").order_by("visit__visit_on", "surface__name")
    )
    for task, planned in zip(rows, minutes_of(rows, outputs).values(), strict=True):
        if planned:
            told = Told(task, None, taken_min=round(planned * chance.uniform(0.95, 1.5)))
            day_end.tell_day(visit=task.visit, told=[told])
    return len(rows)
