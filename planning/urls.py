from django.urls import path

from planning.views import agreements, crews, findings, recommendations, visits, work_plans

app_name = "planning"

urlpatterns = [
    path("sites/<uuid:pk>/agreement/", agreements.agreement_edit, name="agreement-edit"),
    path("advice/<uuid:pk>/", recommendations.recommendation_detail, name="recommendation-detail"),
    path("advice/<uuid:pk>/plan/", recommendations.recommendation_plan, name="recommendation-plan"),
    path("advice/<uuid:pk>/decline/", recommendations.recommendation_decline, name="recommendation-decline"),
    path("found/<uuid:pk>/plan/", findings.finding_plan, name="finding-plan"),
    path("visits/", visits.visit_list, name="visit-list"),
    path("visits/new/", visits.visit_create, name="visit-create"),
    path("visits/<uuid:pk>/", visits.visit_detail, name="visit-detail"),
    path("visits/<uuid:pk>/edit/", visits.visit_edit, name="visit-edit"),
    path("visits/<uuid:pk>/cancel/", visits.visit_cancel, name="visit-cancel"),
    path("visits/<uuid:pk>/tasks/new/", visits.task_create, name="task-create"),
    path("tasks/<uuid:pk>/remove/", visits.task_remove, name="task-remove"),
    path("tasks/<uuid:pk>/finish/", visits.task_finish, name="task-finish"),
    path("plans/", work_plans.plan_list, name="proposal-list"),
    path("plans/new/", work_plans.plan_create, name="proposal-create"),
    path("plans/<uuid:pk>/", work_plans.plan_detail, name="proposal-detail"),
    path("plans/<uuid:pk>/progress/", work_plans.plan_progress, name="proposal-progress"),
    path("plans/<uuid:pk>/stop/", work_plans.plan_stop, name="proposal-stop"),
    path("plans/<uuid:pk>/accept/", work_plans.plan_accept, name="proposal-accept"),
    path("plans/<uuid:pk>/move/", work_plans.plan_move, name="proposal-move"),
    path("crews/<uuid:pk>/", crews.crew_detail, name="crew-detail"),
    path("crews/<uuid:pk>/work/", crews.crew_work, name="crew-work"),
    path("crews/<uuid:pk>/absences/new/", crews.absence_create, name="absence-create"),
    path("absences/<uuid:pk>/remove/", crews.absence_remove, name="absence-remove"),
    path("crews/new/", crews.crew_create, name="crew-create"),
    path("crews/<uuid:pk>/edit/", crews.crew_edit, name="crew-edit"),
]
