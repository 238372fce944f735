from typing import Any
from uuid import UUID

from django.apps import AppConfig
from django.utils.translation import gettext_noop


class MaintenanceConfig(AppConfig):
    name = "maintenance"
    verbose_name = "What is done to surfaces, and what will be"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Listen to changes of records, and offer this app's pages on that of the firm."""
        from accounts.calc.roles import Role
        from core.presentation.links import Link, offer_link
        from maintenance.selectors.expected import expected_about
        from maintenance.services.forecasts import request_forecast
        from qa.services import expectations
        from qa.services.changes import record_changed

        expectations.register(expected_about)

        offer_link(
            "firm",
            Link(
                gettext_noop("Methods and prices"),
                "maintenance:method-terms",
                order=10,
                least_role=Role.COORDINATOR,
            ),
        )
        offer_link("firm", Link(gettext_noop("Price lists"), "maintenance:price-list", order=11))
        offer_link("firm", Link(gettext_noop("What your records show"), "maintenance:calibration", order=30))

        def on_change(*, surface_id: UUID, **_: Any) -> None:
            request_forecast(surface_id)

        record_changed.connect(on_change, weak=False, dispatch_uid="maintenance refresh")
