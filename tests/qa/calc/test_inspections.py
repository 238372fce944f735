"""What is looked at on which surface."""

from datetime import date

import pytest

from core.calc.paving import SurfaceType
from qa.calc.inspections import (
    ITEMS,
    Answer,
    Checklist,
    InspectionItem,
    Severity,
    due_on,
    grouped_items,
    in_short,
    items_for,
)


@pytest.mark.parametrize("kind", list(SurfaceType))
def test_every_kind_is_asked_for_water_edges_dirt_and_winter_and_never_twice(kind):
    items = items_for(kind)

    always = {
        "ponding",
        "outlet",
        "edges",
        "settlement",
        "weeds",
        "staining",
        "sediment",
        "planting",
        "snow_salt",
    }
    assert always <= set(items)
    assert len(items) == len(set(items))
    assert [item for _, listed in grouped_items(kind) for item in listed] == list(items)


@pytest.mark.parametrize(
    ("kind", "has", "has_not"),
    [
        ("porous_asphalt", {"cracks", "ruts"}, {"joints", "cells", "units", "depth"}),
        ("pervious_concrete", {"cracks"}, {"joints", "units", "ruts"}),
        ("picp", {"joints", "units", "ruts"}, {"cracks", "cells"}),
        ("plastic_grid", {"cells", "units"}, {"joints", "cracks"}),
        ("gravel", {"depth", "ruts"}, {"joints", "units", "cracks"}),
    ],
)
def test_a_surface_is_not_asked_for_what_it_has_not(kind, has, has_not):
    items = set(items_for(kind))

    assert has <= items
    assert not has_not & items


def test_every_item_says_what_in_order_means_what_to_do_and_where_that_comes_from():
    assert set(ITEMS) == set(InspectionItem)
    assert all(facts.in_order and facts.advice and facts.source.citation for facts in ITEMS.values())


def test_what_is_urgent_is_due_before_what_is_minor():
    days = [
        due_on(severity, date(2026, 1, 1)) for severity in (Severity.URGENT, Severity.SOON, Severity.MINOR)
    ]

    assert days == sorted(set(days))


@pytest.mark.parametrize(
    ("unseen", "findings", "still_open", "said"),
    [
        (0, 0, 0, "all in order"),
        (1, 0, 0, "nothing wrong found; 1 not looked at"),
        (0, 1, 1, "1 finding, open"),
        (0, 1, 0, "1 finding, corrected"),
        (0, 3, 1, "3 findings, 1 open"),
        (2, 2, 2, "2 findings, open; 2 not looked at"),
    ],
)
def test_an_inspection_in_a_few_words(unseen, findings, still_open, said):
    items = list(InspectionItem)[:unseen]

    assert in_short(Checklist(dict.fromkeys(items, Answer.NOT_SEEN)), findings, still_open) == said


def test_a_checklist_is_read_back_as_it_was_written():
    checklist = Checklist({InspectionItem.PONDING: Answer.IN_ORDER, InspectionItem.EDGES: Answer.NOT_SEEN})

    assert Checklist.from_json(checklist.to_json()) == checklist


@pytest.mark.parametrize("item", InspectionItem)
def test_sizes_in_advice_are_told_in_both_systems(item):
    """Reports hold the advice as it is, whichever units their reader takes."""
    advice = ITEMS[item].advice

    assert advice.count(" mm") == advice.count(" in)")
