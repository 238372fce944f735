"""The handover record as text for its page and its paper."""

from collections.abc import Collection, Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from core.calc.format import fixed, format_size, percent, size_number
from core.calc.marks import marked
from core.calc.units import UnitSystem
from qa.calc.sieves import stone_size_text
from qa.calc.standards import ring_name
from reporting.calc.handing_over import TrainingPart
from reporting.calc.handover import HandoverAcceptance, HandoverSnapshot, RoundPart, SieveLine
from reporting.calc.parts import LayerPart
from reporting.calc.values import BoundedRate
from reporting.presentation.pdf import Paper
from reporting.presentation.pictures import section_of
from reporting.presentation.sources import unverified_words
from reporting.presentation.words import rate_words, worded

NO_RATE_ASKED = gettext_noop("No acceptance rate was agreed and no rule that was chosen gives one.")


def handover_words(snapshot: HandoverSnapshot, units: str) -> dict[str, Any]:
    """What the record says, in the reader's units, as its page and its paper take it."""
    limit = snapshot.limit
    words: dict[str, Any] = worded(snapshot, units)
    return words | {
        "units": units,
        "layers": [_layer(layer, units) for layer in snapshot.build_up.layers],
        "drawing_words": layers_in_words(snapshot.build_up.layers, units),
        "limit": worded(limit.reason or BoundedRate(limit.rate_mm_h), units),
        "limit_source": limit.source,
        **unverified_words(snapshot),
        "acceptance": _acceptance(words["acceptance"], snapshot.acceptance, units),
        "trainings": [
            said | {"said": _trained(training)}
            for said, training in zip(words["trainings"], snapshot.trainings, strict=True)
        ],
        "gradings": [
            said | {"lines": [_sieve(line) for line in grading.lines]}
            for said, grading in zip(words["gradings"], snapshot.gradings, strict=True)
        ],
    }


def handover_paper(
    snapshot: HandoverSnapshot, words: Mapping[str, Any], photos: Mapping[str, bytes]
) -> Paper:
    """The record as a paper, in the units of its words. photos: small pictures by key, those that may be shown."""
    drawing = section_of(snapshot.build_up, words["units"], snapshot.key, for_paper=True)
    data = dict(words) | {
        "made": [snapshot.made_on.year, snapshot.made_on.month, snapshot.made_on.day],
        "pictures": sorted(photos),
        "ring_standard": _ring(snapshot),
        "has_drawing": bool(drawing.svg),
        "drawing_problem": drawing.problem,
    }
    drawings = {"section": drawing.svg} if drawing.svg else {}
    return Paper("handover.typ", data, drawings, photos)


def _ring(snapshot: HandoverSnapshot) -> str:
    """The standard of the ring test; of a record kept before it was part of it, by name alone."""
    ring = snapshot.acceptance.ring
    return ring.source if ring else ring_name(snapshot.build_up.surface_type)


def _acceptance(words: dict[str, Any], acceptance: HandoverAcceptance, units: str) -> dict[str, Any]:
    rounds = [
        said | {name: _said_by(round_, rate, units) for name, rate in _rates_of(round_)}
        for said, round_ in zip(words["rounds"], acceptance.rounds, strict=True)
    ]
    return words | _asked(acceptance, units) | {"rounds": rounds}


def _rates_of(round_: RoundPart) -> tuple[tuple[str, BoundedRate | None], ...]:
    return ("mean", round_.mean), ("lowest", round_.lowest)


def _said_by(round_: RoundPart, rate: BoundedRate | None, units: str) -> str:
    """A rate of a round, with the method's name where it is not the ring that an acceptance rate is asked of."""
    if rate is None:
        return _("none")
    said = rate_words(rate, units)
    return _("{rate} by {method}").format(rate=said, method=round_.by_method) if round_.by_method else said


def _trained(training: TrainingPart) -> str:
    """How many people were trained, by whom, as what leads to the topics."""
    people = ngettext("{count} person", "{count} people", training.count).format(count=training.count)
    if training.by:
        return _("{people}, by {person}. Covered:").format(people=people, person=training.by)
    return _("{people}. Covered:").format(people=people)


def _asked(acceptance: HandoverAcceptance, units: str) -> dict[str, str]:
    asked = acceptance.asked
    if asked is None or asked.reason is None:
        return {"asked": _(NO_RATE_ASKED), "source": ""}
    return {"asked": asked.reason.in_units(units), "source": asked.citation}


def _layer(layer: LayerPart, units: str) -> dict[str, str]:
    low, high = layer.stone_min_mm, layer.stone_max_mm
    system = UnitSystem(units)
    stone = stone_size_text(high, system) if high else ""
    if high and low:
        stone = _("{low} to {high}").format(low=_smaller(low, system), high=stone)
    return {
        "kind": layer.kind.label,
        "material": layer.material,
        "thickness": format_size(layer.thickness_mm, units) if layer.thickness_mm else "",
        "stone": stone,
        "voids": percent(layer.porosity) if layer.porosity else "",
    }


def _smaller(size_mm: float, system: UnitSystem) -> str:
    """The smaller of two sizes: in mm without the unit, which follows after the larger; in the US by its sieve."""
    return size_number(size_mm, system) if system is UnitSystem.SI else stone_size_text(size_mm, system)


def layers_in_words(layers: Collection[LayerPart], units: str) -> str:
    """What the drawing shows, for who cannot see it."""
    parts = []
    for layer in layers:
        thickness = f" {format_size(layer.thickness_mm, units)}" if layer.thickness_mm else ""
        parts.append(f"{layer.kind.in_sentence}{thickness}")
    return _("Cross-section from the top down: {layers}.").format(layers=", ".join(parts))


def _sieve(line: SieveLine) -> dict[str, str]:
    low, high = line.low_percent, line.high_percent
    return {
        "sieve": line.sieve,
        "passing": "–" if line.passing_percent is None else f"{fixed(line.passing_percent, 1)} %",
        "band": "–" if low is None or high is None else _band(low, high),
        "state": line.state,
        "outside": _("outside") if line.state == "out" else "",
    }


def _band(low: float, high: float) -> str:
    return _("{low} to {high} %").format(low=marked(f"{low:g}"), high=marked(f"{high:g}"))
