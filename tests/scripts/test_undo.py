"""Undo and redo: every state comes back exactly, and no state is ever lost."""

from __future__ import annotations

from datetime import timedelta
from fractions import Fraction

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from breakdowns.people.models import User
from breakdowns.scripts import services
from breakdowns.scripts.models import Beat, Breakdown, Revision
from breakdowns.scripts.snapshots import snapshot
from breakdowns.scripts.tables import limits

from .conftest import write

pytestmark = pytest.mark.django_db


def state(breakdown) -> dict:
    fresh = Breakdown.objects.get(pk=breakdown.pk)
    found = snapshot(fresh, fresh.beats.order_by("position"))
    for row in found["beats"]:
        del row["version"]
    return found


def type_in(breakdown, key, text, by) -> None:
    beat = Beat.objects.get(breakdown=breakdown, key=key)
    services.beat_words_save(breakdown, key, text, base_version=beat.version, base_words=beat.words, by=by)


def test_typing_on_in_one_beat_is_one_step(editor, breakdown):
    key = breakdown.beats.get().key
    for text in ("F", "Fl", "Floor"):
        type_in(breakdown, key, text, editor)
    assert Revision.objects.count() == 1
    services.revision_undo(breakdown, by=editor)
    assert breakdown.beats.get().words == ""
    services.revision_redo(breakdown, by=editor)
    assert breakdown.beats.get().words == "Floor"


def test_a_stop_another_beat_or_another_person_begins_a_new_step(editor, other, breakdown):
    one, two = write(breakdown, "", "", by=editor)
    count = Revision.objects.count()
    type_in(breakdown, one.key, "a", editor)
    type_in(breakdown, two.key, "b", editor)
    type_in(breakdown, two.key, "bc", other)
    assert Revision.objects.count() == count + 3
    Beat.objects.filter(key=two.key).update(changed_at=timezone.now() - timedelta(minutes=1))
    type_in(breakdown, two.key, "bcd", other)
    assert Revision.objects.count() == count + 4


def test_settings_come_back_too(editor, breakdown):
    services.breakdown_settings_save(breakdown, by=editor, title="Another title", wished_seconds=120)
    services.revision_undo(breakdown, by=editor)
    breakdown.refresh_from_db()
    assert (breakdown.title, breakdown.wished_seconds) == ("Late hips, early arm", None)


def test_nothing_to_undo_or_redo_is_told(editor, breakdown):
    with pytest.raises(services.ScriptError, match="Nothing to undo"):
        services.revision_undo(breakdown, by=editor)
    with pytest.raises(services.ScriptError, match="Nothing to redo"):
        services.revision_redo(breakdown, by=editor)


def test_versions_only_rise_also_when_going_back(editor, breakdown):
    key = breakdown.beats.get().key
    type_in(breakdown, key, "a", editor)
    before = Beat.objects.get(key=key).version
    services.revision_undo(breakdown, by=editor)
    assert Beat.objects.get(key=key).version > before


def test_what_was_undone_survives_a_new_change(editor, breakdown):
    key = breakdown.beats.get().key
    type_in(breakdown, key, "precious words", editor)
    services.beat_insert(breakdown, by=editor, words="and more")
    services.revision_undo(breakdown, by=editor)
    services.revision_undo(breakdown, by=editor)
    type_in(breakdown, key, "a new start", editor)
    seen = [state(breakdown)]
    while Revision.objects.filter(breakdown=breakdown, undone=False).exists():
        services.revision_undo(breakdown, by=editor)
        seen.append(state(breakdown))
    assert any(row["words"] == "precious words" for one in seen for row in one["beats"])
    assert any(row["words"] == "and more" for one in seen for row in one["beats"])


def test_only_so_many_steps_are_kept_and_all_of_them_can_be_taken_back(editor, breakdown, monkeypatch):
    monkeypatch.setitem(limits(), "undo_steps", Fraction(4))
    states = [state(breakdown)]
    for number in range(7):
        services.beat_insert(breakdown, by=editor, words=str(number))
        states.append(state(breakdown))
    assert Revision.objects.filter(breakdown=breakdown).count() == 4
    for earlier in (6, 5, 4, 3):
        services.revision_undo(breakdown, by=editor)
        assert state(breakdown) == states[earlier]
    with pytest.raises(services.ScriptError, match="Nothing to undo"):
        services.revision_undo(breakdown, by=editor)
    services.beat_insert(breakdown, by=editor, words="new")
    assert list(Revision.objects.order_by("number").values_list("undone", flat=True)) == [False] * 4
    services.revision_undo(breakdown, by=editor)
    assert state(breakdown) == states[3]


def test_a_change_that_fails_lets_no_state_go(editor, breakdown, monkeypatch):
    monkeypatch.setitem(limits(), "undo_steps", Fraction(2))
    for number in range(3):
        services.beat_insert(breakdown, by=editor, words=str(number))
    kept = list(Revision.objects.order_by("number").values_list("number", flat=True))
    monkeypatch.setattr(services, "_new", lambda *args, **fields: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        services.beat_insert(breakdown, by=editor, words="lost")
    assert list(Revision.objects.order_by("number").values_list("number", flat=True)) == kept


def test_a_deleted_excerpt_leaves_the_words_standing(editor, breakdown, excerpt):
    (beat,) = write(breakdown, "words", by=editor)
    services.beat_picture_save(breakdown, beat.key, by=editor, kind="excerpt", excerpt_id=excerpt.pk)
    services.beat_delete(breakdown, beat.key, by=editor)
    excerpt.delete()
    services.revision_undo(breakdown, by=editor)
    back = breakdown.beats.get()
    assert (back.words, back.kind, back.excerpt_id) == ("words", "camera", None)


COMMANDS = st.tuples(
    st.sampled_from(["type", "insert", "move", "delete", "split", "join", "copy", "picture", "undo", "redo"]),
    st.integers(0, 7),
    st.integers(0, 7),
)


def carry_out(breakdown, command, by) -> None:
    name, which, number = command
    beats = list(breakdown.beats.order_by("position"))
    if name in ("undo", "redo"):
        (services.revision_undo if name == "undo" else services.revision_redo)(breakdown, by=by)
        return
    if name == "insert" or not beats:
        services.beat_insert(breakdown, after=beats[which % len(beats)].key if beats else None, by=by)
        return
    key = beats[which % len(beats)].key
    if name == "type":
        type_in(breakdown, key, f"word {number} and more.", by)
    elif name == "move":
        services.beat_move(breakdown, key, number, by=by)
    elif name == "split":
        services.beat_split(breakdown, key, number, by=by)
    elif name == "picture":
        services.beat_picture_save(breakdown, key, by=by, kind="plate", seconds_ms=1000 * number + 500)
    else:
        command = {
            "delete": services.beat_delete,
            "join": services.beat_join,
            "copy": services.beat_duplicate,
        }
        command[name](breakdown, key, by=by)


class Algebra(TestCase):
    """Any commands: undoing all gives the first state, redoing all the last, one by one the same way."""

    @settings(max_examples=20, deadline=None)
    @given(commands=st.lists(COMMANDS, max_size=8))
    def test_all_the_way_back_and_forth(self, commands):
        by = User.objects.create_user(f"{User.objects.count()}@example.org", name="Editor", role="editor")
        breakdown = services.breakdown_create(by=by, title="Any")
        first, words = state(breakdown), set()
        for command in commands:
            try:
                carry_out(breakdown, command, by)
            except services.ScriptError:
                continue
            words |= {row["words"] for row in state(breakdown)["beats"]}
            positions = list(breakdown.beats.order_by("position").values_list("position", flat=True))
            assert positions == list(range(len(positions)))
        while breakdown.revisions.filter(undone=True).exists():
            services.revision_redo(breakdown, by=by)
        trail = [state(breakdown)]
        while breakdown.revisions.filter(undone=False).exists():
            services.revision_undo(breakdown, by=by)
            trail.append(state(breakdown))
        assert trail[-1] == first
        seen = {row["words"] for one in trail for row in one["beats"]}
        typed_on = {text for text in words if text not in seen}
        assert all(text.startswith("word") for text in typed_on)  # only steps of one run of typing
        for expected in reversed(trail[:-1]):
            services.revision_redo(breakdown, by=by)
            assert state(breakdown) == expected
