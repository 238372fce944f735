from django.apps import AppConfig


class AccountsConfig(AppConfig):
    name = "accounts"
    verbose_name = "People and firms"
    default_auto_field = "django.db.models.BigAutoField"
