from django.apps import AppConfig


class QuestionsConfig(AppConfig):
    name = "breakdowns.questions"
    label = "questions"
    verbose_name = "Members' questions, the desk, answers"
