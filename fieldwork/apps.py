from django.apps import AppConfig


class FieldworkConfig(AppConfig):
    name = "fieldwork"
    verbose_name = "Recording without signal"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Offer the page of phones beside the visits, and tell the office on its first page what is pressing."""
        from accounts.calc.roles import Role
        from core.calc.translation import gettext_noop
        from core.presentation.links import Link, offer_link
        from core.presentation.notices import offer_notice
        from fieldwork.presentation.notices import pressing_notice

        phones = Link(gettext_noop("Phones"), "fieldwork:phone-list", order=50, least_role=Role.TECHNICIAN)
        offer_link("visits", phones)
        offer_notice("todo", pressing_notice, least_role=Role.COORDINATOR)
