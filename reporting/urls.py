from django.urls import path

from reporting.views import documents, pages

app_name = "reporting"

urlpatterns = [
    path("", pages.start, name="start"),
    path("surfaces/<uuid:pk>/", pages.surface_detail, name="surface-detail"),
    path("surfaces/<uuid:pk>/handover/", documents.handover_show, name="handover-show"),
    path("surfaces/<uuid:pk>/handover.pdf", documents.handover_download, name="handover-download"),
    path("sites/<uuid:pk>/", pages.site_detail, name="site-detail"),
    path("sites/<uuid:pk>/report/", documents.report_site, name="report-site"),
    path("reports/", documents.report_list, name="report-list"),
]
