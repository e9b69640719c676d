from django.apps import AppConfig

from breakdowns.people.own_data import holds_own_data


class QuestionsConfig(AppConfig):
    name = "breakdowns.questions"
    label = "questions"
    verbose_name = "Members' questions, the desk, answers"

    def ready(self) -> None:
        from .services import own_data_erase, own_data_export

        holds_own_data(
            "questions",
            own_data_export,
            own_data_erase,
            stays="Published answers stay; nothing in them tells who asked.",
        )
