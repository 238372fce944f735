from django.urls import path

from maintenance.views import care, cleanings, files, fits, handing_over, prices, surfaces, why

app_name = "maintenance"

urlpatterns = [
    path("surfaces/", surfaces.surface_list, name="surface-list"),
    path("surfaces/<uuid:pk>/refresh/", surfaces.surface_refresh, name="surface-refresh"),
    path("surfaces/<uuid:pk>/care/", care.care_detail, name="care-detail"),
    path("advice/<uuid:pk>/why/", why.recommendation_why, name="recommendation-why"),
    path("surfaces/<uuid:pk>/care/value/", care.care_value, name="care-value"),
    path("surfaces/<uuid:pk>/cleanings/new/", cleanings.cleaning_create, name="cleaning-create"),
    path("cleanings/<uuid:pk>/", cleanings.cleaning_detail, name="cleaning-detail"),
    path("cleanings/<uuid:pk>/correct/", cleanings.cleaning_correct, name="cleaning-correct"),
    path("cleanings/<uuid:pk>/set-aside/", cleanings.cleaning_void, name="cleaning-void"),
    path("cleanings/<uuid:pk>/files/new/", files.cleaning_file_create, name="cleaning-file-create"),
    path("cleaning-files/<uuid:pk>/", files.cleaning_file_show, name="cleaning-file-show"),
    path("cleaning-files/<uuid:pk>/small/", files.cleaning_file_thumbnail, name="cleaning-file-thumbnail"),
    path("cleaning-files/<uuid:pk>/set-aside/", files.cleaning_file_void, name="cleaning-file-void"),
    path("sites/<uuid:pk>/plan/", handing_over.site_plan_edit, name="site-plan-edit"),
    path("sites/<uuid:pk>/trainings/new/", handing_over.training_create, name="training-create"),
    path("trainings/<uuid:pk>/", handing_over.training_detail, name="training-detail"),
    path("trainings/<uuid:pk>/correct/", handing_over.training_correct, name="training-correct"),
    path("trainings/<uuid:pk>/set-aside/", handing_over.training_void, name="training-void"),
    path("firm/methods/", cleanings.method_terms, name="method-terms"),
    path("firm/prices/", prices.price_list, name="price-list"),
    path("firm/prices/new/", prices.price_create, name="price-create"),
    path("firm/prices/<uuid:pk>/", prices.price_detail, name="price-detail"),
    path("records/", fits.calibration, name="calibration"),
    path("records/fit/progress/", fits.fit_progress, name="fit-progress"),
    path("records/fit/", fits.fit_create, name="fit-create"),
]
