"""The back office: for support, not for daily work.

What support may change is who gets in: an account, and who belongs to a firm, which may have lost its last admin. All
else is read along there, and changed on its own pages, where its rules are kept.
"""

from django.contrib import admin
from django.http import HttpRequest
from simple_history.admin import SimpleHistoryAdmin

from accounts.models import Invitation, Membership, Organisation, Owner, User
from core.views.back_office import ReadAlong, ReadAlongWithHistory

admin.site.register(Organisation, ReadAlongWithHistory)
admin.site.register(Membership, SimpleHistoryAdmin)
admin.site.register(Owner, ReadAlongWithHistory)


@admin.register(User)
class UserAdmin(admin.ModelAdmin[User]):
    list_display = ("email", "full_name", "is_active", "is_staff", "last_login")
    fields = ("email", "full_name", "units", "is_active", "is_staff", "is_superuser")
    search_fields = ("email", "full_name")

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False  # people sign up, or are invited

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False  # their records stay; an account that is not active opens nothing


@admin.register(Invitation)
class InvitationAdmin(ReadAlong):
    list_display = ("email", "organisation", "owner", "role", "expires_at", "accepted_at")
    exclude = ("token_hash",)
