"""The pages of a track, its services behind them, and what hostile input meets."""

from __future__ import annotations

import csv
import io
import itertools
import json
from fractions import Fraction

import numpy as np
import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.footage.selectors import master_path
from breakdowns.scripts.services import breakdown_create, revision_undo
from breakdowns.stills.models import Still
from breakdowns.tracks import services
from breakdowns.tracks.changes import applied, joined, of_points, turned
from breakdowns.tracks.choices import choice
from breakdowns.tracks.document import Span, TrackError, other_side, walk
from breakdowns.tracks.models import Track
from breakdowns.tracks.reckoning import Reckoned, TrackFacts
from breakdowns.tracks.selectors import reckoned
from breakdowns.tracks.strip import runs
from tests.anatomy.motion.made import turn
from tests.factory import make_excerpt, make_source, make_user

pytestmark = [pytest.mark.media, pytest.mark.django_db]


def throw(frames: range, rate: float = 25.0) -> dict[str, dict[str, list[float]]]:
    """Hip and shoulder lines that turn one after the other (minimum jerk, Flash and Hogan 1985)."""
    found = {}
    for n in frames:
        row = {}
        for part, middle, y in (("hip", 0.8, 110), ("shoulder", 0.96, 60)):
            angle = np.radians(turn(np.array([n / rate]), middle, 0.6, 70)[0])
            for side, sign in (("left", -1), ("right", 1)):
                row[f"{side}_{part}"] = [160 + sign * 50 * np.cos(angle), y - sign * 50 * np.sin(angle)]
        found[str(n)] = row
    return found


@pytest.fixture
def editor(client):
    user = make_user("editor")
    client.force_login(user)
    return user


@pytest.fixture
def track(editor) -> Track:
    return services.track_make(source=make_source(), in_frame=0, out_frame=50, by=editor, name="Throw")


@pytest.fixture
def thrown(track, editor) -> Track:
    return services.track_points_set(track, throw(range(50)), what="t", by=editor).track


def page(client, track: Track, **query) -> str:
    answer = client.get(track.get_absolute_url(), query)
    assert answer.status_code == 200
    return answer.content.decode()


def post(client, track: Track, **body):
    return client.post(reverse("tracks:points", args=[track.key]), json.dumps(body), "application/json")


def test_a_track_is_begun_from_an_excerpt_or_a_span(client, editor):
    excerpt = make_excerpt()
    address = reverse("tracks:make", args=[excerpt.source.key])
    assert client.get(address, {"excerpt": excerpt.pk}).status_code == 200
    client.post(address, {"excerpt": excerpt.pk, "chain": "arm", "side": "left"})
    made = Track.objects.get()
    assert (made.in_frame, made.out_frame, made.name, made.side) == (10, 30, excerpt.name, "left")
    assert (
        client.post(
            address, {"in_frame": "1 s", "out_frame": "40", "chain": "leg", "side": "right"}
        ).status_code
        == 302
    )
    assert Track.objects.filter(in_frame=25, out_frame=40, chain="leg").exists()
    for span in ({"in_frame": "9", "out_frame": "9"}, {"in_frame": "0", "out_frame": "51"}, {}):
        assert client.post(address, span | {"chain": "arm", "side": "right"}).status_code == 422


def test_a_span_that_is_too_long_is_told(editor):
    source = make_source()
    source.frame_count = 100_000
    source.save()
    with pytest.raises(TrackError, match=r"100000 frames and a track may have 2000"):
        services.track_make(source=source, in_frame=0, out_frame=100_000, by=editor)


def test_the_page_tells_the_order_in_a_sentence(client, thrown):
    text = page(client, thrown, frame=20)
    assert "Pelvis leads trunk by 160 ±" in text
    assert reverse("scripts:put_sentence") in text
    assert "right elbow" in text
    assert "marked nowhere" in text
    assert "turning of pelvis and trunk about the vertical" in text
    thrown.source.view = "overhead"
    thrown.source.save()
    assert "Seen from above" in page(client, thrown)


def test_the_view_speaks_and_the_policy_allows_the_model_here_alone(client, thrown):
    assert "'wasm-unsafe-eval'" in client.get(thrown.get_absolute_url())["Content-Security-Policy"]
    assert "unsafe" not in client.get(reverse("tracks:index"))["Content-Security-Policy"]


def test_points_are_placed_undone_and_had_back(client, track):
    state = post(client, track, base_version=1, frames={"5": {"left_hip": [10, 20.5]}}).json()
    assert state["version"] == 2
    assert "landmarks" not in state
    client.post(reverse("tracks:undo", args=[track.key]))
    track.refresh_from_db()
    assert track.landmarks == {}
    client.post(reverse("tracks:redo", args=[track.key]))
    track.refresh_from_db()
    assert track.landmarks == {"5": {"left_hip": [10.0, 20.5, "placed"]}}


def test_a_new_change_after_going_back_loses_nothing(track, editor):
    for x in (1, 2, 3):
        services.track_points_set(track, {"0": {"nose": [x, 1]}}, what=str(x), by=editor)
    services.track_undo(track)
    services.track_undo(track)
    services.track_points_set(track, {"0": {"nose": [9, 1]}}, what="9", by=editor)
    seen = []
    for _ in range(5):
        track = services.track_undo(track)
        seen.append(track.landmarks.get("0", {}).get("nose", [None])[0])
    assert seen == [1, 3, 2, 1, None]


def test_what_somebody_else_changed_meanwhile_is_told_and_kept(client, track):
    services.track_points_set(track, {"3": {"nose": [1, 1]}}, what="x", by=make_user("editor"))
    state = post(client, track, base_version=1, frames={"3": {"nose": [2, 2]}}).json()
    assert "Somebody changed 1 of these points" in state["said"]
    assert state["landmarks"]["3"]["nose"][:2] == [2, 2]
    assert services.track_undo(track).landmarks["3"]["nose"][:2] == [1, 1]


def test_suggestions_never_push_out_what_a_hand_placed_and_are_one_step(client, track):
    post(client, track, base_version=1, frames={"1": {"nose": [5, 5]}})
    for frame in ("1", "2", "3"):
        state = post(
            client, track, suggest=True, run="abc", frames={frame: {"nose": [7, 7, "suggested", 0.4]}}
        ).json()
    assert state["kept"] == 0
    track.refresh_from_db()
    assert [track.landmarks[n]["nose"][2] for n in "123"] == ["placed", "suggested", "suggested"]
    assert track.revisions.count() == 2
    client.post(reverse("tracks:change", args=[track.key]), {"do": "confirm", "all": "yes"})
    track.refresh_from_db()
    assert track.landmarks["2"]["nose"] == [7.0, 7.0, "confirmed"]


def test_left_and_right_are_swapped_here_or_from_here_on(client, thrown):
    before = thrown.landmarks
    client.post(reverse("tracks:change", args=[thrown.key]), {"do": "swap", "frame": "20", "onward": "yes"})
    thrown.refresh_from_db()
    assert thrown.landmarks["19"] == before["19"]
    assert thrown.landmarks["20"]["left_hip"] == before["20"]["right_hip"]
    assert thrown.landmarks["49"]["right_shoulder"] == before["49"]["left_shoulder"]


def test_landmarks_of_stills_are_taken_over(client, track, editor):
    marks = {"landmarks": {"left_hip": {"at": [10, 20], "state": "suggested"}}, "marks": [], "version": 1}
    for frame in (4, 8):
        Still.objects.create(source=track.source, frame=frame, document=marks)
    client.post(reverse("tracks:change", args=[track.key]), {"do": "stills", "as_keys": "on"})
    track.refresh_from_db()
    assert track.landmarks["4"] == {"left_hip": [10.0, 20.0, "suggested"]}
    assert track.key_frames == [4, 8]
    assert reckoned(track).made(["left_hip"]) == {"left_hip": {5, 6, 7}}


def test_gaps_are_filled_between_named_key_frames_only(track, editor):
    rows = {key: row for key, row in throw(range(50)).items() if int(key) % 4 == 0}
    services.track_points_set(track, rows, what="x", by=editor)
    row = services.track_keys_set(track, [8, 12], by=editor)
    assert reckoned(row).made(["left_hip"]) == {"left_hip": {9, 10, 11}}


def test_files_come_back_as_they_went_out(client, thrown):
    for kind in ("points", "json"):
        out = client.get(reverse("tracks:export", args=[thrown.key, kind]))
        assert out.status_code == 200
        other = services.track_make(source=thrown.source, in_frame=0, out_frame=50, by=None)
        file = io.BytesIO(out.content)
        file.name = "a.txt"
        assert (
            client.post(reverse("tracks:change", args=[other.key]), {"do": "file", "file": file}).status_code
            == 302
        )
        other.refresh_from_db()
        assert other.landmarks == thrown.landmarks
    rows = list(
        csv.DictReader(
            io.StringIO(client.get(reverse("tracks:export", args=[thrown.key, "curves"])).content.decode())
        )
    )
    assert len(rows) == 50
    assert float(rows[10]["pelvis_deg_sd"]) > 0
    assert rows[0]["pelvis_deg_per_s"] == ""
    for kind in ("speed", "angle"):
        assert b"<svg" in client.get(reverse("tracks:export", args=[thrown.key, kind])).content


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (b"", "columns"),
        (b"frame,landmark,x\n1,nose,2", "no y"),
        (b"frame,landmark,x,y\n1,nose,nan,2", "number of pixels"),
        (b"frame,landmark,x,y\n1,nose,inf,2", "number of pixels"),
        (b"frame,landmark,x,y\n1,left_hipp,1,2", "did you mean left_hip"),
        (b"frame,landmark,x,y\n1,nose,1,2\n1,nose,3,2", "a second place"),
        (b"frame,landmark,x,y\n99,nose,1,2", "not in this track"),
        (b"frame,landmark,x,y\n-1,nose,1,2", "whole number"),
        (b"frame,landmark,x,y\n1,nose,99999,2", "more than one picture outside"),
        (b'{"frames": [{"frame": 1, "points": {"nose": [NaN, 1]}}]}', "no JSON number"),
        (b'{"frames": [{"frame": 1, "points": {}}, {"frame": 1, "points": {}}]}', "stands twice"),
        (b'{"frames": ' + b"[" * 100_000, "nested|JSON"),
        (b"\xff\xfe", "UTF-8"),
        (b"a\x00", "U\\+0000"),
    ],
)  # fmt: skip
def test_a_faulty_file_is_refused_with_a_sentence(client, track, text, says):
    file = io.BytesIO(text)
    file.name = "a.csv"
    answer = client.post(reverse("tracks:change", args=[track.key]), {"do": "file", "file": file})
    assert answer.status_code == 422
    import re

    assert re.search(says, answer.content.decode())
    track.refresh_from_db()
    assert track.landmarks == {}


@pytest.mark.parametrize(
    "frames",
    [None, [], 5, {"x": {}}, {"1": []}, {"1": {"nose": 5}}, {"1": {"nose": [1]}}, {"1": {"nose": [True, 2]}},
     {"1": {"nose": ["1", 2]}}, {"1": {"nose": [1e300, 2]}}, {"1": {"nose": [1, 2, "x"]}}, {"50": {"nose": [1, 2]}},
     {"1": {"nose": [1, 2, "suggested", 7]}}, {"1": {"<b>": [1, 2]}}, {"٣": {"nose": [1, 2]}}],
)  # fmt: skip
def test_faulty_points_are_refused_whole(client, track, frames):
    answer = post(client, track, base_version=1, frames=frames)
    assert answer.status_code == 422
    assert answer.json()["error"].endswith((".", "?"))
    track.refresh_from_db()
    assert track.version == 1


@pytest.mark.parametrize("raw", [b"", b"[", b"[]", b'{"frames": NaN}', b"\xff", b'{"a": "\\u0000"}'])
def test_what_is_no_request_is_refused(client, track, raw):
    assert client.post(reverse("tracks:points", args=[track.key]), raw, "application/json").status_code in (
        400,
        422,
    )


def test_a_point_outside_is_kept_and_told(client, track):
    post(client, track, base_version=1, frames={"1": {"nose": [-20, 20]}})
    assert "1 point outside the picture" in page(client, track)


@pytest.mark.parametrize(
    "keep", [lambda n: n % 10 == 0, lambda n: n == 7, lambda n: n in (1, 40), lambda n: False]
)
def test_few_frames_are_no_order_and_no_fault(client, track, editor, keep):
    rows = {key: row for key, row in throw(range(50)).items() if keep(int(key))}
    services.track_points_set(track, rows, what="x", by=editor)
    services.track_keys_set(track, [0, 10], by=editor)
    text = page(client, track)
    assert "leads" not in text
    for kind in ("curves", "points", "json"):
        assert client.get(reverse("tracks:export", args=[track.key, kind])).status_code == 200


def test_coincident_points_make_a_gap(client, track, editor):
    services.track_points_set(
        track, {str(n): {"left_hip": [5, 5], "right_hip": [5, 5]} for n in range(50)}, what="x", by=editor
    )
    assert "Not told" in page(client, track)


def test_the_page_stands_when_the_file_is_gone(client, thrown):
    master_path(thrown.source).unlink()
    text = page(client, thrown)
    assert "file is gone" in text
    assert "Pelvis leads trunk" in text


def test_choices_are_bounded_and_undone(client, thrown):
    address = reverse("tracks:change", args=[thrown.key])
    form = {
        "do": "choices",
        "name": "T",
        "chain": "arm",
        "side": "right",
        "smoothing": "given",
        "cutoff_hz": "6",
        "click_sd_px": "2",
    }
    assert client.post(address, form).status_code == 302
    assert "6.0 Hz" in page(client, thrown)
    for wrong in (
        {"cutoff_hz": "99"},
        {"cutoff_hz": "nan"},
        {"cutoff_hz": ""},
        {"click_sd_px": "-1"},
        {"click_sd_px": "inf"},
        {"chain": "tail"},
    ):
        assert client.post(address, form | wrong).status_code == 422, wrong
    assert services.track_undo(thrown).smoothing == "automatic"


def test_a_cut_off_too_high_for_few_frames_is_told(client, track, editor):
    rows = {key: row for key, row in throw(range(50)).items() if int(key) % 4 == 0}
    services.track_points_set(track, rows, what="x", by=editor)
    services.track_settings_save(track, smoothing="given", cutoff_hz=10.0, by=editor)
    assert "A cut-off of 10 Hz can&#x27;t be used" in page(client, track)


def test_the_plain_form_places_a_point(client, track):
    address = reverse("tracks:change", args=[track.key])
    assert (
        client.post(
            address, {"do": "point", "frame": "9", "landmark": "nose", "x": "4.5", "y": "6"}
        ).status_code
        == 302
    )
    track.refresh_from_db()
    assert track.landmarks == {"9": {"nose": [4.5, 6.0, "placed"]}}
    for x in ("nan", "1e9", "", "x"):
        assert (
            client.post(
                address, {"do": "point", "frame": "9", "landmark": "nose", "x": x, "y": "6"}
            ).status_code
            == 422
        )
    assert client.post(address, {"do": "keys", "frames": "3 x"}).status_code == 422
    assert client.post(address, {"do": "keys", "frames": "3 99"}).status_code == 422
    assert client.post(address, {"do": "nothing"}).status_code == 302


def test_the_sentence_goes_into_a_beat_and_out_again(client, editor):
    script = breakdown_create(by=editor, title="The throw")
    beat = script.beats.get()
    address, said = reverse("scripts:put_sentence"), "Pelvis leads trunk by 46 ± 12 ms."
    assert said in client.get(address, {"sentence": said, "script": script.slug}).content.decode()
    client.post(address, {"sentence": said, "beat": str(beat.key)})
    beat.refresh_from_db()
    assert beat.words == said
    script.refresh_from_db()
    revision_undo(script, by=editor)
    assert script.beats.get().words == ""
    assert client.post(address, {"sentence": said, "beat": "x"}).status_code == 404
    assert client.get(address, {"sentence": "", "script": "\0"}).status_code == 200


# --- rules ---------------------------------------------------------------------------------------

NAMES, PLACES = (
    st.sampled_from(["nose", "left_hip", "right_hip"]),
    st.sampled_from([None, [1.0, 2.0, "placed"], [3.0, 4.0, "suggested"]]),
)
GOALS = st.dictionaries(st.sampled_from("0123"), st.dictionaries(NAMES, PLACES, max_size=3), max_size=4)


@given(st.lists(GOALS, max_size=5))
def test_changes_join_and_turn_back(goals):
    states, changes = [{}], []
    for goal in goals:
        changes.append(of_points(states[-1], goal))
        states.append(applied(states[-1], changes[-1]))
    whole = joined(changes)
    assert applied({}, whole) == states[-1]
    assert applied(states[-1], turned(whole)) == {}


@given(st.sets(st.integers(0, 40)))
def test_runs_hold_each_frame_once(frames):
    found = runs(frames)
    assert sorted(n for a, b in found for n in range(a, b)) == sorted(frames)
    assert all(b < c for (_, b), (c, _) in itertools.pairwise(found))


def test_names_have_another_side():
    assert [other_side(n) for n in ("left_hip", "right_foot_index", "nose")] == [
        "right_hip",
        "left_foot_index",
        "nose",
    ]
    assert walk("leg", "left")[2] == "left_knee"
    assert 3 in Span(3, 4, (1, 1))
    assert choice("longest_track") == 2000


def test_the_leg_chain_has_a_foot():
    points = {
        str(n): {
            "right_heel": [100, 100, "placed"],
            "right_foot_index": [100 + 30 * np.cos(a), 100 - 30 * np.sin(a), "placed"],
        }
        for n, a in enumerate(np.radians(turn(np.arange(40) / 50, 0.4, 0.4, 80)))
    }
    done = Reckoned(TrackFacts(Fraction(50), (640, 480), 1.0, points, chain="leg"))
    assert done.peaks[0].time_s == pytest.approx(0.4, abs=0.005)
