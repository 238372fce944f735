from django.apps import AppConfig


class OperationsConfig(AppConfig):
    name = "operations"
    verbose_name = "Running it"
    default_auto_field = "django.db.models.BigAutoField"
