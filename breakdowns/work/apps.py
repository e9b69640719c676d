from django.apps import AppConfig


class WorkConfig(AppConfig):
    name = "breakdowns.work"
    label = "work"
    verbose_name = "Background work"

    def ready(self) -> None:
        from .post import tasks  # noqa: F401  letters are sent by a piece of work
