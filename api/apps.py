from django.apps import AppConfig
from django.db.models.signals import post_delete

from core.calc.translation import gettext_noop


class ApiConfig(AppConfig):
    name = "api"
    verbose_name = "Programs of others"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Offer the page of tokens on that of the firm and of the person; end tokens when their person leaves."""
        from accounts.calc.roles import Role
        from accounts.models import Membership, OwnerPerson
        from api.services.leaving import member_left, reader_left
        from core.presentation.links import Link, offer_link

        offer_link(
            "firm",
            Link(gettext_noop("Programs that read and record"), "api:token-list", 42, least_role=Role.VIEWER),
        )
        offer_link("me", Link(gettext_noop("Programs that act for you"), "api:token-list"))
        post_delete.connect(member_left, sender=Membership, dispatch_uid="api.member_left")
        post_delete.connect(reader_left, sender=OwnerPerson, dispatch_uid="api.reader_left")
