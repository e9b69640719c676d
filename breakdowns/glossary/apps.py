from django.apps import AppConfig


class GlossaryConfig(AppConfig):
    name = "breakdowns.glossary"
    label = "glossary"
    verbose_name = "Vocabulary browser"
