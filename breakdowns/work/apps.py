from django.apps import AppConfig


class WorkConfig(AppConfig):
    name = "breakdowns.work"
    label = "work"
    verbose_name = "Background work"

    def ready(self) -> None:
        # Letters are sent and tables of members taken in by pieces of work.
        from .members import tasks as members  # noqa: F401
        from .post import tasks as post  # noqa: F401
