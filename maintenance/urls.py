from django.urls import path

from maintenance.views import files, fleet, pages, records, reports, visits

app_name = "maintenance"

urlpatterns = [
    path("", pages.todo, name="todo"),
    path("surfaces/", pages.surface_list, name="surface-list"),
    path("surfaces/<uuid:pk>/", pages.surface_detail, name="surface-detail"),
    path("surfaces/<uuid:pk>/refresh/", pages.surface_refresh, name="surface-refresh"),
    path("surfaces/<uuid:pk>/cleanings/new/", records.cleaning_create, name="cleaning-create"),
    path("surfaces/<uuid:pk>/handover/", reports.handover_show, name="handover-show"),
    path("surfaces/<uuid:pk>/handover.pdf", reports.handover_download, name="handover-download"),
    path("sites/<uuid:pk>/", pages.site_detail, name="site-detail"),
    path("sites/<uuid:pk>/agreement/", visits.agreement_edit, name="agreement-edit"),
    path("sites/<uuid:pk>/report/", reports.report_site, name="report-site"),
    path("reports/", reports.report_list, name="report-list"),
    path("cleanings/<uuid:pk>/", records.cleaning_detail, name="cleaning-detail"),
    path("cleanings/<uuid:pk>/correct/", records.cleaning_correct, name="cleaning-correct"),
    path("cleanings/<uuid:pk>/set-aside/", records.cleaning_set_aside, name="cleaning-set-aside"),
    path("cleanings/<uuid:pk>/files/new/", files.cleaning_file_create, name="cleaning-file-create"),
    path("cleaning-files/<uuid:pk>/", files.cleaning_file_show, name="cleaning-file-show"),
    path("cleaning-files/<uuid:pk>/small/", files.cleaning_file_thumbnail, name="cleaning-file-thumbnail"),
    path(
        "cleaning-files/<uuid:pk>/set-aside/", files.cleaning_file_set_aside, name="cleaning-file-set-aside"
    ),
    path("advice/<uuid:pk>/", visits.recommendation_detail, name="recommendation-detail"),
    path("advice/<uuid:pk>/plan/", visits.recommendation_plan, name="recommendation-plan"),
    path("advice/<uuid:pk>/decline/", visits.recommendation_decline, name="recommendation-decline"),
    path("visits/", visits.visit_list, name="visit-list"),
    path("visits/new/", visits.visit_create, name="visit-create"),
    path("visits/<uuid:pk>/", visits.visit_detail, name="visit-detail"),
    path("visits/<uuid:pk>/edit/", visits.visit_edit, name="visit-edit"),
    path("visits/<uuid:pk>/cancel/", visits.visit_cancel, name="visit-cancel"),
    path("visits/<uuid:pk>/tasks/new/", visits.task_create, name="task-create"),
    path("tasks/<uuid:pk>/remove/", visits.task_remove, name="task-remove"),
    path("tasks/<uuid:pk>/finish/", visits.task_finish, name="task-finish"),
    path("crews/new/", visits.crew_create, name="crew-create"),
    path("crews/<uuid:pk>/edit/", visits.crew_edit, name="crew-edit"),
    path("firm/methods/", records.method_terms, name="method-terms"),
    path("fleet/", fleet.fleet_detail, name="fleet-detail"),
    path("fleet/fit/", fleet.fleet_fit, name="fleet-fit"),
]
