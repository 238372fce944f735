"""No document that a client is given says how this tool came to know a figure, or names no document for it.

Walked: every page that an owner's people can open and every PDF, for every kind of surface with all its checks, tests
by every method, every limit that can be chosen and every band; and documents kept by any edition.
"""

import json

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from accounts.calc.audience import Audience
from core.calc.paving import SurfaceType, TestMethod
from qa.calc.deviations import Deviation
from qa.calc.effects import CONSEQUENCES
from qa.calc.gradation import BANDS
from qa.calc.limits import PRESETS
from qa.models import ConstructionRecord, InfiltrationTest
from qa.services import assembly
from qa.templatetags.checks import source_on
from reporting.calc.schemas import TYPES
from reporting.calc.snapshots import SnapshotKind
from reporting.presentation.certificate import certificate_words
from reporting.presentation.handover import handover_words
from reporting.presentation.pages import handover_page, report_page
from reporting.selectors.certificates import certificate_snapshot
from reporting.selectors.handovers import handover_snapshot
from reporting.selectors.sites import report_snapshot
from tests.clock import TODAY
from tests.factories import InfiltrationTestFactory, RoundFactory, SievingFactory, SurfaceFactory
from tests.pages import as_shown
from tests.permissions import TABLE
from tests.qa.views.test_field_methods import TYPED, recorded
from tests.reporting.calc.test_schemas import KEPT, stored
from tests.reporting.papers import certificate_of, paper_of, words_of

# What tells how a figure came to us, or stands for a document that nobody could ask for.
REFUSED = (
    "memory",
    "encyclop",
    "trade article",
    "trade guidance",
    "contractor article",
    "article of",
    "advice sheet",
    "technical note",
    "looked up",
    "judgement of this tool",
)
READ_BY_OWNERS = [
    route for route, (method, _, answers) in TABLE.items() if method == "get" and answers[2] == 200
]
NO_PAGES = {"qa:file-show", "qa:file-thumbnail", "accounts:invitation-accept"}
NO_PAGES |= {"maintenance:cleaning-file-show", "maintenance:cleaning-file-thumbnail"}


@pytest.fixture
def firm(furnished):
    return furnished


def refused_in(text):
    return sorted(word for word in REFUSED if word in text.lower())


def built(firm, kind, **more):
    """A surface with every check of its kind and samples held to every band."""
    surface = SurfaceFactory(site=firm.site, surface_type=kind.value, **more)
    record = ConstructionRecord(surface=surface, heaviest_use="vehicle", bound_bed=False)
    assembly.open_record(record=record, parts=[part.value for part in assembly.PARTS], by=firm.technician)
    for band in BANDS:
        SievingFactory(surface=surface, designation=band)
    return surface


def with_tests(firm, surface):
    """An acceptance round with a test by every method."""
    round_ = RoundFactory(surface=surface, purpose="acceptance")
    InfiltrationTestFactory(round=round_)
    for method in TYPED:
        recorded(firm, method, round_)
    assert {test.method for test in InfiltrationTest.objects.filter(round=round_)} == set(TestMethod)
    return round_


def in_words(words):
    return json.dumps(words, ensure_ascii=False)


@pytest.mark.parametrize("kind", list(SurfaceType))
def test_a_handover_of_any_kind_of_surface_names_documents_or_common_practice(firm, kind):
    surface = built(firm, kind)

    texts = {
        (audience, units): in_words(handover_words(handover_snapshot(surface, audience), units))
        for audience in Audience
        for units in ("si", "us")
    }

    assert [refused_in(text) for text in texts.values()] == [[]] * len(texts)
    assert all(" †" in text and "Common practice" in text for text in texts.values())


@pytest.mark.parametrize("kind", list(SurfaceType))
def test_a_certificate_names_the_standard_of_every_method(firm, kind):
    round_ = with_tests(firm, SurfaceFactory(site=firm.site, surface_type=kind.value))

    texts = [
        in_words(certificate_words(certificate_snapshot(round_, audience), units))
        for audience in Audience
        for units in ("si", "us")
    ]

    assert [refused_in(text) for text in texts] == [[]] * len(texts)


@pytest.mark.parametrize("preset", PRESETS)
def test_a_report_and_a_certificate_name_the_document_of_every_limit(firm, preset):
    surface = firm.surface
    surface.limit_preset, surface.design_intensity_mm_h = preset, 36.0
    surface.save()
    round_ = RoundFactory(surface=surface)
    InfiltrationTestFactory(round=round_)

    report = report_page(report_snapshot(firm.site, Audience.OWNER, since=TODAY.replace(year=2020)), "si")
    page = render_to_string("reporting/_report.html", report | {"units": "si"})
    paper = in_words(certificate_words(certificate_snapshot(round_, Audience.OWNER), "si"))

    assert (refused_in(page), refused_in(paper)) == ([], [])


def test_the_papers_say_what_is_not_checked_and_how_many_that_is(firm, tmp_path):
    surface = built(firm, SurfaceType.PICP)
    round_ = with_tests(firm, surface)

    handover = words_of(paper_of(surface), tmp_path)
    certificate = words_of(certificate_of(round_), tmp_path)

    assert (refused_in(handover), refused_in(certificate)) == ([], [])
    for paper in (handover, certificate):
        assert "not checked against the current edition by the firm (†)" in paper


@pytest.mark.parametrize("route", sorted(set(READ_BY_OWNERS) - NO_PAGES))
def test_no_page_that_an_owner_opens_tells_how_a_figure_came_to_us(client, firm, route):
    rows = firm.rows
    firm.surface.limit_preset = "wisconsin"
    firm.surface.save()
    InfiltrationTestFactory(round_id=rows["round"])
    client.force_login(firm.owner_person)
    kind = TABLE[route][1]

    answer = client.get(reverse(route, args=[rows[kind]] if kind else []))

    assert answer.status_code == 200
    assert (
        answer["Content-Type"] == "application/pdf" or refused_in(as_shown(b"".join(answer).decode())) == []
    )


@pytest.mark.parametrize("method", list(TYPED))
def test_no_test_by_any_method_tells_an_owner_how_its_method_came_to_us(client, firm, method):
    test = recorded(firm, method)
    client.force_login(firm.owner_person)

    pages = [client.get(place) for place in (test.get_absolute_url(), test.round.get_absolute_url())]

    assert [refused_in(as_shown(page.content.decode())) for page in pages] == [[], []]


@pytest.mark.parametrize("key", CONSEQUENCES)
def test_no_deviation_tells_an_owner_how_its_effect_came_to_us(firm, key):
    deviation = Deviation(key, None, "", "It was so.")

    said = [source_on(deviation, SurfaceFactory.build(surface_type=kind.value)) for kind in SurfaceType]

    assert [refused_in(text) for text in said] == [[]] * len(said)


def what_it_asks(check):
    """Everything a check says by itself; several kinds of surface share most checks."""
    apart = {"id", "record", "position", "device_id", "created_at", "updated_at"}
    return tuple(
        getattr(check, field.attname) for field in check._meta.concrete_fields if field.name not in apart
    )


def test_no_check_of_any_kind_of_surface_tells_an_owner_how_it_came_to_us(client, firm):
    surfaces = [built(firm, kind) for kind in SurfaceType]
    client.force_login(firm.owner_person)
    differing = {
        what_it_asks(check): check for surface in surfaces for check in surface.construction.checks.all()
    }
    others = [
        reverse(f"qa:{page}", args=[surface.pk])
        for page in ("water-detail", "gradation-detail")
        for surface in surfaces
    ]

    found = {
        place: refused_in(as_shown(client.get(place).content.decode()))
        for place in (*(check.get_absolute_url() for check in differing.values()), *others)
    }

    assert {place: words for place, words in found.items() if words} == {}


@pytest.mark.parametrize(("kind", "number"), KEPT)
def test_a_document_kept_by_any_edition_is_read_in_the_words_of_this_one(kind, number):
    snapshot = TYPES[kind].from_json(stored(kind, number))

    page = {SnapshotKind.REPORT: report_page, SnapshotKind.HANDOVER: handover_page}[kind](snapshot, "si")
    template, names = {
        SnapshotKind.REPORT: ("reporting/_report.html", {"units": "si"}),
        SnapshotKind.HANDOVER: ("reporting/_handover.html", {}),
    }[kind]

    assert refused_in(render_to_string(template, page | names)) == []
    if kind == SnapshotKind.HANDOVER:
        assert "not checked against the current edition by the firm (†)" in page["record"]["unverified_line"]
