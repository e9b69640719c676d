from importlib import import_module
from importlib.util import find_spec

from django.apps import AppConfig


class QuestionsConfig(AppConfig):
    name = "breakdowns.questions"
    label = "questions"
    verbose_name = "Members' questions, the desk, answers"

    def ready(self) -> None:
        if find_spec("breakdowns.people.own_data"):
            from .services import own_data_erase, own_data_export

            import_module("breakdowns.people.own_data").holds_own_data(
                "questions",
                own_data_export,
                own_data_erase,
                stays="Published answers stay; nothing in them tells who asked.",
            )
