"""Top-level routes only."""

from allauth.account.decorators import secure_admin_login
from django.contrib import admin
from django.urls import include, path

# The same door as everywhere: limits on attempts and the second factor hold for the back office as well.
admin.site.login = secure_admin_login(admin.site.login)  # type: ignore[method-assign]

urlpatterns = [
    path("", include("reporting.urls")),
    path("", include("planning.urls")),
    path("", include("maintenance.urls")),
    path("", include("qa.urls")),
    path("", include("accounts.urls")),
    path("sign-in/", include("allauth.urls")),
    path("back-office/", admin.site.urls),
]
