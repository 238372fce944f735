from django.apps import AppConfig


class ApiConfig(AppConfig):
    name = "api"
    verbose_name = "Programs of others"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Offer the page of tokens on that of the firm and on that of the person."""
        from accounts.calc.roles import Role
        from core.presentation.links import Link, offer_link

        offer_link(
            "firm", Link("Programs that read and record", "api:token-list", 42, least_role=Role.VIEWER)
        )
        offer_link("me", Link("Programs that act for you", "api:token-list"))
