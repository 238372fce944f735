"""What is looked at on an inspection, by kind of surface, and what to do where something is wrong.

Sources stand beside each item. The days that a severity allows are a default of this tool, not a standard's.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import ClassVar

from core.calc.choices import TextChoice
from core.calc.format import counted
from core.calc.paving import SurfaceType
from core.calc.payload import Payload
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop, ngettext
from qa.calc.sources import Source, SourceStatus, guidance, looked_up

LOW_JOINT_MM = 13.0  # see InspectionItem.JOINTS


class ItemGroup(TextChoice):
    """Items that are looked at together."""

    WATER = "water", "Water"
    SURFACE = "surface", "The surface"
    DIRT = "dirt", "What clogs it"
    WINTER = "winter", "Snow and salt"
    WELL = "well", "Observation well"


class InspectionItem(TextChoice):
    """One thing to look at."""

    PONDING = "ponding", "Water standing after rain"
    OUTLET = "outlet", "Outlet and overflow"
    JOINTS = "joints", "Joint fill"
    CELLS = "cells", "Fill of the cells"
    DEPTH = "depth", "Depth of the gravel"
    EDGES = "edges", "Edges"
    SETTLEMENT = "settlement", "Settlement and trip edges"
    RUTS = "ruts", "Ruts"
    UNITS = "units", "Cracked or broken units"
    CRACKS = "cracks", "Cracks and loose stone"
    WEEDS = "weeds", "Weeds and moss"
    STAINING = "staining", "Staining"
    SEDIMENT = "sediment", "Sediment on it"
    PLANTING = "planting", "Planting and soil next to it"
    SNOW_SALT = "snow_salt", "Snow and salt practice"
    WELL = "well", "Drain-down of the well"


class Severity(TextChoice):
    """How pressing a finding is."""

    MINOR = "minor", "Minor"
    SOON = "soon", "Soon"
    URGENT = "urgent", "Urgent"

    @property
    def days(self) -> int:
        """Days in which it should be corrected: a default of this tool, no source."""
        return {Severity.MINOR: 90, Severity.SOON: 30, Severity.URGENT: 7}[self]

    @property
    def in_full(self) -> str:
        """The label with its days."""
        return _("{severity}: within {days} days").format(severity=self.label, days=self.days)


class Answer(TextChoice):
    """What was found at one item."""

    IN_ORDER = "in_order", "In order"
    WRONG = "wrong", "Something is wrong"
    NOT_SEEN = "not_seen", "Not looked at"


class FindingState(TextChoice):
    """What became of a finding."""

    OPEN = "open", "Open"
    DONE = "done", "Corrected"
    ASIDE = "aside", "Set aside"

    @property
    def is_open(self) -> bool:
        """Whether it is work."""
        return self is FindingState.OPEN

    @property
    def tag_class(self) -> str:
        """The class that colours its tag; the word says the same."""
        return {FindingState.OPEN: " tag--bad", FindingState.DONE: " tag--good"}.get(self, "")


@dataclass(frozen=True, slots=True)
class ItemFacts:
    """Where an item belongs, what in order means, what to do otherwise, and where that comes from.

    in_order_written, advice_written: in English. kinds: surfaces that have it; empty for all.
    """

    group: ItemGroup
    in_order_written: str
    advice_written: str
    source: Source
    kinds: frozenset[SurfaceType] = frozenset()

    @property
    def in_order(self) -> str:
        """What in order means, in the reader's language."""
        return _(self.in_order_written)

    @property
    def advice(self) -> str:
        """What to do otherwise, in the reader's language."""
        return _(self.advice_written)


_T = SurfaceType
_JOINTED = frozenset({_T.PICP, _T.CLAY, _T.RESIN_JOINT})
_GRIDS = frozenset({_T.CONCRETE_GRID, _T.PLASTIC_GRID})
_ONE_PIECE = frozenset({_T.PERVIOUS_CONCRETE, _T.POROUS_ASPHALT, _T.RESIN_BOUND})
_RUTTING = _JOINTED | _GRIDS | {_T.POROUS_ASPHALT, _T.GRAVEL}
_PRACTICE = Source(gettext_noop("Common practice"), SourceStatus.COMMON_PRACTICE)
_MINNESOTA = looked_up(
    gettext_noop("Minnesota Stormwater Manual, operation and maintenance of permeable pavement")
)
_ONTARIO = looked_up(gettext_noop("Ontario low impact development guide, permeable pavement maintenance"))
_EVERETT = looked_up(gettext_noop("City of Everett stormwater manual, permeable pavement maintenance table"))
_IOWA = looked_up(gettext_noop("Iowa urban conservation project form, maintenance clause"))
_LANDSCAPE = guidance(gettext_noop("UK local guide on sustainable drainage, detailed design"))

ITEMS: Mapping[InspectionItem, ItemFacts] = {
    InspectionItem.PONDING: ItemFacts(
        ItemGroup.WATER,
        gettext_noop("No water stands on it, and no rings of mud show where it stood."),
        gettext_noop("Test the rate where the water stood; clean by the result."),
        _IOWA,
    ),
    InspectionItem.OUTLET: ItemFacts(
        ItemGroup.WATER,
        gettext_noop("Outlet, overflow and flow restrictor are open; nothing is washed out."),
        gettext_noop("Clear and flush it. No entry to wells or catch basins without a permit."),
        _ONTARIO,
    ),
    InspectionItem.JOINTS: ItemFacts(
        ItemGroup.SURFACE,
        gettext_noop("Joints are full, without a crust."),
        gettext_noop(
            "Top up with the same gradation as specified where the fill has sunk more than 13 mm (1/2 in)."
        ),
        guidance(gettext_noop("Joint stone of permeable pavers, trade guidance: top up below 13 mm")),
        _JOINTED,
    ),
    InspectionItem.CELLS: ItemFacts(
        ItemGroup.SURFACE,
        gettext_noop("The cells are full."),
        gettext_noop("Fill the cells again with the same material; a wheel on an empty cell breaks it."),
        _PRACTICE,
        _GRIDS,
    ),
    InspectionItem.DEPTH: ItemFacts(
        ItemGroup.SURFACE,
        gettext_noop("The gravel is even and covers what lies below."),
        gettext_noop("Rake it, and top up with the same stone."),
        _PRACTICE,
        frozenset({_T.GRAVEL}),
    ),
    InspectionItem.EDGES: ItemFacts(
        ItemGroup.SURFACE,
        gettext_noop("Edge restraints stand firm; no gap opens beside them."),
        gettext_noop("Set the edge again before units or stone move."),
        _PRACTICE,
    ),
    InspectionItem.SETTLEMENT: ItemFacts(
        ItemGroup.SURFACE,
        gettext_noop("It lies even; nobody trips."),
        gettext_noop("Mark it off where people trip. Locate utilities, lift, make up the base, relay."),
        _PRACTICE,
    ),
    InspectionItem.RUTS: ItemFacts(
        ItemGroup.SURFACE,
        gettext_noop("No wheel tracks."),
        gettext_noop(
            "Ask what drives there; have the base looked at by a licensed engineer where they deepen."
        ),
        _PRACTICE,
        _RUTTING,
    ),
    InspectionItem.UNITS: ItemFacts(
        ItemGroup.SURFACE,
        gettext_noop("No unit is cracked, broken or loose."),
        gettext_noop("Replace it, and refill the joints around it."),
        _PRACTICE,
        _JOINTED | _GRIDS,
    ),
    InspectionItem.CRACKS: ItemFacts(
        ItemGroup.SURFACE,
        gettext_noop("No cracks, no loose stone, no sealed patch."),
        gettext_noop("Patch at most 10 % of the area with anything that lets no water through."),
        _MINNESOTA,
        _ONE_PIECE,
    ),
    InspectionItem.WEEDS: ItemFacts(
        ItemGroup.DIRT,
        gettext_noop("No weeds, no moss."),
        gettext_noop(
            "Pull them or brush moss off in dry weather; they say that fines lie there. No herbicide near water."
        ),
        _EVERETT,
    ),
    InspectionItem.STAINING: ItemFacts(
        ItemGroup.DIRT,
        gettext_noop("No oil, paint or mortar."),
        gettext_noop("Take it up and find where it comes from; what is taken up may be controlled waste."),
        _PRACTICE,
    ),
    InspectionItem.SEDIMENT: ItemFacts(
        ItemGroup.DIRT,
        gettext_noop("No soil, sand or mud lies on it."),
        gettext_noop("Find where it comes from and stop it before anything is restored; then sweep."),
        _EVERETT,
    ),
    InspectionItem.PLANTING: ItemFacts(
        ItemGroup.DIRT,
        gettext_noop("Soil lies below the edge and slopes away; no bare ground, no heap of mulch."),
        gettext_noop("Lower the soil to 50 mm (2 in) below the edge, slope it away, cover bare ground."),
        _LANDSCAPE,
    ),
    InspectionItem.SNOW_SALT: ItemFacts(
        ItemGroup.WINTER,
        gettext_noop("No sand is spread, no snow is piled on it, salt is spared."),
        gettext_noop(
            "Agree with whoever clears it: no sand, snow piled elsewhere, salt sparingly and away from wells."
        ),
        _ONTARIO,
    ),
    InspectionItem.WELL: ItemFacts(
        ItemGroup.WELL,
        gettext_noop("The stone is empty in the time allowed."),
        gettext_noop(
            "Look for a blocked outlet first; then have the ground below looked at by a licensed engineer."
        ),
        _MINNESOTA,
    ),
}


@dataclass(frozen=True, slots=True)
class Checklist(Payload):
    """How each item was answered, as it is kept: what was asked then stays known however the list grows."""

    SCHEMA: ClassVar[int] = 1

    answers: Mapping[InspectionItem, Answer] = field(default_factory=dict)

    def with_answer(self, answer: Answer) -> tuple[InspectionItem, ...]:
        """Items so answered, in the order of the list."""
        return tuple(item for item in InspectionItem if self.answers.get(item) is answer)


def items_for(surface_type: str) -> tuple[InspectionItem, ...]:
    """What is looked at on that kind of surface, without the well, which is read. Raises ValueError for no kind."""
    kind = SurfaceType(surface_type)
    return tuple(
        item for item in InspectionItem if _has(kind, ITEMS[item]) and item is not InspectionItem.WELL
    )


def _has(kind: SurfaceType, facts: ItemFacts) -> bool:
    return not facts.kinds or kind in facts.kinds


def grouped_items(surface_type: str) -> tuple[tuple[ItemGroup, tuple[InspectionItem, ...]], ...]:
    """The items of a kind of surface by their groups; groups without one are left out."""
    items = items_for(surface_type)
    listed = ((group, tuple(i for i in items if ITEMS[i].group is group)) for group in ItemGroup)
    return tuple((group, found) for group, found in listed if found)


def due_on(severity: Severity, found_on: date) -> date:
    """The day by which a finding should be corrected."""
    return found_on + timedelta(days=severity.days)


def in_short(checklist: Checklist, findings: int, open_findings: int) -> str:
    """How an inspection came out, in a few words."""
    unseen = checklist.with_answer(Answer.NOT_SEEN)
    # Translators: stands behind how an inspection came out.
    rest = _("; {count} not looked at").format(count=len(unseen)) if unseen else ""
    if not findings:
        return (_("all in order") if not unseen else _("nothing wrong found")) + rest
    return f"{counted(findings, 'finding')}, {_of_them_open(findings, open_findings)}{rest}"


def _of_them_open(findings: int, still_open: int) -> str:
    if not still_open:
        return _("corrected") if findings == 1 else _("all corrected")
    if findings == still_open:
        # Translators: said of all findings behind their number, "1 finding, open", "3 findings, open".
        return ngettext("open", "open", findings)
    return ngettext("{count} open", "{count} open", still_open).format(count=still_open)
