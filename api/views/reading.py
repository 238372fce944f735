"""What is read: a list and one row of each kind."""

from types import MappingProxyType
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from ninja import Query, Router
from pydantic import BaseModel

from api.calc.scopes import Scope
from api.forms.asking import Dated, OfRound, OfSite, PageQuery
from api.presentation import ahead, observations, places, records, who
from api.selectors import rows
from api.views.answers import answered, listed, one
from api.views.bearer import caller_of, needs

router = Router(by_alias=True)
OF_SURFACE = MappingProxyType({"site": "surface__site", "surface": "surface"})


def _dated(column: str, paths: MappingProxyType[str, str] = OF_SURFACE) -> dict[str, str]:
    return {**paths, "since": f"{column}__gte", "until": f"{column}__lte"}


class OwnerPage(BaseModel):
    items: list[places.OwnerOut]
    next: str | None


class SitePage(BaseModel):
    items: list[places.SiteOut]
    next: str | None


class SurfacePage(BaseModel):
    items: list[places.SurfaceOut]
    next: str | None


class RoundPage(BaseModel):
    items: list[records.RoundOut]
    next: str | None


class TestPage(BaseModel):
    __test__ = False  # not a test class, whatever its name suggests to a test runner

    items: list[observations.TestOut]
    next: str | None


class CleaningPage(BaseModel):
    items: list[records.CleaningOut]
    next: str | None


class InspectionPage(BaseModel):
    items: list[records.InspectionOut]
    next: str | None


class VisitPage(BaseModel):
    items: list[ahead.VisitOut]
    next: str | None


class ForecastPage(BaseModel):
    items: list[ahead.ForecastOut]
    next: str | None


class RecommendationPage(BaseModel):
    items: list[ahead.RecommendationOut]
    next: str | None


class ReportPage(BaseModel):
    items: list[ahead.ReportOut]
    next: str | None


@router.get("/me", response=who.WhoOut, tags=["Token"], url_name="me", **needs(None))
def who_am_i(request: HttpRequest) -> HttpResponse:
    """Who the token acts for, as what, and what it may do."""
    return answered(request, who.who_out(caller_of(request)))


@router.get("/owners", response=OwnerPage, tags=["Sites"], url_name="owner-list", **needs(Scope.READ_SITES))
def list_owners(request: HttpRequest, query: Query[PageQuery]) -> HttpResponse:
    """Owners of sites."""
    return listed(request, rows.owners(caller_of(request)), query, places.owner_out, {})


@router.get("/sites", response=SitePage, tags=["Sites"], url_name="site-list", **needs(Scope.READ_SITES))
def list_sites(request: HttpRequest, query: Query[PageQuery]) -> HttpResponse:
    """Sites."""
    return listed(request, rows.sites(caller_of(request)), query, places.site_out, {})


@router.get(
    "/sites/{uuid:key}",
    response=places.SiteOut,
    tags=["Sites"],
    url_name="site",
    **needs(Scope.READ_SITES),
)
def read_site(request: HttpRequest, key: UUID) -> HttpResponse:
    """One site."""
    return one(request, rows.sites(caller_of(request)), key, places.site_out)


@router.get(
    "/surfaces",
    response=SurfacePage,
    tags=["Surfaces"],
    url_name="surface-list",
    **needs(Scope.READ_SURFACES),
)
def list_surfaces(request: HttpRequest, query: Query[OfSite]) -> HttpResponse:
    """Surfaces with their test locations."""
    paths = {"site": "site"}
    return listed(request, rows.surfaces(caller_of(request)), query, places.surface_out, paths)


@router.get(
    "/surfaces/{uuid:key}",
    response=places.SurfaceOut,
    tags=["Surfaces"],
    url_name="surface",
    **needs(Scope.READ_SURFACES),
)
def read_surface(request: HttpRequest, key: UUID) -> HttpResponse:
    """One surface."""
    return one(request, rows.surfaces(caller_of(request)), key, places.surface_out)


@router.get("/rounds", response=RoundPage, tags=["Tests"], url_name="round-list", **needs(Scope.READ_ROUNDS))
def list_rounds(request: HttpRequest, query: Query[Dated]) -> HttpResponse:
    """Test rounds. `since` and `until` ask the day of the tests."""
    return listed(request, rows.rounds(caller_of(request)), query, records.round_out, _dated("tested_on"))


@router.get(
    "/rounds/{uuid:key}",
    response=records.RoundOut,
    tags=["Tests"],
    url_name="round",
    **needs(Scope.READ_ROUNDS),
)
def read_round(request: HttpRequest, key: UUID) -> HttpResponse:
    """One test round. Its tests are listed by `/api/tests?round=`."""
    return one(request, rows.rounds(caller_of(request)), key, records.round_out)


OF_ROUND = MappingProxyType({"site": "round__surface__site", "surface": "round__surface", "round": "round"})


@router.get("/tests", response=TestPage, tags=["Tests"], url_name="test-list", **needs(Scope.READ_TESTS))
def list_tests(request: HttpRequest, query: Query[OfRound]) -> HttpResponse:
    """Tests as observations. `since` and `until` ask the day of their round."""
    paths = _dated("round__tested_on", OF_ROUND)
    return listed(request, rows.tests(caller_of(request)), query, observations.test_out, paths)


@router.get(
    "/tests/{uuid:key}",
    response=observations.TestOut,
    tags=["Tests"],
    url_name="test",
    **needs(Scope.READ_TESTS),
)
def read_test(request: HttpRequest, key: UUID) -> HttpResponse:
    """One test as an observation: its result with its bound, the readings as they were taken, what was off."""
    return one(request, rows.tests(caller_of(request)), key, observations.test_out)


@router.get(
    "/cleanings",
    response=CleaningPage,
    tags=["Cleanings"],
    url_name="cleaning-list",
    **needs(Scope.READ_CLEANINGS),
)
def list_cleanings(request: HttpRequest, query: Query[Dated]) -> HttpResponse:
    """Cleanings. `since` and `until` ask the day they were done."""
    caller, paths = caller_of(request), _dated("cleaned_on")
    return listed(request, rows.cleanings(caller), query, records.cleaning_out, paths)


@router.get(
    "/cleanings/{uuid:key}",
    response=records.CleaningOut,
    tags=["Cleanings"],
    url_name="cleaning",
    **needs(Scope.READ_CLEANINGS),
)
def read_cleaning(request: HttpRequest, key: UUID) -> HttpResponse:
    """One cleaning."""
    return one(request, rows.cleanings(caller_of(request)), key, records.cleaning_out)


@router.get(
    "/inspections",
    response=InspectionPage,
    tags=["Inspections"],
    url_name="inspection-list",
    **needs(Scope.READ_INSPECTIONS),
)
def list_inspections(request: HttpRequest, query: Query[Dated]) -> HttpResponse:
    """Inspections with their findings. `since` and `until` ask the day of the inspection."""
    caller, paths = caller_of(request), _dated("inspected_on")
    return listed(request, rows.inspections(caller), query, records.inspection_out, paths)


@router.get(
    "/inspections/{uuid:key}",
    response=records.InspectionOut,
    tags=["Inspections"],
    url_name="inspection",
    **needs(Scope.READ_INSPECTIONS),
)
def read_inspection(request: HttpRequest, key: UUID) -> HttpResponse:
    """One inspection with its findings and what was done about them."""
    return one(request, rows.inspections(caller_of(request)), key, records.inspection_out)
