"""The back office: reading along for support. Records are corrected on their own pages, with a reason."""

from django.contrib import admin
from simple_history.admin import SimpleHistoryAdmin

from qa.models import Site, Surface, TestRound

admin.site.register(Site, SimpleHistoryAdmin)
admin.site.register(Surface, SimpleHistoryAdmin)


@admin.register(TestRound)
class TestRoundAdmin(SimpleHistoryAdmin):
    def has_change_permission(self, request: object, obj: object = None) -> bool:
        return False

    def has_add_permission(self, request: object) -> bool:
        return False

    def has_delete_permission(self, request: object, obj: object = None) -> bool:
        return False
