from django.apps import AppConfig


class CoreConfig(AppConfig):
    name = "core"
    verbose_name = "What every app stands on"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have jobs delivered by tasks."""
        from core.services.jobs import deliver_by
        from core.tasks import deliver

        deliver_by(deliver)
