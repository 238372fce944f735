from django.apps import AppConfig


class QaConfig(AppConfig):
    name = "qa"
    verbose_name = "What was built and what was measured"
    default_auto_field = "django.db.models.BigAutoField"
