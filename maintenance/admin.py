"""The back office: terms and fits. Recorded facts are corrected on their own pages, with a reason."""

from django.contrib import admin
from simple_history.admin import SimpleHistoryAdmin

from maintenance.models import MethodTerms, PortfolioFit

admin.site.register(MethodTerms, SimpleHistoryAdmin)


@admin.register(PortfolioFit)
class PortfolioFitAdmin(admin.ModelAdmin[PortfolioFit]):
    list_display = ("organisation", "state", "converged", "surfaces", "tests", "finished_at")
    fields = ("organisation", "state", "converged", "message", "error", "attempts", "finished_at")
    readonly_fields = fields
