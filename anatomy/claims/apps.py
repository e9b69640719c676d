from django.apps import AppConfig


class ClaimsConfig(AppConfig):
    name = "anatomy.claims"
    label = "claims"
    verbose_name = "Claims"
