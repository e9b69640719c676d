from django.apps import AppConfig


class StillsConfig(AppConfig):
    name = "breakdowns.stills"
    label = "stills"
