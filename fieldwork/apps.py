from django.apps import AppConfig


class FieldworkConfig(AppConfig):
    name = "fieldwork"
    verbose_name = "Recording without signal"
    default_auto_field = "django.db.models.BigAutoField"
