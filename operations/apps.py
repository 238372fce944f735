from django.apps import AppConfig
from django.utils.translation import gettext_noop


class OperationsConfig(AppConfig):
    name = "operations"
    verbose_name = "Running it"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the lines of tasks named, and the pages of jobs and of changes offered on that of the firm."""
        from accounts.calc.roles import Role
        from core.presentation.links import Link, offer_link
        from operations.services import task_log

        task_log.connect()
        offer_link(
            "firm",
            Link(
                gettext_noop("Work in the background"), "operations:job-list", order=60, least_role=Role.ADMIN
            ),
        )
        changes = Link(
            gettext_noop("Who changed what"), "operations:trail-list", order=58, least_role=Role.ADMIN
        )
        offer_link("firm", changes)
