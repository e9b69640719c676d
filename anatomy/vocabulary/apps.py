from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class VocabularyConfig(AppConfig):
    name = "anatomy.vocabulary"
    label = "vocabulary"
    verbose_name = "Vocabulary"

    def ready(self) -> None:
        post_migrate.connect(_bring_up_to_date, sender=self, dispatch_uid="vocabulary.load")


def _bring_up_to_date(using: str, verbosity: int = 1, **_: Any) -> None:
    """A fresh or upgraded site has the packaged vocabulary as soon as it is migrated."""
    from anatomy.vocabulary.services import load_after_migrate

    load_after_migrate(using, verbosity)
