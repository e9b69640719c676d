from django.apps import AppConfig


class ExcerptsConfig(AppConfig):
    name = "breakdowns.excerpts"
    label = "excerpts"
    verbose_name = "Excerpts and policies"
