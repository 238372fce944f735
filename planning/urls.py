from django.urls import path

from planning.views import (
    advice,
    agreements,
    budget,
    crews,
    due,
    findings,
    learning,
    recommendations,
    releases,
    visits,
)

app_name = "planning"

urlpatterns = [
    path("sites/<uuid:pk>/agreement/", agreements.agreement_edit, name="agreement-edit"),
    path("budget/", budget.budget_plan, name="budget-plan"),
    path("learnt/", learning.learning_show, name="learning-show"),
    path("due/", due.due_list, name="due-list"),
    path("advice/plan/", advice.advice_plan, name="advice-plan"),
    path("advice/put-off/", advice.advice_put_off, name="advice-put-off"),
    path("advice/decline/", advice.advice_decline, name="advice-decline"),
    path("advice/release/", advice.advice_release, name="advice-release"),
    path("released/", releases.release_list, name="release-list"),
    path("released/<uuid:pk>/", releases.release_detail, name="release-detail"),
    path("released/<uuid:pk>/withdraw/", releases.release_withdraw, name="release-withdraw"),
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
    path("crews/new/", crews.crew_create, name="crew-create"),
    path("crews/<uuid:pk>/edit/", crews.crew_edit, name="crew-edit"),
]
