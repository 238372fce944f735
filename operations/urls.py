from django.urls import path

from operations.views import health, jobs, metrics, trail

app_name = "operations"

urlpatterns = [
    path("live/", health.live, name="live"),
    path("ready/", health.ready, name="ready"),
    path("metrics/", metrics.metrics, name="metrics"),
    path("jobs/", jobs.job_list, name="job-list"),
    path("changes/", trail.trail_list, name="trail-list"),
    path("jobs/<slug:job>/again/", jobs.job_again, name="job-again"),
]
