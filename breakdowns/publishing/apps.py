from django.apps import AppConfig


class PublishingConfig(AppConfig):
    name = "breakdowns.publishing"
    label = "publishing"
    verbose_name = "Publishing"
