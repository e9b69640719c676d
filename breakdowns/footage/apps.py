from django.apps import AppConfig


class FootageConfig(AppConfig):
    name = "breakdowns.footage"
    label = "footage"
    verbose_name = "Footage"

    def ready(self) -> None:
        from . import tasks  # noqa: F401  registers what the worker can do
