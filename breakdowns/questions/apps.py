from django.apps import AppConfig
from django.db.models.signals import post_migrate
from django.urls import reverse

from breakdowns.people.own_data import holds_own_data


class QuestionsConfig(AppConfig):
    name = "breakdowns.questions"
    label = "questions"
    verbose_name = "Members' questions, the desk, answers"

    def ready(self) -> None:
        from breakdowns.people.keys.services import feed_is_at

        from .search.services import indexes_make
        from .services import own_data_erase, own_data_export

        post_migrate.connect(indexes_make, sender=self, dispatch_uid="questions full text")

        feed_is_at(lambda token: reverse("questions:feed", args=[token]))
        holds_own_data(
            "questions",
            own_data_export,
            own_data_erase,
            stays="Published answers stay; nothing in them tells who asked.",
        )
