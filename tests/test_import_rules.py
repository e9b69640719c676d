"""The import rules of the house, beyond what the layers contract of pyproject.toml says."""

from __future__ import annotations

import grimp
import pytest
from django.apps import apps
from django.db import models

MAY_REACH_DJANGO = {
    "access", "admin", "apps", "asgi", "context", "forms", "managers", "middleware", "models", "selectors",
    "services", "settings", "tasks", "urls", "views", "wsgi",
}  # fmt: skip
MAY_REACH_DJANGO_FOLDERS = {"management", "migrations", "templatetags"}
STAGES = [
    "people",
    "work",
    "footage",
    "excerpts",
    "scripts",
    "glossary",
    "assembly",
    "publishing",
    "questions",
]
ANATOMY = ["vocabulary", "muscles", "claims", "motion", "contact"]


@pytest.fixture(scope="module")
def graph() -> grimp.ImportGraph:
    return grimp.build_graph("deploy", "breakdowns", "anatomy", include_external_packages=True)


def _is_thin(module: str) -> bool:
    parts = module.split(".")
    return parts[-1] in MAY_REACH_DJANGO or bool(MAY_REACH_DJANGO_FOLDERS & set(parts))


def test_computation_does_not_reach_django_even_through_others(graph: grimp.ImportGraph) -> None:
    pure = [
        m for m in graph.modules if m.split(".")[0] in ("breakdowns", "anatomy", "deploy") and not _is_thin(m)
    ]
    assert {
        "breakdowns.footage.timebase",
        "anatomy.vocabulary.collection",
        "anatomy.vocabulary.packaged",
    } <= set(pure)
    outside = [m for m in graph.modules if m in ("django", "django_tasks", "django_htmx")]
    assert "django" in outside
    guilty = {
        m: graph.find_shortest_chain(m, o)
        for m in pure
        for o in outside
        if graph.find_shortest_chain(m, o) is not None
    }
    assert guilty == {}


def test_no_model_points_to_a_later_stage() -> None:
    for stage in STAGES:
        for model in apps.get_app_config(stage).get_models():
            for field in model._meta.get_fields():
                if isinstance(field, models.ForeignKey):
                    target = field.related_model._meta.app_label
                    if target in STAGES:
                        assert STAGES.index(target) <= STAGES.index(stage), f"{model.__name__}.{field.name}"


def test_no_model_of_anatomy_points_outside_it() -> None:
    for app in ANATOMY:
        assert apps.get_app_config(app).name == f"anatomy.{app}"
        for model in apps.get_app_config(app).get_models():
            for field in model._meta.get_fields():
                if isinstance(field, models.ForeignKey):
                    assert field.related_model._meta.app_label in ANATOMY, f"{model.__name__}.{field.name}"


def test_each_stage_with_models_has_migrations() -> None:
    from importlib.util import find_spec

    for stage in STAGES:
        if not list(apps.get_app_config(stage).get_models()):
            continue
        assert find_spec(f"breakdowns.{stage}.migrations.0001_initial"), stage
    for app in ANATOMY:
        if list(apps.get_app_config(app).get_models()):
            assert find_spec(f"anatomy.{app}.migrations.0001_initial"), app
