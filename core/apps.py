from django.apps import AppConfig
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate


class CoreConfig(AppConfig):
    name = "core"
    verbose_name = "What every app stands on"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have jobs delivered by tasks, the embedded database kept private, and the cache given its table."""
        from core.services.cache import make_table
        from core.services.jobs import deliver_by
        from core.services.private_files import keep_private
        from core.tasks import deliver, deliver_batches

        deliver_by(deliver, deliver_batches)
        post_migrate.connect(make_table, sender=self, dispatch_uid="core.make_table")
        connection_created.connect(keep_private, dispatch_uid="core.keep_private")
