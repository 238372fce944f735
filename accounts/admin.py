"""The back office: for support, not for daily work."""

from django.contrib import admin
from simple_history.admin import SimpleHistoryAdmin

from accounts.models import Invitation, Membership, Organisation, Owner, User

admin.site.register(Organisation, SimpleHistoryAdmin)
admin.site.register(Membership, SimpleHistoryAdmin)
admin.site.register(Owner, SimpleHistoryAdmin)


@admin.register(User)
class UserAdmin(admin.ModelAdmin[User]):
    list_display = ("email", "full_name", "is_active", "is_staff", "last_login")
    fields = ("email", "full_name", "units", "is_active", "is_staff", "is_superuser")
    search_fields = ("email", "full_name")


@admin.register(Invitation)
class InvitationAdmin(admin.ModelAdmin[Invitation]):
    list_display = ("email", "organisation", "owner", "role", "expires_at", "accepted_at")
    exclude = ("token_hash",)
