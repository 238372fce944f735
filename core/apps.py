from django.apps import AppConfig


class CoreConfig(AppConfig):
    name = "core"
    verbose_name = "What every app stands on"
    default_auto_field = "django.db.models.BigAutoField"
