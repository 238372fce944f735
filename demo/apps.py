from django.apps import AppConfig


class DemoConfig(AppConfig):
    name = "demo"
    verbose_name = "The invented firm"
    default_auto_field = "django.db.models.BigAutoField"
