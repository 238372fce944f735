from django.urls import path

from reporting.views import (
    crew_days,
    documents,
    field_sheets,
    kept,
    messages,
    own_day,
    pages,
    portfolio,
    sources,
)

app_name = "reporting"

urlpatterns = [
    path("", pages.start, name="start"),
    path("todo/", pages.todo_list, name="todo-list"),
    path("my-day/", own_day.day_own, name="day-own"),
    path("surfaces/<uuid:pk>/", pages.surface_detail, name="surface-detail"),
    path("surfaces/<uuid:pk>/handover/", documents.handover_show, name="handover-show"),
    path("surfaces/<uuid:pk>/handover.pdf", documents.handover_download, name="handover-download"),
    path("rounds/<uuid:pk>/certificate.pdf", documents.certificate_download, name="certificate-download"),
    path("quotes/<uuid:pk>/quote.pdf", documents.quote_download, name="quote-download"),
    path("visits/<uuid:pk>/day.pdf", crew_days.visit_paper, name="visit-paper"),
    path("sites/<uuid:pk>/", pages.site_detail, name="site-detail"),
    path("sites/<uuid:pk>/report/", documents.report_site, name="report-site"),
    path("sites/<uuid:pk>/report.pdf", documents.report_download, name="report-download"),
    path("sites/<uuid:pk>/report/keep/", kept.report_keep, name="report-keep"),
    path("surfaces/<uuid:pk>/handover/keep/", kept.handover_keep, name="handover-keep"),
    path("kept/<uuid:pk>/", kept.kept_show, name="kept-show"),
    path("kept/<uuid:pk>.pdf", kept.kept_download, name="kept-download"),
    path("kept/<uuid:pk>/withdraw/", kept.kept_void, name="kept-void"),
    path("surfaces/<uuid:pk>/messages/new/", messages.message_create, name="message-create"),
    path("messages/<uuid:pk>/withdraw/", messages.message_void, name="message-void"),
    path("messages/<uuid:pk>/settle/", messages.message_settle, name="message-settle"),
    path("surfaces/<uuid:pk>/field-sheet.pdf", field_sheets.surface_sheet, name="surface-field-sheet"),
    path("rounds/<uuid:pk>/field-sheet.pdf", field_sheets.round_sheet, name="round-field-sheet"),
    path("sources/", sources.source_list, name="reference-list"),
    path("sources/<uuid:key>/verify/", sources.source_verify, name="reference-verify"),
    path("sources/verified/<uuid:pk>/take-back/", sources.source_withdraw, name="reference-withdraw"),
    path("portfolio/", portfolio.portfolio_show, name="portfolio-show"),
    path("reports/", documents.report_list, name="report-list"),
]
