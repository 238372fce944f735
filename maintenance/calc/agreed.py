"""What an agreement asks for a year, in sentences for `text.speak`."""

from dataclasses import dataclass
from datetime import date

from core.calc.translation import gettext_noop
from maintenance.calc.text import day, number


@dataclass(frozen=True, slots=True)
class AgreedWork:
    """Sentences about one kind of work: once a year, and more or less often; done before, and never yet."""

    once: str
    often: str
    first_once: str
    first_often: str

    def asked(self, per_year: float, last: date | None) -> str:
        """What is asked for. last: when it was done; None where none is recorded."""
        if last is None:
            said = self.first_once if per_year == 1 else self.first_often
            return said.format(number1=number(f"{per_year:g}"))
        said = self.once if per_year == 1 else self.often
        return said.format(number1=number(f"{per_year:g}"), day1=day(last))


TEST_ROUNDS = AgreedWork(
    gettext_noop("The agreement asks for 1 test round a year; the last was on {day1}."),
    gettext_noop("The agreement asks for {number1} test rounds a year; the last was on {day1}."),
    gettext_noop("The agreement asks for 1 test round a year; none is recorded yet."),
    gettext_noop("The agreement asks for {number1} test rounds a year; none is recorded yet."),
)
CLEANINGS = AgreedWork(
    gettext_noop("The agreement asks for 1 cleaning a year; the last was on {day1}."),
    gettext_noop("The agreement asks for {number1} cleanings a year; the last was on {day1}."),
    gettext_noop("The agreement asks for 1 cleaning a year; none is recorded yet."),
    gettext_noop("The agreement asks for {number1} cleanings a year; none is recorded yet."),
)
