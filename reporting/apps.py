from django.apps import AppConfig
from django.utils.translation import gettext_noop


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
        offer_link("help", Link(gettext_noop("Handbook"), "reporting:handbook-show"))
        offer_link("firm", Link(gettext_noop("First steps"), "reporting:start-steps", order=5))
        offer_notice("todo", steps_notice, least_role=Role.COORDINATOR)
        offer_link("firm", Link(gettext_noop("Sources"), "reporting:reference-list", order=25))
        offer_link(
            "rules", Link(gettext_noop("Which sources the firm has verified"), "reporting:reference-list")
        )
        offer_link(
            "construction", Link(gettext_noop("Handover record"), "reporting:handover-show", of_row=True)
        )
        offer_link("quote", Link(gettext_noop("PDF"), "reporting:quote-download", of_row=True))
        mine = Link(gettext_noop("My day"), "reporting:day-own", order=90, least_role=Role.TECHNICIAN)
        offer_link("round", mine)
        sheet = Link(
            gettext_noop("Field sheet"),
            "reporting:round-field-sheet",
            of_row=True,
            least_role=Role.TECHNICIAN,
        )
        offer_link("round", sheet)
        offer_link("crew day", Link(gettext_noop("The day on paper"), "reporting:visit-paper", of_row=True))
        offer_link(
            "round", Link(gettext_noop("Test certificate"), "reporting:certificate-download", of_row=True)
        )
