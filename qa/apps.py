from django.apps import AppConfig
from django.utils.translation import gettext_noop


class QaConfig(AppConfig):
    name = "qa"
    verbose_name = "What was built and measured"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Offer this app's pages on those of firms and owners."""
        from accounts.calc.roles import Role
        from core.presentation.links import Link, offer_link

        offer_link("firm", Link(gettext_noop("Limits and bands"), "qa:rule-list", order=20))
        offer_link(
            "owner",
            Link(
                gettext_noop("Add a site"), "qa:site-create", query="?owner={pk}", least_role=Role.COORDINATOR
            ),
        )
