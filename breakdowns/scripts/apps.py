from django.apps import AppConfig


class ScriptsConfig(AppConfig):
    name = "breakdowns.scripts"
    label = "scripts"
    verbose_name = "Breakdowns and their scripts"
