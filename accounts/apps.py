from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in, user_login_failed
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop


class AccountsConfig(AppConfig):
    name = "accounts"
    verbose_name = "People and firms"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have every refused number named beside the end it passed: the framework's words leave it out.

        And have sign-ins logged, those that fail too.
        """
        MinValueValidator.message = _lazy("%(show_value)s is too small. Give %(limit_value)s or more.")
        MaxValueValidator.message = _lazy("%(show_value)s is too large. Give %(limit_value)s or less.")
        from accounts.services import digests  # noqa: F401  # the work of its jobs
        from accounts.views.failed_sign_ins import log_failure, log_sign_in
        from core.presentation.links import Link, offer_link

        user_login_failed.connect(log_failure, dispatch_uid="accounts.failed_sign_ins")
        user_logged_in.connect(log_sign_in, dispatch_uid="accounts.sign_ins")
        offer_link("me", Link(gettext_noop("Choose what you are told"), "accounts:notice-choose", order=5))
