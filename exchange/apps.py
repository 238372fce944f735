from django.apps import AppConfig

from core.calc.translation import gettext_noop


class ExchangeConfig(AppConfig):
    name = "exchange"
    verbose_name = "Data in and out"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Offer this app's pages on that of the firm, know the work of its jobs, read sheets in every language."""
        from django.utils import translation

        from accounts.calc.roles import Role
        from core.presentation.links import Link, offer_link
        from exchange.calc.tongues import speak_by
        from exchange.services import (
            exports,  # noqa: F401  # the work of their jobs
            imports,  # noqa: F401
            restoring,  # noqa: F401
        )

        speak_by(translation.override)
        sheets = Link(
            gettext_noop("Take in spreadsheets"), "exchange:import-list", order=40, least_role=Role.TECHNICIAN
        )
        offer_link("firm", sheets)
        offer_link("first steps", sheets)
        offer_link(
            "firm",
            Link(
                gettext_noop("Take everything away"), "exchange:export-list", order=41, least_role=Role.ADMIN
            ),
        )
