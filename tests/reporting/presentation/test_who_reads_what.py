"""What each audience is given, in the plain data, on the page and on paper: every planted text, where and for whom."""

import json
from datetime import timedelta

import pytest
from django.template.loader import render_to_string
from django.utils.timezone import now

from accounts.calc.audience import Audience
from core.calc.payload import to_payload
from reporting.presentation.pages import handover_page, report_page, start_page, surface_page
from reporting.selectors.handovers import handover_snapshot
from reporting.selectors.sites import report_snapshot, site_snapshot, start_snapshot
from reporting.selectors.surfaces import surface_snapshot
from tests.clock import TODAY
from tests.pages import as_shown
from tests.reporting.papers import paper_of, words_of
from tests.reporting.planted import HANDOVER, MARKS, REPORT, SITE, START, SURFACE, plant

SINCE = TODAY - timedelta(days=365)
TEMPLATES = {
    SURFACE: "reporting/surface_detail.html",
    SITE: "reporting/site_detail.html",
    REPORT: "reporting/_report.html",
    START: "reporting/owner_start.html",
    HANDOVER: "reporting/_handover.html",
}
PAGES = {
    SURFACE: surface_page,
    REPORT: report_page,
    HANDOVER: handover_page,
    START: lambda snapshot, units: start_page(snapshot),
}


def snapshot_of(document, firm, audience):
    surface, site = firm.surface, firm.site
    return {
        SURFACE: lambda: surface_snapshot(surface, audience),
        SITE: lambda: site_snapshot(site, audience),
        REPORT: lambda: report_snapshot(site, audience, since=SINCE),
        START: lambda: start_snapshot(firm.owner_person, now(), audience),
        HANDOVER: lambda: handover_snapshot(surface, audience),
    }[document]()


def page_of(document, firm, snapshot):
    """The page as its view has it rendered: besides the data, the row that its trail leads to."""
    page = PAGES.get(document)
    context = page(snapshot, "si") if page else {"page": snapshot}
    trails = {"site": firm.site, "owner": firm.site.owner}
    return as_shown(render_to_string(TEMPLATES[document], context | {"units": "si"} | trails))


def expected(document, audience):
    return {mark.text for mark in MARKS if audience in mark.where.get(document, ())}


@pytest.mark.parametrize("document", TEMPLATES)
def test_a_snapshot_and_its_page_hold_what_each_audience_may_read_and_nothing_else(firm, document):
    plant(firm)
    asked = {audience: expected(document, audience) for audience in Audience}

    snapshots = {audience: snapshot_of(document, firm, audience) for audience in Audience}

    stored = {audience: payload_text(snapshot) for audience, snapshot in snapshots.items()}
    pages = {audience: page_of(document, firm, snapshot) for audience, snapshot in snapshots.items()}
    assert {a: {m.text for m in MARKS if (m.stored or m.text) in text} for a, text in stored.items()} == asked
    assert {a: {m.text for m in MARKS if m.text in text} for a, text in pages.items()} == asked


def test_the_paper_holds_what_each_audience_may_read_and_nothing_else(firm, tmp_path):
    surface = plant(firm)

    texts = {a: words_of(paper_of(surface, audience=a), tmp_path) for a in Audience}

    found = {a: {m.text for m in MARKS if unbroken(m.text) in unbroken(text)} for a, text in texts.items()}
    assert found == {audience: expected(HANDOVER, audience) for audience in Audience}


def payload_text(snapshot):
    return json.dumps(to_payload(snapshot), ensure_ascii=False)


def unbroken(text):
    """Without the ends of lines, which fall anywhere."""
    return "".join(text.split())


def test_every_planted_text_is_read_by_somebody_or_meant_for_nobody():
    read = {text for document in TEMPLATES for audience in Audience for text in expected(document, audience)}

    assert {mark.text for mark in MARKS} - read == {mark.text for mark in MARKS if not mark.where}
