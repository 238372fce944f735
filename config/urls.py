"""Top-level routes only."""

from allauth.account.decorators import reauthentication_required, secure_admin_login
from allauth.usersessions.views import list_usersessions
from django.contrib import admin
from django.contrib.auth.models import Group
from django.urls import include, path

from accounts.views.fresh_sign_in import behind_fresh_sign_in
from core.views.glossary import glossary
from core.views.home_screen import manifest
from operations.views.health import ready

# The same door as everywhere: limits on attempts and the second factor hold for the back office as well, and since it
# shows every firm, nobody looks in who has not said just now who they are.
admin.site.login = secure_admin_login(admin.site.login)  # type: ignore[method-assign]
admin.site.unregister(Group)  # what somebody may do is their role's
admin.site.admin_view = behind_fresh_sign_in(admin.site)  # type: ignore[assignment, method-assign]

urlpatterns = [
    path("health/", ready, name="health"),
    path("glossary/", glossary, name="glossary"),
    path("app.webmanifest", manifest, name="manifest"),
    path("", include("api.urls")),
    path("", include("operations.urls")),
    path("", include("exchange.urls")),
    path("", include("fieldwork.urls")),
    path("", include("reporting.urls")),
    path("", include("planning.urls")),
    path("", include("maintenance.urls")),
    path("", include("qa.urls")),
    path("", include("accounts.urls")),
    # Whoever finds a device that is signed in may look, but not end the sessions of the others.
    path(
        "sign-in/sessions/",
        reauthentication_required(list_usersessions, allow_get=True, app="allauth.account"),
        name="usersessions_list",
    ),
    path("sign-in/", include("allauth.urls")),
    path("back-office/", admin.site.urls),
]

handler400 = "core.views.errors.bad_request"
handler500 = "core.views.errors.server_error"
