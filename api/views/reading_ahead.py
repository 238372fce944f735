"""What is read of the time to come, and of documents: visits, forecasts, recommendations, reports."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from ninja import Query, Router

from api.calc.scopes import Scope
from api.forms.asking import Dated, OfSite, OfSurface
from api.presentation import ahead
from api.selectors import rows
from api.views.answers import listed, one
from api.views.bearer import caller_of, needs
from api.views.reading import OF_SURFACE, ForecastPage, RecommendationPage, ReportPage, VisitPage

router = Router(by_alias=True)


@router.get("/visits", response=VisitPage, tags=["Visits"], url_name="visit-list", **needs(Scope.READ_VISITS))
def list_visits(request: HttpRequest, query: Query[Dated]) -> HttpResponse:
    """Visits with their tasks. An owner's people see those still ahead, with the tasks at their own sites."""
    found = rows.visits(caller_of(request), site=query.site, surface=query.surface)
    paths = {"since": "visit_on__gte", "until": "visit_on__lte"}
    return listed(request, found, query, ahead.visit_out, paths)


@router.get(
    "/visits/{uuid:key}",
    response=ahead.VisitOut,
    tags=["Visits"],
    url_name="visit",
    **needs(Scope.READ_VISITS),
)
def read_visit(request: HttpRequest, key: UUID) -> HttpResponse:
    """One visit with its tasks."""
    return one(request, rows.visits(caller_of(request)), key, ahead.visit_out)


@router.get(
    "/forecasts",
    response=ForecastPage,
    tags=["Forecasts"],
    url_name="forecast-list",
    **needs(Scope.READ_FORECASTS),
)
def list_forecasts(request: HttpRequest, query: Query[OfSurface]) -> HttpResponse:
    """The newest forecast of each surface."""
    return listed(request, rows.forecasts(caller_of(request)), query, ahead.forecast_out, OF_SURFACE)


@router.get(
    "/forecasts/{uuid:key}",
    response=ahead.ForecastOut,
    tags=["Forecasts"],
    url_name="forecast",
    **needs(Scope.READ_FORECASTS),
)
def read_forecast(request: HttpRequest, key: UUID) -> HttpResponse:
    """One forecast. It speaks of the surface, by its record so far; it is no warranty."""
    return one(request, rows.forecasts(caller_of(request)), key, ahead.forecast_out)


@router.get(
    "/recommendations",
    response=RecommendationPage,
    tags=["Recommendations"],
    url_name="recommendation-list",
    **needs(Scope.READ_RECOMMENDATIONS),
)
def list_recommendations(request: HttpRequest, query: Query[OfSurface]) -> HttpResponse:
    """What is advised. An owner's people read what was released to them, in its words and at its price of that day."""
    caller = caller_of(request)
    if caller.owner is not None:
        return listed(request, rows.releases(caller), query, ahead.released_out, OF_SURFACE)
    return listed(request, rows.recommendations(caller), query, ahead.recommendation_out, OF_SURFACE)


@router.get(
    "/recommendations/{uuid:key}",
    response=ahead.RecommendationOut,
    tags=["Recommendations"],
    url_name="recommendation",
    **needs(Scope.READ_RECOMMENDATIONS),
)
def read_recommendation(request: HttpRequest, key: UUID) -> HttpResponse:
    """One piece of advice."""
    caller = caller_of(request)
    if caller.owner is not None:
        return one(request, rows.releases(caller), key, ahead.released_out)
    return one(request, rows.recommendations(caller), key, ahead.recommendation_out)


@router.get(
    "/reports",
    response=ReportPage,
    tags=["Reports"],
    url_name="report-list",
    **needs(Scope.READ_REPORTS),
)
def list_reports(request: HttpRequest, query: Query[OfSite]) -> HttpResponse:
    """Kept reports and handover records, without what they say."""
    listed_rows = rows.reports(caller_of(request)).defer("payload")
    return listed(request, listed_rows, query, ahead.report_out, {"site": "site"})


@router.get(
    "/reports/{uuid:key}",
    response=ahead.ReportWithContent,
    tags=["Reports"],
    url_name="report",
    **needs(Scope.READ_REPORTS),
)
def read_report(request: HttpRequest, key: UUID) -> HttpResponse:
    """One kept document with what it said on its day, for the audience it was kept for."""
    return one(request, rows.reports(caller_of(request)), key, ahead.report_with_content)
