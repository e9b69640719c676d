"""The form for the picture side of a beat."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet

from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Source
from breakdowns.footage.timebase import TimeError, parse_timecode
from breakdowns.postures.models import Posture
from breakdowns.postures.plate import state_rows
from breakdowns.postures.selectors import kept_state
from breakdowns.scripts.columns.services import thousandths
from breakdowns.scripts.forms import LONGEST_BEAT, AnyOf, ExactField, seconds_text
from breakdowns.scripts.models import Beat
from breakdowns.scripts.plate_content import (
    MOST_RIGHT,
    MOST_SAID,
    MOST_SOURCE,
    NoEntry,
    TableRow,
    anatomy_table,
)
from breakdowns.scripts.plate_entries import entry_meant, entry_text, plate_names
from breakdowns.scripts.recording import places_of
from breakdowns.scripts.selectors import PLATE_COLUMNS, plate_query, vocabulary_now
from breakdowns.scripts.snapshots import picture_digest
from breakdowns.stills.models import Still

LONGEST_QUERY = 3500  # servers refuse longer request lines


class KeptStillField(forms.ModelChoiceField):
    """A choice among kept stills, or none."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(Still.objects.none(), required=False, empty_label="no marks", **kwargs)

    def label_from_instance(self, still: Still) -> str:  # type: ignore[override]
        count = still.mark_count
        told = "no marks yet" if not count else "1 mark" if count == 1 else f"{count} marks"
        name = f"{still.name}, " if still.name else ""
        return f"{still.source}: {name}{still.timecode} ({told})"


class PictureForm(forms.Form):
    """The picture side of a beat. Only the fields of the chosen kind are looked at."""

    kind = forms.ChoiceField(label="What is on screen", choices=Beat.Kind.choices, widget=forms.RadioSelect)
    excerpt = forms.ModelChoiceField(
        Excerpt.objects.none(), required=False, widget=forms.RadioSelect, empty_label=None
    )
    in_point = forms.CharField(
        label="In point", max_length=40, required=False, help_text="Only to show less: timecode or frame."
    )
    out_point = forms.CharField(label="Out point", max_length=40, required=False)
    speed = ExactField(
        label="Speed",
        lowest=Fraction(1, 20),
        highest=Fraction(4),
        required=False,
        help_text="1, 1/2, 1/4 or any fraction; 1 is as filmed.",
    )
    hold = ExactField(
        label="Hold the last frame",
        lowest=Fraction(0),
        highest=Fraction(LONGEST_BEAT),
        unit=" s",
        required=False,
        help_text="Seconds.",
    )
    mirrored = forms.BooleanField(label="Mirrored", required=False)
    original_sound = forms.BooleanField(label="Original sound", required=False)
    hold_still = KeptStillField(
        label="Marks over the held frame", help_text="From a kept still of the last frame shown."
    )
    hold_marks_way = forms.ChoiceField(
        label="They come",
        choices=Beat.MarksWay.choices,
        required=False,
        initial=Beat.MarksWay.ONCE,
        help_text="Over the hold, never over moving frames.",
    )
    hold_marks_at = forms.CharField(
        label="Words at which they come",
        max_length=300,
        required=False,
        help_text="One for each mark, divided by commas; said before the hold, its mark is there at once.",
    )
    still = KeptStillField(
        label="Marks of a kept still", help_text="Choosing one sets the source and the frame."
    )
    source = forms.ModelChoiceField(Source.objects.none(), label="Source", required=False)
    frame = forms.CharField(
        label="Frame",
        max_length=40,
        required=False,
        help_text="Timecode (00:01:04:17) or frame number (1937).",
    )
    marks_way = forms.ChoiceField(
        label="Marks come", choices=Beat.MarksWay.choices, required=False, initial=Beat.MarksWay.ONCE
    )
    marks_at = forms.CharField(
        label="Words at which they come",
        max_length=300,
        required=False,
        help_text="One for each mark, divided by commas: hips, shoulders.",
    )
    still_mirrored = forms.BooleanField(label="Mirrored", required=False)
    plate = forms.ChoiceField(label="Kind of plate", choices=Beat.Plate.choices, required=False)
    plate_title = forms.CharField(label="Title", max_length=120, required=False)
    plate_text = forms.CharField(
        label="Text",
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    plate_entry = forms.CharField(
        label="Muscle, or another entry of the vocabulary",
        max_length=160,
        required=False,
        help_text="By any of its names. “Show the plate” then lists its rows.",
        widget=forms.TextInput(attrs={"list": "vocabulary-names", "autocomplete": "off"}),
    )
    plate_rows = AnyOf(
        label="Rows to show",
        required=False,
        help_text="None ticked: all of them.",
        widget=forms.CheckboxSelectMultiple,
    )
    plate_said = forms.CharField(
        label="What was said",
        max_length=MOST_SAID,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    plate_right = forms.CharField(
        label="What is right",
        max_length=MOST_RIGHT,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    plate_source = forms.CharField(label="Where that stands", max_length=MOST_SOURCE, required=False)
    plate_posture = forms.ModelChoiceField(
        Posture.objects.all(),
        label="Kept posture",
        required=False,
        empty_label="as it is",
        help_text="The plate then shows the posture as it is kept now.",
    )
    seconds = ExactField(
        label="Seconds on screen",
        lowest=Fraction(1, 10),
        highest=Fraction(LONGEST_BEAT),
        unit=" s",
        required=False,
    )
    heading = forms.CharField(
        label="Chapter heading", max_length=120, required=False, help_text="Starts a chapter here."
    )
    phase = forms.CharField(label="Phase of the movement", max_length=60, required=False)
    base_picture = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, beat: Beat, **kwargs: Any) -> None:
        self.beat = beat
        super().__init__(*args, initial=self._stored(beat) | kwargs.pop("initial", {}), **kwargs)
        excerpts = Excerpt.objects.select_related("source").order_by("source__title", "in_frame")
        self.fields["excerpt"].queryset = excerpts.filter(source__state=Source.State.READY)  # type: ignore[attr-defined]
        self.fields["source"].queryset = Source.objects.filter(state=Source.State.READY)  # type: ignore[attr-defined]
        for name in ("still", "hold_still"):
            self.fields[name].queryset = self._kept_stills()  # type: ignore[attr-defined]
        self.fields["speed"].widget.attrs["list"] = "speeds"
        self.entry_found: tuple[str, str] | None = None
        self.offer_rows(beat.plate_entry_kind, beat.plate_entry)

    def offer_rows(self, kind: str, name: str) -> None:
        """The rows of an entry's table to choose from; none where there is no such entry."""
        rows: tuple[TableRow, ...] = ()
        with suppress(NoEntry):
            rows = anatomy_table(vocabulary_now(), kind, name).rows if kind else ()
        self.fields["plate_rows"].choices = [  # type: ignore[attr-defined]
            (row.key, f"{row.title}, {row.right}" if row.right else row.title) for row in rows
        ]

    def _kept_stills(self) -> QuerySet[Still]:
        """The stills of the beat's own footage; where it has none yet, those of every source."""
        beat = self.beat
        own = {beat.source_id, beat.excerpt.source_id if beat.excerpt else None} - {None}
        found = Still.objects.filter(source__state=Source.State.READY).select_related("source__event")
        found = found.filter(source__in=own) if own else found
        return found.order_by("source__title", "frame", "pk")

    def names(self) -> tuple[str, ...]:
        """What the search field proposes: muscles and groups first, then joints and their motions."""
        return plate_names(vocabulary_now())

    def _group(self, *names: str) -> list[forms.BoundField]:
        return [self[name] for name in names]

    def excerpt_fields(self) -> list[forms.BoundField]:
        return self._group(
            "in_point",
            "out_point",
            "speed",
            "hold",
            "hold_still",
            "hold_marks_way",
            "hold_marks_at",
            "mirrored",
            "original_sound",
        )

    def still_fields(self) -> list[forms.BoundField]:
        return self._group("still", "marks_way", "marks_at", "source", "frame", "still_mirrored")

    def plate_fields(self) -> list[forms.BoundField]:
        return self._group("plate_title", "plate_text")

    def correction_fields(self) -> list[forms.BoundField]:
        return self._group("plate_said", "plate_right", "plate_source")

    def plate_shown(self) -> str:
        """The query that draws the plate as it stands in the form; "" without one, or where it is too long."""
        if self.is_bound:
            given = self.values() if self.is_valid() else {}
        else:
            given = {name: getattr(self.beat, name) for name in ("kind", *PLATE_COLUMNS)}
        if given.get("kind") != Beat.Kind.PLATE:
            return ""
        shown = plate_query(given, self.beat.breakdown.shape)
        return shown if len(shown) <= LONGEST_QUERY else ""

    @staticmethod
    def _stored(beat: Beat) -> dict[str, Any]:
        return {
            "kind": beat.kind,
            "excerpt": beat.excerpt_id,
            "in_point": "" if beat.in_frame is None else beat.in_frame,
            "out_point": "" if beat.out_frame is None else beat.out_frame,
            "speed": beat.speed,
            "hold": seconds_text(beat.hold_ms),
            "mirrored": beat.mirrored,
            "original_sound": beat.original_sound,
            "still": beat.still_id,
            "hold_still": beat.still_id,
            "marks_way": beat.marks_way,
            "marks_at": beat.marks_at,
            "hold_marks_way": beat.marks_way,
            "hold_marks_at": beat.marks_at,
            "source": beat.source_id,
            "frame": _label(beat),
            "still_mirrored": beat.mirrored,
            "plate": beat.plate,
            "plate_title": beat.plate_title,
            "plate_text": "" if beat.plate == Beat.Plate.CORRECTION else beat.plate_text,
            "plate_entry": entry_text(beat.plate_entry_kind, beat.plate_entry)
            if beat.plate_entry_kind
            else "",
            "plate_rows": beat.plate_rows,
            "plate_said": beat.plate_said,
            "plate_right": beat.plate_text if beat.plate == Beat.Plate.CORRECTION else "",
            "plate_source": beat.plate_source,
            "seconds": seconds_text(beat.seconds_ms),
            "heading": beat.heading,
            "phase": beat.phase,
            "base_picture": picture_digest(beat),
        }

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("base_picture") and data["base_picture"] != picture_digest(self.beat):
            self.data = self.data.copy()  # type: ignore[assignment,union-attr]
            self.data["base_picture"] = picture_digest(self.beat)  # type: ignore[index]
            raise ValidationError(
                f"Somebody changed this picture meanwhile: it is now “{self.beat.get_kind_display()}”. "
                "Save again to put yours in its place."
            )
        kind = data.get("kind")
        if kind == Beat.Kind.EXCERPT:
            self._clean_excerpt(data)
        elif kind == Beat.Kind.STILL:
            self._clean_still(data)
        elif kind == Beat.Kind.PLATE:
            self._clean_plate(data)
        if (
            kind not in (None, Beat.Kind.EXCERPT)
            and data.get("seconds") is None
            and "seconds" not in self.errors
        ):
            self.add_error("seconds", "Say how many seconds it stays on screen.")
        return data

    def _frame_of(self, name: str, source: Source) -> int | None:
        text = str(self.cleaned_data.get(name) or "").strip()
        if not text:
            return None
        try:
            return int(text) if text.isdecimal() else parse_timecode(text, source.rate)
        except TimeError as fault:
            self.add_error(name, str(fault))
            return None

    def _clean_excerpt(self, data: dict[str, Any]) -> None:
        excerpt = data.get("excerpt")
        if excerpt is None:
            self.add_error("excerpt", "Choose an excerpt from the list, or another kind of picture.")
            return
        start, end = self._frame_of("in_point", excerpt.source), self._frame_of("out_point", excerpt.source)
        first = excerpt.in_frame if start is None else start
        last = excerpt.out_frame if end is None else end
        if not excerpt.in_frame <= first < last <= excerpt.out_frame:
            self.add_error(
                "in_point",
                f"Must stay inside the excerpt, frames {excerpt.in_frame} to {excerpt.out_frame}, in before out.",
            )
        if (still := data.get("hold_still")) and (still.source_id, still.frame) != (
            excerpt.source_id,
            last - 1,
        ):
            if "hold_still" in self.changed_data:
                self.add_error(
                    "hold_still",
                    f"This still is not of frame {last - 1}, on which the excerpt stands: choose one that is, or no marks.",
                )
            data["hold_still"] = None
        if data.get("hold_still") and data.get("hold_marks_way") == Beat.MarksWay.WORDS:
            self._clean_marks_at("hold_marks_at")
        data["in_frame"] = None if first == excerpt.in_frame else first
        data["out_frame"] = None if last == excerpt.out_frame else last

    def _clean_still(self, data: dict[str, Any]) -> None:
        if data.get("marks_way") == Beat.MarksWay.WORDS:
            self._clean_marks_at("marks_at")
        still, moved = data.get("still"), {"source", "frame"} & set(self.changed_data)
        if still is not None and ("still" in self.changed_data or not moved):
            data["source"], data["frame_number"] = still.source, still.frame
            for name in ("source", "frame"):
                self.errors.pop(name, None)
            return
        data["still"] = None  # another frame was chosen: the marks belong to the one before
        source = data.get("source")
        if source is None:
            self.add_error("source", "Choose the source that the still comes from.")
            return
        frame = self._frame_of("frame", source)
        if frame is None:
            if "frame" not in self.errors:
                self.add_error("frame", "Say which frame: a timecode or a frame number.")
            return
        if frame >= (source.frame_count or 0):
            self.add_error("frame", f"The source ends at frame {(source.frame_count or 1) - 1}.")
        data["frame_number"] = frame

    def _clean_marks_at(self, name: str) -> None:
        try:
            if not places_of(self.beat.words, self.cleaned_data.get(name) or ""):
                self.add_error(name, "Say at which words the marks come.")
        except ValueError as fault:
            self.add_error(name, str(fault))

    def _clean_plate(self, data: dict[str, Any]) -> None:
        if data.get("plate") == Beat.Plate.ANATOMY:
            try:
                self.entry_found = entry_meant(vocabulary_now(), data.get("plate_entry", ""))
            except NoEntry as fault:
                self.add_error("plate_entry", str(fault))
                return
            self.offer_rows(*self.entry_found)
            keys = {key for key, _ in self.fields["plate_rows"].choices}  # type: ignore[attr-defined]
            data["plate_rows"] = [key for key in data.get("plate_rows", []) if key in keys]
        elif data.get("plate") == Beat.Plate.CORRECTION:
            wanting = not data.get("plate_right") and "plate_right" not in self.errors
            if wanting:
                self.add_error("plate_right", "Say what is right.")
        elif data.get("plate") == Beat.Plate.POSTURE:
            has_one = self.beat.plate == Beat.Plate.POSTURE and self.beat.plate_rows
            if not data.get("plate_posture") and not has_one and "plate_posture" not in self.errors:
                self.add_error(
                    "plate_posture", "Choose a kept posture, or make the plate on a posture’s page."
                )
        elif data.get("plate") == Beat.Plate.CONTACT and not (
            self.beat.plate == Beat.Plate.CONTACT and self.beat.plate_rows
        ):
            self.add_error("plate", "Make the plate of a contact on the contact map.")

    def values(self) -> dict[str, Any]:
        """Field values for the service; what belongs to other kinds stays as it was."""
        data = self.cleaned_data
        found: dict[str, Any] = {"kind": data["kind"], "heading": data["heading"], "phase": data["phase"]}
        if data["kind"] == Beat.Kind.EXCERPT:
            speed = data["speed"] or Fraction(1)
            return found | {
                "excerpt_id": data["excerpt"].pk,
                "in_frame": data["in_frame"],
                "out_frame": data["out_frame"],
                "speed_num": speed.numerator,
                "speed_den": speed.denominator,
                "hold_ms": thousandths(data["hold"] or Fraction(0)),
                "mirrored": data["mirrored"],
                "original_sound": data["original_sound"],
                "still_id": data["hold_still"].pk if data["hold_still"] else None,
                "marks_way": data["hold_marks_way"] or Beat.MarksWay.ONCE,
                "marks_at": data["hold_marks_at"],
            }
        found["seconds_ms"] = thousandths(data["seconds"])
        if data["kind"] == Beat.Kind.STILL:
            return found | {
                "still_id": data["still"].pk if data["still"] else None,
                "marks_way": data["marks_way"] or Beat.MarksWay.ONCE,
                "marks_at": data["marks_at"],
                "source_id": data["source"].pk,
                "frame": data["frame_number"],
                "mirrored": data["still_mirrored"],
            }
        if data["kind"] == Beat.Kind.PLATE:
            return found | self._plate_values(data)
        return found

    def _plate_values(self, data: dict[str, Any]) -> dict[str, Any]:
        if data["plate"] == Beat.Plate.ANATOMY and self.entry_found:
            kind, name = self.entry_found
            rows = data["plate_rows"]
            return {"plate": data["plate"], "plate_entry_kind": kind, "plate_entry": name, "plate_rows": rows}
        if data["plate"] == Beat.Plate.CORRECTION:
            own = {"plate_text": data["plate_right"], "plate_said": data["plate_said"]}
            return {"plate": data["plate"], "plate_source": data["plate_source"], **own}
        if data["plate"] == Beat.Plate.POSTURE:
            return {"plate": data["plate"], **self._posture_values(data["plate_posture"])}
        if data["plate"] == Beat.Plate.CONTACT:
            return {"plate": data["plate"], **self._posture_values(None)}
        names = ("plate", "plate_title", "plate_text")
        return {name: data[name] for name in names if data[name] or name != "plate"}

    def _posture_values(self, posture: Posture | None) -> dict[str, Any]:
        """The posture chosen, else the one that the plate shows already."""
        if posture is None:
            beat = self.beat
            return {
                "plate_entry_kind": "",
                "plate_entry": beat.plate_entry,
                "plate_rows": list(beat.plate_rows),
            }
        rows = state_rows(kept_state(posture))
        return {"plate_entry_kind": "", "plate_entry": posture.name, "plate_rows": rows}


def _label(beat: Beat) -> str:
    if beat.source is None or beat.frame is None:
        return ""
    return beat.source.timecode_at(beat.frame) if beat.source.is_ready else str(beat.frame)
