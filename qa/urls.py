from django.urls import path

from qa.views import construction, presets, rounds, sites

app_name = "qa"

urlpatterns = [
    path("sites/new/", sites.site_create, name="site-create"),
    path("sites/<uuid:pk>/edit/", sites.site_edit, name="site-edit"),
    path("sites/<uuid:pk>/surfaces/new/", sites.surface_create, name="surface-create"),
    path("surfaces/<uuid:pk>/edit/", sites.surface_edit, name="surface-edit"),
    path("surfaces/<uuid:pk>/build-up/", sites.build_up_edit, name="layer-edit"),
    path("surfaces/<uuid:pk>/locations/", sites.locations_edit, name="location-edit"),
    path("surfaces/<uuid:pk>/rounds/new/", rounds.round_create, name="round-create"),
    path("surfaces/<uuid:pk>/construction/", construction.construction_detail, name="construction-detail"),
    path("surfaces/<uuid:pk>/construction/open/", construction.construction_open, name="construction-open"),
    path("surfaces/<uuid:pk>/construction/checks/new/", construction.check_create, name="check-create"),
    path("checks/<uuid:pk>/", construction.check_detail, name="check-detail"),
    path("checks/<uuid:pk>/record/", construction.check_record, name="check-record"),
    path("checks/<uuid:pk>/waive/", construction.check_waive, name="check-waive"),
    path("checks/<uuid:pk>/does-not-apply/", construction.check_not_needed, name="check-not-needed"),
    path("checks/<uuid:pk>/edit/", construction.check_edit, name="check-edit"),
    path("findings/<uuid:pk>/correct/", construction.entry_correct, name="entry-correct"),
    path("findings/<uuid:pk>/set-aside/", construction.entry_set_aside, name="entry-set-aside"),
    path("findings/<uuid:pk>/put-right/", construction.work_create, name="work-create"),
    path("findings/<uuid:pk>/check-again/", construction.entry_recheck, name="entry-recheck"),
    path("works/<uuid:pk>/set-aside/", construction.work_set_aside, name="work-set-aside"),
    path("rounds/<uuid:pk>/", rounds.round_detail, name="round-detail"),
    path("rounds/<uuid:pk>/amend/", rounds.round_amend, name="round-amend"),
    path("rounds/<uuid:pk>/set-aside/", rounds.round_set_aside, name="round-set-aside"),
    path("rounds/<uuid:pk>/tests/new/", rounds.test_create, name="test-create"),
    path("tests/<uuid:pk>/", rounds.test_detail, name="test-detail"),
    path("tests/<uuid:pk>/correct/", rounds.test_correct, name="test-correct"),
    path("tests/<uuid:pk>/set-aside/", rounds.test_set_aside, name="test-set-aside"),
    path("rules/", presets.rule_list, name="rule-list"),
    path("rules/limits/new/", presets.own_limit_create, name="own-limit-create"),
    path("rules/limits/<uuid:pk>/edit/", presets.own_limit_edit, name="own-limit-edit"),
    path("rules/limits/<uuid:pk>/retire/", presets.own_limit_retire, name="own-limit-retire"),
]
