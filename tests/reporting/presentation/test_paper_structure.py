"""Every paper keeps its promise to screen readers: what a second program finds in its structure."""

import pytest

from reporting.presentation.crew_day import crew_day_as_paper, crew_day_words, map_for_paper
from reporting.presentation.pdf import pdf_of
from reporting.selectors.crew_days import crew_day_paper
from tests.clock import TODAY
from tests.factories import (
    CrewFactory,
    QuoteFactory,
    QuoteLineFactory,
    QuoteVersionFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)
from tests.reporting.papers import certificate_of, paper_of, quote_of, report_of
from tests.reporting.reports import golden_report
from tests.reporting.selectors.test_certificates import accept
from tests.reporting.selectors.test_handovers import build
from tests.reporting.structure import structure_of


def a_report(firm):
    return report_of(golden_report())


def a_handover(firm):
    return paper_of(build(firm))


def a_certificate(firm):
    return certificate_of(accept(firm))


def a_quote(firm):
    version = QuoteVersionFactory(quote=QuoteFactory(owner=firm.owner))
    QuoteLineFactory(version=version, site=firm.site, surface=firm.surface)
    return quote_of(version)


def a_crew_day(firm):
    crew = CrewFactory(organisation=firm.organisation, latitude_deg=50.0, longitude_deg=10.0)
    visit = VisitFactory(crew=crew, visit_on=TODAY)
    site = SiteFactory(owner=firm.owner, latitude_deg=50.1, longitude_deg=10.0)
    VisitTaskFactory(visit=visit, surface=SurfaceFactory(site=site))
    day = crew_day_paper(visit)
    drawn = map_for_paper(day, "si")
    return pdf_of(
        crew_day_as_paper(day, crew_day_words(day, "si", drawn), drawn, lambda key: f"https://x/{key}")
    )


PAPERS = {
    a_report: ("Report of ", 3),
    a_handover: ("Handover record of ", 1),
    a_certificate: ("Test certificate of ", 0),
    a_quote: ("Quote ", 0),
    a_crew_day: ("", 2),
}


@pytest.mark.parametrize(("make", "title", "figures"), [(make, *asked) for make, asked in PAPERS.items()])
def test_a_paper_is_tagged_titled_ordered_and_told_in_words(firm, make, title, figures):
    found = structure_of(make(firm))

    assert (found.marked, found.ua_part, found.language, found.title_shown) == (True, "1", "en", True)
    assert found.pages_tagged
    assert found.title.startswith(title)
    assert found.title
    assert found.headings[0] == 1
    assert found.headings.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(found.headings, found.headings[1:], strict=False))
    assert found.bookmarks
    assert len(found.figures) >= figures
    assert all(words.strip() for words in found.figures)
    assert found.table_headers >= found.tables


def test_the_bookmarks_of_a_report_lead_through_it_in_the_order_it_is_read():
    report = golden_report()
    (surface,) = report.surfaces

    found = structure_of(report_of(report))

    order = [
        f"Report of {report.site}",
        "What changed",
        "Asked of you",
        "Done, agreed and paid",
        surface.standing.name,
        "Rate since opening",
        "What comes next",
        "Limit and acceptance",
        "Methods and standards",
        "Notes and limitations",
    ]
    places = [found.bookmarks.index(title) for title in order]
    assert places == sorted(places)
    assert len(found.bookmarks) == len(found.headings)


def test_the_pictures_of_a_report_say_in_words_what_they_show():
    report = golden_report()

    stands, decline, section, plan = structure_of(report_of(report, "us")).figures

    assert stands.startswith("Estimated rates against the limits.")
    assert "in/h" in decline
    assert "Chance of being below the limit" in decline or "not expected to be reached" in decline
    assert section.startswith("Cross-section from the top down: ")
    assert "North" in plan
