"""Find and stop the sediment first: when that comes before restoring, and what it is worth.

That sediment sources are to be found before a surface is cleaned again: City of Everett stormwater manual, permeable
pavement maintenance table (looked up). That it comes before restoring, and the days: our judgement, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from core.calc.translation import gettext_noop
from maintenance.calc.actions import Advice
from maintenance.calc.forecast_payload import SourceWorth
from maintenance.calc.needs import Needs
from maintenance.calc.text import day, money, number, share
from maintenance.calc.vocabulary import Action
from maintenance.calc.windows import Window

FAST = 0.90  # share of similar surfaces that lose their rate more slowly
BEFORE_RESTORING = timedelta(days=30)
AFTER_FINDING = timedelta(days=30)
RESTORES = (Action.REJOINT, Action.LOOK)
FIRST = gettext_noop("Find and stop the sediment before that: what is restored clogs again at the same pace.")
WHERE_TO_LOOK = gettext_noop(
    "Look for soil or planting draining on to it, leaves left to rot, grit, building work nearby, or a joint fill that "
    "was too fine."
)
FASTER_THAN_LIKE = gettext_noop(
    "It clogs faster than {share1} of similar surfaces. Look for soil or planting draining on to it, leaves left to "
    "rot, grit, building work nearby, or a joint fill that was too fine."
)
SAVES_NOTHING = gettext_noop(
    "Compared over twenty years with care that leaves the source as it is, stopping it saves nothing."
)
SAVES = gettext_noop(
    "Compared over twenty years with care that leaves the source as it is, stopping it saves about {money1}: it may "
    "cost so much."
)
FAR_ON_EITHER = gettext_noop(
    "With the source stopped it is expected to lose {number1} % of its rate in the coming year, not {number2} %; on "
    "either course it is not likely to reach its limit within ten years."
)
AT_LIMIT_ANYHOW = gettext_noop(
    "With the source stopped it is expected to lose {number1} % of its rate in the coming year, not {number2} %; it is "
    "at its limit all the same, so that it must be cleaned as well."
)
FAR_IF_STOPPED = gettext_noop(
    "With the source stopped it is expected to lose {number1} % of its rate in the coming year, not {number2} %. It is "
    "then not likely to reach its limit within ten years; without, it is by {day1}."
)
NEAR_IF_STOPPED = gettext_noop(
    "With the source stopped it is expected to lose {number1} % of its rate in the coming year, not {number2} %; by "
    "{day1} it is likely to reach its limit."
)
LATER_IF_STOPPED = gettext_noop(
    "With the source stopped it is expected to lose {number1} % of its rate in the coming year, not {number2} %. It is "
    "then likely to reach its limit by {day1}, not {day2}."
)


@dataclass(frozen=True, slots=True)
class SedimentSigns:
    """What says that fines keep coming. Days are calendar dates at the site.

    bare_soil, run_on: recorded conditions. found_on: the inspection that found sediment about which nothing was done.
    faster_than: share of similar surfaces without the recorded conditions that decline more slowly, None before a test.
    stopped_on, started_on: the latest change of source, whichever of the two it was; after a stop the conditions of
    before say nothing.
    """

    bare_soil: bool = False
    run_on: bool = False
    found_on: date | None = None
    faster_than: float | None = None
    stopped_on: date | None = None
    started_on: date | None = None

    @property
    def is_fast(self) -> bool:
        """Whether it declines faster than nearly all of its like."""
        return self.faster_than is not None and self.faster_than > FAST

    @property
    def reasons(self) -> tuple[str, ...]:
        """Sentences for `text.speak`, the surest sign first; empty where nothing says so."""
        return tuple(text for text in self._said() if text)

    def _said(self) -> tuple[str, ...]:
        found = began = fast = ""
        if self.found_on:
            found = gettext_noop("The inspection of {day1} found sediment on it.").format(
                day1=day(self.found_on)
            )
        if self.started_on:
            began = gettext_noop("A new source of sediment began on {day1}.").format(
                day1=day(self.started_on)
            )
        if self.faster_than is not None and self.is_fast:
            fast = FASTER_THAN_LIKE.format(share1=share(self.faster_than))
        return found, began, self._condition(), fast

    def _condition(self) -> str:
        """The recorded condition that counts, until a source was stopped."""
        if self.stopped_on:
            return ""
        if self.bare_soil:
            return gettext_noop("Bare soil or planting drains onto it.")
        return gettext_noop("Other ground drains onto it.") if self.run_on else ""


def with_source_first(
    pieces: Sequence[Advice],
    signs: SedimentSigns,
    worth: SourceWorth | None,
    today: date,
    needs: Needs | None = None,
) -> list[Advice]:
    """The advice with finding the sediment put before restoring, or on its own where it presses by itself.

    That is where a surface clogs fast, an inspection found sediment, or a new source began. A test on which a
    restoration hangs counts as one. Nothing is added without a sign. needs: what stopping it saves.
    """
    restoring = next((piece for piece in pieces if piece.restores or piece.action in RESTORES), None)
    pressing = signs.is_fast or signs.found_on is not None or signs.started_on is not None
    if not signs.reasons or (restoring is None and not pressing):
        return list(pieces)
    due = max(today, _wanted_by(signs, restoring)) if restoring else today
    said = (*signs.reasons, *([worth_sentence(worth)] if worth else []), *_saved(needs))
    first = Advice(Action.SOURCE, Window(today, due), said)
    rest = [replace(p, reasons=(*p.reasons, FIRST)) if p.action in RESTORES else p for p in pieces]
    return sorted([first, *rest], key=lambda piece: piece.window.due)


def _saved(needs: Needs | None) -> tuple[str, ...]:
    """The most that stopping the sediment may cost."""
    if needs is None or needs.source_saves is None:
        return ()
    if needs.source_saves <= 0:
        return (SAVES_NOTHING,)
    return (SAVES.format(money1=money(needs.source_saves, needs.currency)),)


def _wanted_by(signs: SedimentSigns, restoring: Advice) -> date:
    """A month before restoring, or a month after sediment was found where that is sooner."""
    before = restoring.window.due - BEFORE_RESTORING
    return min(before, signs.found_on + AFTER_FINDING) if signs.found_on else before


def worth_sentence(worth: SourceWorth) -> str:
    """What stopping the source is expected to give, with and without, for `text.speak`."""
    before, after = (number(round(loss.median)) for loss in (worth.loss_without, worth.loss_with))
    said, days = _courses(worth.below_50_without, worth.below_50_with)
    named = {f"day{place}": day(on) for place, on in enumerate(days, start=1)}
    return said.format(number1=after, number2=before, **named)


def _courses(without: date | None, kept: date | None) -> tuple[str, list[date]]:
    """What is said of the days on which the limit is reached with the source and without, and the days named in it."""
    if without == kept:
        return (FAR_ON_EITHER if kept is None else AT_LIMIT_ANYHOW), []
    if without is None or kept is None:
        return (FAR_IF_STOPPED if kept is None else NEAR_IF_STOPPED), [on for on in (without, kept) if on]
    return LATER_IF_STOPPED, [kept, without]
