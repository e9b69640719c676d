from django.apps import AppConfig


class AssemblyConfig(AppConfig):
    name = "breakdowns.assembly"
    label = "assembly"
    verbose_name = "Assembly"

    def ready(self) -> None:
        from . import tasks  # noqa: F401  registers what the worker can do
