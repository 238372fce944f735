from typing import Any

from django.apps import AppConfig


class MaintenanceConfig(AppConfig):
    name = "maintenance"
    verbose_name = "What is done to surfaces, and what will be"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from qa.services.changes import record_changed

        record_changed.connect(_nudge, dispatch_uid="maintenance refresh")


def _nudge(*, surface_id: Any, **_: Any) -> None:
    from maintenance.services.forecasts import ask_refresh

    ask_refresh(surface_id)
