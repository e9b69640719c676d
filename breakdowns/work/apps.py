from django.apps import AppConfig


class WorkConfig(AppConfig):
    name = "breakdowns.work"
    label = "work"
    verbose_name = "Background work"
