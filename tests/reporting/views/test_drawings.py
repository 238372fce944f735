"""The drawings of a report are fetched as a reader comes near them; what a page sends first stays light."""

import re
from dataclasses import replace
from datetime import timedelta
from html import unescape
from uuid import UUID
from xml.etree import ElementTree

import pytest
from django.urls import reverse

from accounts.calc.audience import Audience
from core.presentation.svg import size_of
from reporting.calc.snapshots import SnapshotKind
from reporting.models import LinkOpening, SharedLink, Snapshot
from reporting.presentation.drawing_files import standing_alone
from reporting.services import links
from tests.clock import TODAY
from tests.factories import LayerFactory
from tests.reporting.reports import golden_report

MOST_BYTES = 250_000
IMAGE = re.compile(r'<img\s+src="([^"]+)"\s+width="(\d+)"\s+height="(\d+)"\s+alt="([^"]+)"\s+loading="lazy"')


def keep(firm, report):
    """The report as a kept document of the firm."""
    return Snapshot.objects.create(
        organisation=firm.organisation,
        owner=firm.site.owner,
        kind=SnapshotKind.REPORT,
        audience=Audience.OWNER,
        site=firm.site,
        since=report.since,
        until=report.made_on,
        payload=report.to_json(),
        recorded_by=firm.coordinator,
    )


def of_many(count):
    """A report of surfaces that are all as full as the one of the golden report."""
    report = golden_report()
    full = report.surfaces[0]
    surfaces = (
        replace(full, standing=replace(full.standing, key=UUID(int=number), name=f"Yard {number}"))
        for number in range(1, count + 1)
    )
    return replace(report, surfaces=tuple(surfaces))


def images(html):
    return [
        (unescape(address), int(wide), int(high), words) for address, wide, high, words in IMAGE.findall(html)
    ]


def kinds(found):
    return {re.search(r"as=(\w+)", address)[1] for address, *_ in found}


@pytest.fixture
def document(firm):
    return keep(firm, of_many(1))


def link_to(firm, document, **changes):
    row = SharedLink(for_whom="x", ends_on=TODAY + timedelta(days=9), **changes)
    return links.share_document(link=row, document=document, by=firm.coordinator)


def test_a_report_of_twenty_full_surfaces_is_light_at_first(client, firm):
    document = keep(firm, of_many(20))
    client.force_login(firm.owner_person)

    page = client.get(reverse("reporting:kept-show", args=[document.pk])).content

    assert page.count(b"<img") >= 60, "each surface has its section, its plan and its curve"
    assert len(page) <= MOST_BYTES


def test_every_drawing_of_a_page_is_found_beside_it(client, firm, document):
    page = reverse("reporting:kept-show", args=[document.pk])
    client.force_login(firm.owner_person)

    found = images(client.get(page).content.decode())

    assert kinds(found) == {"section", "plan", "decline"}
    for address, wide, high, words in found:
        answer = client.get(page + address)
        drawing = answer.content.decode()
        assert answer.headers["Content-Type"] == "image/svg+xml"
        assert ElementTree.fromstring(drawing).tag == "{http://www.w3.org/2000/svg}svg"
        assert tuple(round(side) for side in size_of(drawing)) == (wide, high), "a page keeps its place free"
        assert len(words) > 20, "who cannot see it is told what it shows"


def test_the_report_of_today_names_the_drawings_of_its_surfaces(client, firm):
    LayerFactory(surface=firm.surface, kind="base", thickness_mm=300)
    page = reverse("reporting:report-site", args=[firm.site.pk])
    client.force_login(firm.owner_person)

    (found,) = images(client.get(page).content.decode())

    assert f"of={firm.surface.pk.hex}" in found[0]
    assert client.get(page + found[0]).status_code == 200
    client.force_login(firm.outsider)
    assert client.get(page + found[0]).status_code == 404


@pytest.mark.parametrize(
    "asked", ["", "?of=x&as=section", "?of={key}", "?of={key}&as=photo", "?of={other}&as=plan"]
)
def test_what_a_report_does_not_draw_is_not_found(client, firm, document, asked):
    asked = asked.format(key=UUID(int=1).hex, other=UUID(int=2).hex)
    client.force_login(firm.owner_person)

    answer = client.get(reverse("reporting:kept-drawing", args=[document.pk]) + asked)

    assert answer.status_code == 404


def test_a_drawing_behind_a_link_opens_as_the_link_does_and_is_no_opening_of_its_own(client, firm, document):
    link = link_to(firm, document)
    page = reverse("reporting:shared-show", args=[links.make_address(link=link, to=None)])
    address = images(client.get(page).content.decode())[0][0]
    opened = LinkOpening.objects.count()

    assert client.get(page + address).headers["Content-Type"] == "image/svg+xml"
    assert LinkOpening.objects.count() == opened

    links.revoke_link(link=link, by=firm.coordinator)
    assert client.get(page + address).status_code == 410


def test_a_drawing_for_itself_has_the_colours_of_the_page():
    drawing = standing_alone('<svg viewBox="0 0 1 1"><path fill="var(--chart-line)"/></svg>')

    assert "color-scheme:light dark" in drawing
    assert "--chart-line:light-dark(" in drawing
    assert "--chart-test" not in drawing, "what it does not use is not sent"
