from django.urls import path

from exchange.views import archives, imports

app_name = "exchange"

urlpatterns = [
    path("imports/", imports.import_list, name="import-list"),
    path("imports/sample/", imports.import_sample, name="import-sample"),
    path("imports/<uuid:pk>/", imports.import_detail, name="import-detail"),
    path("imports/<uuid:pk>/progress/", imports.import_progress, name="import-progress"),
    path("imports/<uuid:pk>/columns/", imports.import_match, name="import-match"),
    path("imports/<uuid:pk>/remarks/", imports.import_remarks, name="import-remarks"),
    path("imports/<uuid:pk>/store/", imports.import_store, name="import-store"),
    path("imports/<uuid:pk>/discard/", imports.import_discard, name="import-discard"),
    path("exports/", archives.export_list, name="export-list"),
    path("exports/new/", archives.export_create, name="export-create"),
    path("exports/<uuid:pk>/progress/", archives.export_progress, name="export-progress"),
    path("exports/<uuid:pk>/download/", archives.export_download, name="export-download"),
    path("exports/<uuid:pk>/remove/", archives.export_remove, name="export-remove"),
    path("restore/", archives.restore_create, name="restore-create"),
]
