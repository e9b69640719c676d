from django.apps import AppConfig


class MusclesConfig(AppConfig):
    name = "anatomy.muscles"
    label = "muscles"
    verbose_name = "Muscles"
