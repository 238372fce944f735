"""Top-level routes only."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("reporting.urls")),
    path("", include("planning.urls")),
    path("", include("maintenance.urls")),
    path("", include("qa.urls")),
    path("", include("accounts.urls")),
    path("sign-in/", include("allauth.urls")),
    path("back-office/", admin.site.urls),
]
