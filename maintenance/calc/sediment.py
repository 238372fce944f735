"""Find and stop the sediment first: when that comes before restoring, and what it is worth.

That sediment sources are to be found before a surface is cleaned again: City of Everett stormwater manual, permeable
pavement maintenance table (looked up). That it comes before restoring, and the days: our judgement, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from maintenance.calc.actions import Advice
from maintenance.calc.forecast_payload import SourceWorth
from maintenance.calc.needs import Needs
from maintenance.calc.text import day, money, share
from maintenance.calc.vocabulary import Action
from maintenance.calc.windows import Window

FAST = 0.90  # share of similar surfaces that lose their rate more slowly
BEFORE_RESTORING = timedelta(days=30)
AFTER_FINDING = timedelta(days=30)
RESTORES = (Action.REJOINT, Action.LOOK)
FIRST = "Find and stop the sediment before that: what is restored clogs again at the same pace."
WHERE_TO_LOOK = (
    "Look for soil or planting draining on to it, leaves left to rot, grit, building work nearby, or a joint fill that "
    "was too fine."
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
        found = f"The inspection of {day(self.found_on)} found sediment on it." if self.found_on else ""
        began = f"A new source of sediment began on {day(self.started_on)}." if self.started_on else ""
        soil = "Bare soil or planting drains onto it." if self.bare_soil and not self.stopped_on else ""
        water = (
            "Other ground drains onto it." if self.run_on and not (self.bare_soil or self.stopped_on) else ""
        )
        fast = ""
        if self.faster_than is not None and self.is_fast:
            fast = f"It clogs faster than {share(self.faster_than)} of similar surfaces. {WHERE_TO_LOOK}"
        return found, began, soil, water, fast


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
        return (
            "Compared over twenty years with care that leaves the source as it is, stopping it saves nothing.",
        )
    saved = money(needs.source_saves, needs.currency)
    return (
        f"Compared over twenty years with care that leaves the source as it is, stopping it saves about {saved}: "
        "it may cost so much.",
    )


def _wanted_by(signs: SedimentSigns, restoring: Advice) -> date:
    """A month before restoring, or a month after sediment was found where that is sooner."""
    before = restoring.window.due - BEFORE_RESTORING
    return min(before, signs.found_on + AFTER_FINDING) if signs.found_on else before


def worth_sentence(worth: SourceWorth) -> str:
    """What stopping the source is expected to give, with and without, for `text.speak`."""
    before, after = (round(loss.median) for loss in (worth.loss_without, worth.loss_with))
    loses = f"With the source stopped it is expected to lose {after} % of its rate in the coming year, not {before} %"
    without, kept = worth.below_50_without, worth.below_50_with
    if without is None and kept is None:
        return f"{loses}; on either course it is not likely to reach its limit within ten years."
    if without == kept:
        return f"{loses}; it is at its limit all the same, so that it must be cleaned as well."
    if kept is None:
        return f"{loses}. It is then not likely to reach its limit within ten years; without, it is by {_day(without)}."
    if without is None:
        return f"{loses}; by {day(kept)} it is likely to reach its limit."
    return f"{loses}. It is then likely to reach its limit by {day(kept)}, not {day(without)}."


def _day(on: date | None) -> str:
    return day(on) if on else ""
