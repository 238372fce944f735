from django.apps import AppConfig


class QaConfig(AppConfig):
    name = "qa"
    verbose_name = "What was built and measured"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Offer this app's pages on those of firms and owners."""
        from accounts.calc.roles import Role
        from core.presentation.links import Link, offer_link

        offer_link("firm", Link("Limits and bands", "qa:rule-list", order=20))
        offer_link(
            "owner",
            Link("Add a site", "qa:site-create", query="?owner={pk}", least_role=Role.COORDINATOR),
        )
