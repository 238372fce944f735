from django.apps import AppConfig


class ExchangeConfig(AppConfig):
    name = "exchange"
    verbose_name = "Data in and out"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Offer this app's pages on that of the firm, and know the work of its jobs."""
        from accounts.calc.roles import Role
        from core.presentation.links import Link, offer_link
        from exchange.services import (
            exports,  # noqa: F401  # the work of their jobs
            imports,  # noqa: F401
            restoring,  # noqa: F401
        )

        sheets = Link("Take in spreadsheets", "exchange:import-list", order=40, least_role=Role.TECHNICIAN)
        offer_link("firm", sheets)
        offer_link("first steps", sheets)
        offer_link(
            "firm", Link("Take everything away", "exchange:export-list", order=41, least_role=Role.ADMIN)
        )
