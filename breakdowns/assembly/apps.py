from django.apps import AppConfig


class AssemblyConfig(AppConfig):
    name = "breakdowns.assembly"
    label = "assembly"
    verbose_name = "Assembly"

    def ready(self) -> None:
        import importlib.util

        if importlib.util.find_spec('breakdowns.assembly.render'):
            from . import tasks  # noqa: F401  registers what the worker can do
