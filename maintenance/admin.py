"""The back office: terms and fits, to be read along. Terms are changed on their own page, fits by their jobs."""

from django.contrib import admin

from core.views.back_office import ReadAlong, ReadAlongWithHistory
from maintenance.models import MethodTerms, PortfolioFit

admin.site.register(MethodTerms, ReadAlongWithHistory)


@admin.register(PortfolioFit)
class PortfolioFitAdmin(ReadAlong):
    list_display = ("organisation", "state", "converged", "surfaces", "tests", "finished_at")
    fields = ("organisation", "state", "converged", "message", "error", "attempts", "finished_at")
