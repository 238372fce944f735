"""The back office: terms and crews. Recorded facts are corrected on their own pages, with a reason."""

from django.contrib import admin
from simple_history.admin import SimpleHistoryAdmin

from maintenance.models import Agreement, Crew, FleetFit, MethodTerms

admin.site.register(MethodTerms, SimpleHistoryAdmin)
admin.site.register(Crew, SimpleHistoryAdmin)
admin.site.register(Agreement, SimpleHistoryAdmin)


@admin.register(FleetFit)
class FleetFitAdmin(admin.ModelAdmin):
    list_display = ("organisation", "state", "converged", "surfaces", "tests", "finished_at")
    fields = ("organisation", "state", "converged", "message", "error", "attempts", "finished_at")
    readonly_fields = fields
