from django.apps import AppConfig
from django.utils.translation import gettext_noop


class PlanningConfig(AppConfig):
    name = "planning"
    verbose_name = "Who goes where, and when"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Answer what maintenance asks of agreements and visits, and show its advice on pages of this app."""
        from accounts.calc.roles import Role
        from core.models.pages import register_page
        from core.presentation.links import Link, offer_link
        from maintenance.models import AdviceRelease, Recommendation
        from maintenance.services.commitments import register
        from planning.services import owner_notices, work_plans  # noqa: F401  # the work of their jobs
        from planning.services.commitments import PlannedCommitments

        register(PlannedCommitments())
        offer_link(
            "inspection finding",
            Link(
                gettext_noop("Plan a visit"),
                "planning:finding-plan",
                of_row=True,
                least_role=Role.COORDINATOR,
            ),
        )
        drives = Link(
            gettext_noop("Drives from a file"), "planning:drive-table", order=30, least_role=Role.ADMIN
        )
        offer_link("firm", drives)
        register_page(Recommendation, "planning:recommendation-detail")
        register_page(AdviceRelease, "planning:release-detail")
