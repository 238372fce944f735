from typing import Any

from django.apps import AppConfig


class MaintenanceConfig(AppConfig):
    name = "maintenance"
    verbose_name = "What is done to surfaces, and what will be"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Listen to changes of records, and offer this app's pages on that of the firm."""
        from accounts.calc.roles import Role
        from core.presentation.links import Link, offer_link
        from qa.services.changes import record_changed

        offer_link(
            "firm",
            Link("Methods and prices", "maintenance:method-terms", order=10, least_role=Role.COORDINATOR),
        )
        offer_link("firm", Link("What your records show", "maintenance:calibration", order=30))

        record_changed.connect(_nudge, dispatch_uid="maintenance refresh")


def _nudge(*, surface_id: Any, **_: Any) -> None:
    from maintenance.services.forecasts import enqueue_refresh

    enqueue_refresh(surface_id)
