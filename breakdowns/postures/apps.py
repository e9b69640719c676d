from django.apps import AppConfig


class PosturesConfig(AppConfig):
    name = "breakdowns.postures"
    label = "postures"
