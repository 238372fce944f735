from django.apps import AppConfig


class ReportingConfig(AppConfig):
    name = "reporting"
    verbose_name = "Documents by audience"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Show sites and surfaces on pages of this app, and offer its papers where they are of use."""
        from accounts.calc.roles import Role
        from core.models.pages import register_page
        from core.presentation.links import Link, offer_link
        from core.presentation.notices import offer_notice
        from qa.models import Site, Surface
        from reporting.services import (
            messages,  # noqa: F401  # the work of their mails
            sendings,  # noqa: F401  # the work of its jobs
        )
        from reporting.views.first_steps import steps_notice

        register_page(Surface, "reporting:surface-detail")
        register_page(Site, "reporting:site-detail")
        offer_link("help", Link("Handbook", "reporting:handbook-show"))
        offer_link("firm", Link("First steps", "reporting:start-steps", order=5))
        offer_notice("todo", steps_notice, least_role=Role.COORDINATOR)
        offer_link("firm", Link("Sources", "reporting:reference-list", order=25))
        offer_link("rules", Link("Which sources the firm has verified", "reporting:reference-list"))
        offer_link("construction", Link("Handover record", "reporting:handover-show", of_row=True))
        offer_link("quote", Link("PDF", "reporting:quote-download", of_row=True))
        mine = Link("My day", "reporting:day-own", order=90, least_role=Role.TECHNICIAN)
        offer_link("round", mine)
        sheet = Link("Field sheet", "reporting:round-field-sheet", of_row=True, least_role=Role.TECHNICIAN)
        offer_link("round", sheet)
        offer_link("crew day", Link("The day on paper", "reporting:visit-paper", of_row=True))
        offer_link("round", Link("Test certificate", "reporting:certificate-download", of_row=True))
