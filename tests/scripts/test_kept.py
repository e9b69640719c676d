"""What is kept with a beat: its contact with the cautions that it brings, its technique trade-offs."""

from __future__ import annotations

from dataclasses import replace
from html import unescape
from typing import Any
from urllib.parse import urlencode

import pytest
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.assembly.models import Assembly
from breakdowns.contacts.duties import duties
from breakdowns.contacts.reading import owed_by
from breakdowns.publishing.models import Release
from breakdowns.publishing.reading import article_of
from breakdowns.publishing.services import CannotRelease, _check_cautions, page_of
from breakdowns.scripts import services
from breakdowns.scripts.checks.cautions import CautionsCheck
from breakdowns.scripts.margin import read_margin
from breakdowns.scripts.revisions import RevisionError, join, split
from breakdowns.scripts.script import BeatView, ScriptView
from breakdowns.scripts.tradeoffs.notes import MOST, TRADEOFF_TITLE, TradeOff, plate_text
from tests.scripts.conftest import write

FLANK = {"place": "lower-ribs-back", "side": "left"}
ROWS = ["place=lower-ribs-back", "side=left"]
KNEE = ["place=knee", "side=right"]
FOOT = {
    "change": "Plant the foot further out",
    "effect": "more time for the hips to turn",
    "joint": "knee",
    "mechanism": "falls inwards under load",
    "source": "own judgement",
}


@pytest.fixture
def beats(breakdown, editor):
    return write(breakdown, "The hips turn first.", "Then the trunk follows.", by=editor)


def said(answer: Any, status: int = 200) -> str:
    assert answer.status_code == status
    return unescape(" ".join(answer.content.decode().split()))


def script(studio, breakdown) -> str:
    return said(studio.get(breakdown.get_absolute_url()))


def put(studio, breakdown, number: int | str, way: str = "keep", **query: str):
    address = f"{reverse('scripts:put_contact')}?{urlencode(query or FLANK)}"
    return studio.post(address, {"breakdown": breakdown.pk, "beat_number": number, "way": way})


def keep(breakdown, beat, editor, rows=ROWS, **fields):
    return services.beat_note_save(breakdown, beat.key, "a contact", by=editor, contact_rows=rows, **fields)


class TestContactKept:
    def test_the_page_of_a_beat_says_what_belongs_there_and_leads_to_the_map(self, studio, breakdown, beats):
        page = said(studio.get(reverse("scripts:contact", args=[breakdown.slug, beats[1].key])))
        assert "No contact is kept with this beat" in page
        assert reverse("contacts:map") in page
        form = said(studio.get(f"{reverse('scripts:put_contact')}?{urlencode(FLANK)}"))
        assert 'name="beat_number" value="2"' in form
        assert "checked" in form.split('value="keep"')[1].split(">")[0]

    def test_kept_it_stands_beside_the_words_and_the_margin_asks_for_its_cautions(
        self, studio, breakdown, beats
    ):
        assert put(studio, breakdown, 2).status_code == 302
        page = script(studio, breakdown)
        assert "left lower ribs towards the back" in page
        assert "The contact of this beat brings the caution for injury of an organ" in page
        assert duties()["organ"].line in page
        kept = said(studio.get(reverse("scripts:contact", args=[breakdown.slug, beats[1].key])))
        assert kept.count("Missing") == len(owed_by(tuple(ROWS))) == 2

    def test_doing_what_the_margin_offers_settles_it(self, studio, breakdown, beats):
        put(studio, breakdown, 1)
        for _ in range(2):
            page = script(studio, breakdown)
            note = page.split('name="note" value="')[1].split('"')[0]
            studio.post(reverse("scripts:note_action", args=[breakdown.slug]), {"note": note, "action": "1"})
        assert "brings the caution" not in script(studio, breakdown)
        assert "nobody is diagnosed here" not in script(studio, breakdown)
        kept = said(studio.get(reverse("scripts:contact", args=[breakdown.slug, beats[0].key])))
        assert "Missing" not in kept
        assert kept.count("Stands in the piece") == 2

    def test_forgetting_and_undo(self, studio, breakdown, beats):
        put(studio, breakdown, 1)
        address = reverse("scripts:contact", args=[breakdown.slug, beats[0].key])
        studio.post(address, {"forget": "1"})
        beats[0].refresh_from_db()
        assert beats[0].contact_rows == []
        assert "Undo the contact of beat 1" in script(studio, breakdown)
        for turn, rows in (("undo", ROWS), ("undo", []), ("redo", ROWS)):
            studio.post(reverse(f"scripts:{turn}", args=[breakdown.slug]))
            beats[0].refresh_from_db()
            assert beats[0].contact_rows == rows

    def test_a_plate_of_it_goes_in_behind_the_beat(self, studio, breakdown, beats):
        put(studio, breakdown, 1)
        studio.post(reverse("scripts:contact", args=[breakdown.slug, beats[0].key]), {"plate": "1"})
        plate = breakdown.beats.get(position=1)
        assert (plate.kind, plate.plate, plate.plate_rows) == ("plate", "contact", ROWS)
        assert plate.seconds_ms >= 6000
        assert "contact: Left lower ribs towards the back" in script(studio, breakdown)

    def test_another_contact_takes_its_place_and_says_so(self, studio, breakdown, beats):
        put(studio, breakdown, 1)
        put(studio, breakdown, 1, place="knee", side="right")
        page = script(studio, breakdown)
        assert "in place of “left lower ribs towards the back”" in page
        assert "brings the caution" not in page

    @pytest.mark.parametrize(
        ("number", "way", "fault"),
        [("9", "keep", "has 2 beats"), ("", "keep", "give its number"), ("0", "keep", "give its number"), ("-1", "plate", "greater than"), ("x", "plate", "whole number")],
    )  # fmt: skip
    def test_what_is_wrong_is_told_beside_its_field_and_stays_typed(
        self, studio, breakdown, beats, number, way, fault
    ):
        page = said(put(studio, breakdown, number, way), 422)
        assert fault in page.split('name="beat_number"')[1].split("</div>")[0]
        assert f'value="{number}"' in page or number == ""

    def test_words_that_name_no_place_can_not_be_kept(self, studio, breakdown, beats):
        page = said(studio.get(f"{reverse('scripts:put_contact')}?text=a+fine+day"))
        assert "There is nothing to keep" in page
        assert said(studio.get(reverse("scripts:put_contact"))).count("nothing to keep") == 1

    def test_a_beat_that_goes_meanwhile_is_no_fault_of_the_site(self, studio, breakdown, beats, monkeypatch):
        from breakdowns.scripts.contact import views

        def gone(*args, **kwargs):
            raise services.ScriptError("That beat is gone: somebody deleted it.")

        monkeypatch.setattr(views, "beat_note_save", gone)
        assert "That beat is gone" in said(put(studio, breakdown, 1), 422)

    def test_a_place_that_the_map_no_longer_has_stays_readable(self, studio, breakdown, beats, editor):
        keep(breakdown, beats[0], editor, ["place=moon"])
        assert "a place that the map no longer has" in script(studio, breakdown)
        page = said(studio.get(reverse("scripts:contact", args=[breakdown.slug, beats[0].key])))
        assert "It can't be drawn any more" in page
        assert "Forget it" in page


class TestTheGate:
    def account(self, breakdown, editor, beat, **fields) -> dict[str, Any]:
        from breakdowns.assembly.account import account_of
        from breakdowns.assembly.selectors import piece_of

        keep(breakdown, beat, editor, **fields)
        return account_of(piece_of(breakdown))

    def test_a_kept_contact_is_refused_without_its_cautions_and_they_are_named(
        self, breakdown, beats, editor
    ):
        with pytest.raises(CannotRelease) as fault:
            _check_cautions(self.account(breakdown, editor, beats[0]))
        assert "injury of an organ" in str(fault.value)
        assert duties()["organ"].line in str(fault.value)
        assert duties()["head"].line not in str(fault.value)

    def test_the_page_refuses_the_release_and_says_which(
        self, studio, breakdown, beats, editor, settings, tmp_path
    ):
        settings.MEDIA_ROOT = tmp_path
        (tmp_path / "made").mkdir()
        (tmp_path / "made" / f"{breakdown.slug}.mp4").write_bytes(b"invented")
        account = self.account(breakdown, editor, beats[0])
        made = Assembly.objects.create(
            breakdown=breakdown,
            breakdown_version=breakdown.version,
            folder="made",
            finished_at=timezone.now(),
            report={"account": account},
        )
        address = reverse("publishing:release", args=[made.key])
        page = said(studio.post(address, {"audience": "members", "looked": "on"}))
        assert f"injury of an organ: “{duties()['organ'].line}”" in page
        assert f"nobody diagnosed: “{duties()['no_diagnosis'].line}”" in page
        assert duties()["head"].line not in page
        assert not Release.objects.exists()

    def test_so_is_a_contact_plate(self, studio, breakdown, beats, editor):
        put(studio, breakdown, 1, "plate")
        with pytest.raises(CannotRelease, match="injury of an organ"):
            _check_cautions(self.account(breakdown, editor, beats[0], rows=[]))

    def test_it_opens_once_they_are_said(self, breakdown, beats, editor):
        for key in ("organ", "no_diagnosis"):
            services.beat_insert(breakdown, by=editor, words=duties()[key].line)
        _check_cautions(self.account(breakdown, editor, beats[0]))

    def test_a_knee_owes_nothing(self, breakdown, beats, editor):
        _check_cautions(self.account(breakdown, editor, beats[0], rows=KNEE))

    def test_readers_get_the_cautions_the_trade_offs_and_the_sources(self, studio, breakdown, beats, editor):
        put(studio, breakdown, 1, "plate")
        account = self.account(breakdown, editor, beats[0], tradeoffs=[FOOT])

        class Made:
            report = {"account": account}

        Made.breakdown = breakdown  # type: ignore[attr-defined]
        page = page_of(Made)  # type: ignore[arg-type]
        assert duties()["organ"].line in page["cautions"]
        assert any("Ann Emerg Med" in line for line in page["references"])
        sections = article_of(page)
        assert sections[0]["tradeoffs"] == [TradeOff(**FOOT)]
        shown = next(one for one in sections if one.get("plate") == "contact")
        assert "spleen" in shown["plate_html"]

    def test_a_trade_off_on_a_plate_is_not_said_twice(self, breakdown, beats, editor):
        one = TradeOff(**FOOT)
        made = {"plate": "text", "plate_title": TRADEOFF_TITLE, "plate_text": plate_text([one])}
        services.plate_insert(breakdown, seconds_ms=6000, by=editor, after=beats[0].key, **made)
        account = self.account(breakdown, editor, beats[0], rows=[], tradeoffs=[FOOT])
        assert [section["tradeoffs"] for section in article_of(account)] == [[], [], []]


class TestTradeOffs:
    def address(self, breakdown, beat) -> str:
        return reverse("scripts:tradeoffs", args=[breakdown.slug, beat.key])

    def test_empty_says_what_belongs_there(self, studio, breakdown, beats):
        assert "No trade-off stands here yet" in said(studio.get(self.address(breakdown, beats[0])))

    def test_kept_changed_and_taken_out_with_undo(self, studio, breakdown, beats):
        address = self.address(breakdown, beats[0])
        assert studio.post(address, FOOT).status_code == 302
        page = script(studio, breakdown)
        assert (
            "Expected: more time for the hips to turn. Possible cost: knee, falls inwards under load." in page
        )
        change = said(studio.get(f"{address}?change=0"))
        assert 'value="Plant the foot further out"' in change
        studio.post(address, FOOT | {"effect": "a longer step", "place": "0", "was": FOOT["change"]})
        beats[0].refresh_from_db()
        assert [one["effect"] for one in beats[0].tradeoffs] == ["a longer step"]
        studio.post(address, {"take_out": "1", "place": "0", "was": FOOT["change"]})
        beats[0].refresh_from_db()
        assert beats[0].tradeoffs == []
        studio.post(reverse("scripts:undo", args=[breakdown.slug]))
        studio.post(reverse("scripts:undo", args=[breakdown.slug]))
        beats[0].refresh_from_db()
        assert beats[0].tradeoffs == [FOOT]

    def test_a_list_that_changed_meanwhile_is_left_alone(self, studio, breakdown, beats, editor):
        other = FOOT | {"change": "Land on both feet"}
        keep(breakdown, beats[0], editor, [], tradeoffs=[other])
        address = self.address(breakdown, beats[0])
        studio.post(address, {"take_out": "1", "place": "0", "was": FOOT["change"]})
        page = said(studio.post(address, FOOT | {"place": "0", "was": FOOT["change"]}), 422)
        assert "changed meanwhile" in page
        assert FOOT["effect"] in page
        beats[0].refresh_from_db()
        assert beats[0].tradeoffs == [other]

    @pytest.mark.parametrize("name", ["change", "effect", "joint", "mechanism", "source"])
    def test_what_is_missing_is_told_beside_its_field(self, studio, breakdown, beats, name):
        page = said(studio.post(self.address(breakdown, beats[0]), FOOT | {name: ""}), 422)
        assert "errorlist" in page.split(f'name="{name}"')[1].split("</div>")[0]
        kept = next(value for key, value in FOOT.items() if key != name)
        assert f'value="{kept}"' in page

    def test_none_known_needs_no_mechanism_and_is_said(self, studio, breakdown, beats):
        given = FOOT | {"joint": "None known", "mechanism": ""}
        assert studio.post(self.address(breakdown, beats[0]), given).status_code == 302
        assert "No cost is known to us." in script(studio, breakdown)

    def test_a_ninth_is_refused_with_what_was_typed(self, studio, breakdown, beats, editor):
        many = [FOOT | {"change": f"Change {number}"} for number in range(MOST)]
        keep(breakdown, beats[0], editor, [], tradeoffs=many)
        assert "at most" in said(studio.get(self.address(breakdown, beats[0])))
        assert FOOT["change"] in said(studio.post(self.address(breakdown, beats[0]), FOOT), 422)
        assert "stands with the beat already" in said(
            studio.post(self.address(breakdown, beats[0]), many[3]), 422
        )

    def test_on_a_plate_with_its_source(self, studio, breakdown, beats, editor):
        keep(breakdown, beats[0], editor, [], tradeoffs=[FOOT, FOOT | {"change": "Land on both feet"}])
        address = self.address(breakdown, beats[0])
        studio.post(address, {"plate": "1"})
        studio.post(address, {"plate": "1", "place": "1"})
        one, both = breakdown.beats.filter(kind="plate").order_by("position")
        assert one.plate_title == both.plate_title == TRADEOFF_TITLE
        assert "Plant the foot" not in one.plate_text
        assert both.plate_text.count("(own judgement)") == 2

    def test_typed_signs_are_shown_as_typed(self, studio, breakdown, beats):
        studio.post(self.address(breakdown, beats[0]), FOOT | {"change": "<b>More</b> & wider"})
        raw = studio.get(self.address(breakdown, beats[0])).content.decode()
        assert "<b>More" not in raw
        assert "&lt;b&gt;More&lt;/b&gt; &amp; wider" in raw

    def test_an_injury_in_it_brings_the_caution_and_never_carries_it(self):
        one = TradeOff("Turn later", "more speed", "neck", "a blow could injure the spine", "own judgement")
        beat = BeatView("a", "camera", "The hips turn first.", tradeoffs=(one,))
        found = read_margin(ScriptView("Late hips", (beat,)), [CautionsCheck()]).notes
        assert duties()["spine"].line in [note.instead for note in found]
        line = TradeOff(duties()["spine"].line, duties()["no_diagnosis"].line)
        again = replace(beat, tradeoffs=(one, line))
        assert read_margin(ScriptView("Late hips", (again,)), [CautionsCheck()]).notes


some = st.lists(st.sampled_from("abcd"), max_size=4, unique=True).map(
    lambda names: tuple(TradeOff(name, "effect") for name in names)
)
contacts = st.sampled_from([(), tuple(ROWS)])


class TestWhatBecomesOfIt:
    @given(some, contacts, st.integers(0, 20))
    def test_split_leaves_it_with_the_first_part_and_join_gives_the_whole_back(self, tradeoffs, contact, at):
        beat = BeatView(
            "a", "camera", "The hips turn first.", seconds=5, contact=contact, tradeoffs=tradeoffs
        )  # type: ignore[arg-type]
        first, second = split((beat,), "a", at, "b")
        assert (first.contact, first.tradeoffs) == (contact, tradeoffs)
        assert (second.contact, second.tradeoffs) == ((), ())
        assert join((first, second), "a") == (beat,)

    @given(some, some, contacts, contacts)
    def test_join_loses_nothing_and_says_nothing_twice(self, one, other, here, there):
        beats = (
            BeatView("a", "camera", seconds=5, contact=here, tradeoffs=one),  # type: ignore[arg-type]
            BeatView("b", "camera", seconds=5, contact=there, tradeoffs=other),  # type: ignore[arg-type]
        )
        (joined,) = join(beats, "a")
        assert set(joined.tradeoffs) == {*one, *other}
        assert len(joined.tradeoffs) == len({*one, *other})
        assert joined.contact == (here or there)

    def test_two_contacts_are_not_made_one(self):
        beats = BeatView("a", "camera", contact=tuple(ROWS)), BeatView("b", "camera", contact=tuple(KNEE))
        with pytest.raises(RevisionError, match="forget one of them"):
            join(beats, "a")

    def test_in_the_stored_script_too(self, studio, breakdown, beats, editor):
        keep(breakdown, beats[0], editor, tradeoffs=[FOOT])
        services.beat_split(breakdown, beats[0].key, 9, by=editor)
        assert [beat.contact_rows for beat in breakdown.beats.order_by("position")] == [ROWS, [], []]
        services.beat_join(breakdown, beats[0].key, by=editor)
        services.beat_duplicate(breakdown, beats[0].key, by=editor)
        two = list(breakdown.beats.order_by("position"))[:2]
        assert [(beat.contact_rows, beat.tradeoffs) for beat in two] == [(ROWS, [FOOT])] * 2
        services.beat_move(breakdown, beats[0].key, 2, by=editor)
        assert breakdown.beats.get(position=2).contact_rows == ROWS
        services.beat_delete(breakdown, beats[0].key, by=editor)
        services.revision_undo(breakdown, by=editor)
        assert breakdown.beats.get(key=beats[0].key).tradeoffs == [FOOT]

    def test_two_contacts_refuse_through_the_page_and_say_why(self, studio, breakdown, beats, editor):
        keep(breakdown, beats[0], editor)
        keep(breakdown, beats[1], editor, KNEE)
        studio.post(reverse("scripts:beat_join", args=[breakdown.slug, beats[0].key]))
        assert "forget one of them first" in script(studio, breakdown)
        assert breakdown.beats.count() == 2

    def test_printed_with_the_script(self, studio, breakdown, beats, editor):
        keep(breakdown, beats[0], editor, tradeoffs=[FOOT])
        page = said(studio.get(reverse("scripts:print", args=[breakdown.slug])))
        assert "Contact: left lower ribs towards the back" in page
        assert "Possible cost: knee, falls inwards under load. (own judgement)" in page
