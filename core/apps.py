from django.apps import AppConfig
from django.db.backends.signals import connection_created


class CoreConfig(AppConfig):
    name = "core"
    verbose_name = "What every app stands on"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have jobs delivered by tasks, and the embedded database kept private."""
        from core.services.jobs import deliver_by
        from core.services.private_files import keep_private
        from core.tasks import deliver

        deliver_by(deliver)
        connection_created.connect(keep_private, dispatch_uid="core.keep_private")
