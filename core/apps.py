from django.apps import AppConfig
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate


class CoreConfig(AppConfig):
    name = "core"
    verbose_name = "What every app stands on"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Set up the log, the looking up of texts and the way jobs are delivered.

        And keep the embedded database private, and make the cache's table.
        """
        from django.utils import translation

        from core.calc.translation import look_up_by
        from core.services.cache import make_table
        from core.services.jobs import deliver_by
        from core.services.log_lines import hand_to_standard_log
        from core.services.private_files import keep_private
        from core.tasks import deliver, deliver_batches, deliver_beside

        hand_to_standard_log()
        look_up_by(translation.gettext, translation.ngettext, translation.pgettext, translation.get_language)
        deliver_by(deliver, deliver_batches, deliver_beside)
        post_migrate.connect(make_table, sender=self, dispatch_uid="core.make_table")
        connection_created.connect(keep_private, dispatch_uid="core.keep_private")
