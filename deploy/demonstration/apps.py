from django.apps import AppConfig


class DemonstrationConfig(AppConfig):
    name = "deploy.demonstration"
    label = "demonstration"
    verbose_name = "The demonstration"
