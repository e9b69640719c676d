"""The load of the data files: all or nothing, twice is once, and current after every migration."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, IntegrityError, transaction

from anatomy.vocabulary import services
from anatomy.vocabulary.faults import Fault, VocabularyFaults
from anatomy.vocabulary.models import Action, Membership, Muscle, MuscleNerve, Range, Term, VocabularyState
from anatomy.vocabulary.packaged import packaged_stamp, packaged_vocabulary
from anatomy.vocabulary.reading import read_vocabulary
from anatomy.vocabulary.selectors import current_vocabulary
from anatomy.vocabulary.services import load_after_migrate, vocabulary_load
from tests.anatomy.vocabulary.small_folder import cell, small_files, write_folder

pytestmark = pytest.mark.django_db


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_folder(tmp_path / "vocabulary", small_files())


def everything() -> dict[str, list[dict[str, Any]]]:
    """Every row of every table of the app, in a lasting order."""
    models = apps.get_app_config("vocabulary").get_models()
    return {model.__name__: sorted(model._default_manager.values(), key=str) for model in models}


def test_a_migrated_database_has_the_packaged_vocabulary() -> None:
    assert Muscle.objects.count() == len(packaged_vocabulary().muscles)
    assert VocabularyState.objects.get().loaded_stamp == packaged_stamp()
    assert current_vocabulary() is packaged_vocabulary()


def test_the_tables_hold_what_the_files_say(folder: Path) -> None:
    report = vocabulary_load(folder)
    assert report.counts["muscles"].changed == 2
    assert report.counts["ranges"].added == 1
    assert report.counts["muscles"].removed == len(packaged_vocabulary().muscles) - 2
    assert current_vocabulary().tables() == read_vocabulary(folder).tables()
    muscle = Muscle.objects.get(pk="rectus femoris")
    assert (muscle.whole_id, muscle.roots) == ("quadriceps femoris", ["L2", "L3", "L4"])
    assert [a.motion.joint_id for a in muscle.actions.order_by("motion")] == ["hip", "knee"]
    assert [one.nerve.branch_of_id for one in MuscleNerve.objects.filter(muscle=muscle)] == ["lumbar plexus"]
    assert set(Membership.objects.filter(muscle=muscle).values_list("group", flat=True)) == {
        "knee extensors",
        "quadriceps femoris",
    }
    assert Range.objects.get().high == 150.5
    assert Term.objects.get(text="rec fem").of == "rectus femoris"


def test_loading_twice_changes_nothing(folder: Path) -> None:
    first = vocabulary_load(folder)
    before = everything()
    second = vocabulary_load(folder)
    assert [second.total(what) for what in ("added", "changed", "removed")] == [0, 0, 0]
    assert second.total("unchanged") == sum(
        len(rows) for name, rows in before.items() if name != "VocabularyState"
    )
    assert second.stamp == first.stamp
    assert everything() == before


def test_an_upgrade_is_counted_and_only_the_difference_is_written(folder: Path) -> None:
    vocabulary_load(folder)
    kept = Action.objects.get(muscle="vastus medialis").pk
    files = cell(small_files(), "actions.csv", 0, "role", "assist")
    files["terms_small.csv"] = [
        *files["terms_small.csv"][1:],
        ["recfem", "muscle", "rectus femoris", "slang", "book"],
    ]
    report = vocabulary_load(write_folder(folder, files))
    assert vars(report.counts["actions"]) == {"added": 0, "changed": 1, "removed": 0, "unchanged": 2}
    assert (report.counts["terms"].added, report.counts["terms"].removed) == (1, 1)
    assert report.total("changed") == 1
    assert Action.objects.get(muscle="vastus medialis").pk == kept
    assert current_vocabulary().actions_at("hip", "flexion")[0].role == "assist"


def test_a_name_may_change_its_capitals(folder: Path) -> None:
    vocabulary_load(folder)
    files = cell(small_files(), "terms_small.csv", 0, "text", "Quads")
    vocabulary_load(write_folder(folder, files))
    assert [term.text for term in current_vocabulary().meanings("quads")] == ["Quads"]


def test_a_fault_leaves_everything_as_it_was(folder: Path) -> None:
    vocabulary_load(folder)
    before = everything()
    files = cell(small_files(), "actions.csv", 0, "role", "main")
    files["muscles.csv"] = files["muscles.csv"][1:]
    with pytest.raises(VocabularyFaults):
        vocabulary_load(write_folder(folder, files))
    assert everything() == before


def test_a_write_that_breaks_off_leaves_everything_as_it_was(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = everything()
    rows_of = services.rows_of

    def with_a_broken_row(vocabulary: Any) -> Any:
        rows = rows_of(vocabulary)
        rows["ranges"][0] |= {"low": 2.0, "high": 1.0}
        return rows

    monkeypatch.setattr(services, "rows_of", with_a_broken_row)
    with pytest.raises(IntegrityError), transaction.atomic():
        vocabulary_load(folder)
    assert everything() == before


def test_migrating_brings_an_older_load_up_to_date() -> None:
    Action.objects.all().delete()
    VocabularyState.objects.update(loaded_stamp="older")
    call_command("migrate", verbosity=0)
    assert Action.objects.count() == len(packaged_vocabulary().actions)
    assert VocabularyState.objects.get().loaded_stamp == packaged_stamp()


def test_migrating_leaves_a_vocabulary_of_the_sites_own_files(folder: Path) -> None:
    vocabulary_load(folder)
    load_after_migrate(DEFAULT_DB_ALIAS, 0)
    assert Muscle.objects.count() == 2
    vocabulary_load()
    assert Muscle.objects.count() == len(packaged_vocabulary().muscles)


def test_faulty_packaged_files_do_not_stop_a_migration(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def faulty() -> None:
        raise VocabularyFaults([Fault("muscles.csv", 7, "something", "mend it")])

    VocabularyState.objects.update(loaded_stamp="older")
    monkeypatch.setattr(services, "packaged_vocabulary", faulty)
    load_after_migrate(DEFAULT_DB_ALIAS, 1)
    assert "muscles.csv, line 7" in caplog.text
    assert VocabularyState.objects.get().loaded_stamp == "older"
    assert Muscle.objects.exists()
