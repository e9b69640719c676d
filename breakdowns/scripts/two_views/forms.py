from __future__ import annotations

from copy import copy
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q

from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Source
from breakdowns.footage.selectors import other_views, tied_view
from breakdowns.footage.timebase import TimeError, parse_timecode
from breakdowns.scripts.models import Beat
from breakdowns.scripts.snapshots import picture_digest
from breakdowns.stills.models import Still
from breakdowns.tracks.models import Track
from breakdowns.tracks.reckoning import CHAINS, segment_words

from .selectors import beside_marked, beside_source, footage_of, second_view, view_fault

SEGMENTS = [(name, segment_words(name)) for name in dict.fromkeys((*CHAINS["arm"], *CHAINS["leg"]))]
ONE_VIEW = [("", "nothing: one view")]


def _of_source(source: Source) -> str:
    return f"{source.view}: {source.title}" if source.view else source.title


class TwoViewsForm(forms.Form):
    """What stands beside a beat's picture, and the curve that runs along with it.

    ``saving`` is false while something is only shown: then a view that is not tied yet may be looked at.
    """

    beside = forms.ChoiceField(label="Beside it stands", required=False)
    beside_in = forms.CharField(
        label="From",
        max_length=40,
        required=False,
        help_text="Only to show less of that excerpt: timecode or frame.",
    )
    beside_out = forms.CharField(label="To", max_length=40, required=False)
    beside_mirrored = forms.BooleanField(label="Second view mirrored", required=False)
    beside_marks = forms.ModelChoiceField(
        Still.objects.none(),
        label="Marks over the second view",
        required=False,
        empty_label="no marks",
        help_text="From a kept still of the frame that stands there.",
    )
    halves = forms.ChoiceField(label="In their halves", choices=Beat.Halves.choices, required=False)
    half_focus = forms.IntegerField(
        label="Middle of the first cut",
        required=False,
        min_value=0,
        max_value=100,
        help_text="Per cent across.",
    )
    beside_focus = forms.IntegerField(
        label="Middle of the second cut",
        required=False,
        min_value=0,
        max_value=100,
        help_text="Per cent across.",
    )
    curve_track = forms.ModelChoiceField(
        Track.objects.none(), label="Track", required=False, empty_label="no curve"
    )
    curve_quantity = forms.ChoiceField(
        label="What it shows", choices=Beat.CurveQuantity.choices, required=False
    )
    curve_names = forms.MultipleChoiceField(
        label="Segments",
        choices=SEGMENTS,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="None ticked: all that are measured. One alone is told with its value and standard deviation.",
    )
    curve_place = forms.ChoiceField(label="Where", choices=Beat.CurvePlace.choices, required=False)
    base_picture = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, beat: Beat, saving: bool = False, **kwargs: Any) -> None:
        self.beat, self.saving = beat, saving
        super().__init__(*args, initial=_stored(beat), **kwargs)
        found = footage_of(beat)
        self.first = found[0] if found else None
        self.tied, self.untied = self._views()
        self.fields["beside"].choices = self._choices()
        tracks = Track.objects.select_related("source").defer("landmarks").order_by("name", "pk")
        own = Q(source__in=[self.first, *self.tied]) | Q(pk=beat.curve_track_id)
        if other := beside_source(beat):
            own |= Q(source=other)
        self.fields["curve_track"].queryset = tracks.filter(own)
        stills = Still.objects.filter(source__state=Source.State.READY).select_related("source__event")
        self.fields["beside_marks"].queryset = stills.order_by("source__title", "frame", "pk")
        self.fields["beside_marks"].choices = [("", "no marks"), *self._marks_there(beat)]

    def _views(self) -> tuple[list[Source], list[Source]]:
        """The views tied to the beat's footage, and those that could be."""
        if self.first is None:
            return [], []
        ready = (
            Source.objects.filter(state=Source.State.READY).exclude(pk=self.first.pk).select_related("event")
        )
        if tied_view(self.first) is None:
            tied = []
        else:
            tied = list(other_views(self.first).filter(sync_frame__isnull=False).select_related("event"))
        events = Q(event__isnull=True) | (
            Q(event=self.first.event_id) if self.first.event_id else Q(event__isnull=False)
        )
        may = ready.filter(events).exclude(pk__in=[one.pk for one in tied])
        return tied, list(may.order_by("title", "view", "pk")[:200])

    def _choices(self) -> list[Any]:
        made: list[Any] = [*ONE_VIEW]
        if self.tied:
            rows = [(f"view:{one.pk}", _of_source(one)) for one in self.tied]
            made.append(("The same instants, in a tied view", rows))
        if self.beat.kind == Beat.Kind.EXCERPT:
            excerpts = Excerpt.objects.filter(source__state=Source.State.READY).select_related(
                "source__event"
            )
            named = [
                (f"excerpt:{one.pk}", f"{one.name} ({_of_source(one.source)}, {float(one.seconds):.1f} s)")
                for one in excerpts.exclude(pk=self.beat.excerpt_id).order_by("source__title", "in_frame")
            ]
            made += [("Another excerpt, from its own beginning", named)] if named else []
        else:
            stills = Still.objects.filter(source__state=Source.State.READY).select_related("source__event")
            kept = [
                (f"still:{one.pk}", f"{one.name or one.timecode} ({_of_source(one.source)})")
                for one in stills.exclude(pk=self.beat.still_id).order_by("source__title", "frame", "pk")
            ]
            made += [("A kept still, of any instant", kept)] if kept else []
        if self.untied:
            rows = [(f"tie:{one.pk}", _of_source(one)) for one in self.untied]
            made.append(("Not tied to this footage yet", rows))
        stored = _stored(self.beat)["beside"]
        known = {value for _, rows in made if isinstance(rows, list) for value, _ in rows}
        if stored and stored not in known and (source := beside_source(self.beat)):
            made.append(("As it is", [(stored, _of_source(source))]))
        return made

    def _marks_there(self, beat: Beat) -> list[tuple[int, str]]:
        """Kept stills of the frame on which the second view stands."""
        view, source = second_view(beat), beside_source(beat)
        if view is None or source is None:
            return []
        stands = Still.objects.filter(source=source, frame=view.out_frame - 1).order_by("pk")
        return [(one.pk, f"{one.name or one.timecode} ({one.mark_count} marks)") for one in stands]

    def view_fields(self) -> list[forms.BoundField]:
        names = ["beside", "beside_in", "beside_out", "beside_mirrored", "beside_marks"]
        if self.beat.kind != Beat.Kind.EXCERPT:
            names = [name for name in names if name not in ("beside_in", "beside_out")]
        return [self[name] for name in names]

    def half_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in ("halves", "half_focus", "beside_focus")]

    def curve_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in ("curve_track", "curve_quantity", "curve_place")]

    @property
    def to_tie(self) -> Source | None:
        """The view that was chosen and is not tied yet."""
        kind, _, pk = str(self.cleaned_data.get("beside", "")).partition(":")
        return next((one for one in self.untied if kind == "tie" and str(one.pk) == pk), None)

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if self.saving and data.get("base_picture") and data["base_picture"] != picture_digest(self.beat):
            self.data = self.data.copy()
            self.data["base_picture"] = picture_digest(self.beat)  # type: ignore[index]
            raise ValidationError(
                "Somebody changed this picture meanwhile. Keep again to put yours in its place."
            )
        if self.saving and self.to_tie is not None:
            self.add_error(
                "beside",
                "Tie the two views first: step each to the same instant, then press “Tie them here”.",
            )
        self._clean_span(data)
        if not self.errors:
            shown = self.applied()
            self.fields["beside_marks"].choices = [("", "no marks"), *self._marks_there(shown)]
            fault = view_fault(shown)
            if self.saving and fault:
                self.add_error("beside", fault)
            view = second_view(shown)
            if (still := data.get("beside_marks")) and (
                view is None or not self._stands(still, view.out_frame - 1, shown)
            ):
                if self.saving and "beside_marks" in self.changed_data:
                    self.add_error(
                        "beside_marks",
                        "This still is not of the frame on which the second view stands: choose another.",
                    )
                data["beside_marks"] = None
        return data

    @staticmethod
    def _stands(still: Still, frame: int, beat: Beat) -> bool:
        source = beside_source(beat)
        return source is not None and (still.source_id, still.frame) == (source.pk, frame)

    def _clean_span(self, data: dict[str, Any]) -> None:
        data["span"] = (None, None)
        kind, _, pk = str(data.get("beside", "")).partition(":")
        if kind != "excerpt":
            return
        excerpt = Excerpt.objects.select_related("source").get(pk=int(pk))
        points = []
        for name, own in (("beside_in", excerpt.in_frame), ("beside_out", excerpt.out_frame)):
            text = (data.get(name) or "").strip()
            try:
                at = (
                    int(text)
                    if text.isdecimal()
                    else parse_timecode(text, excerpt.source.rate)
                    if text
                    else own
                )
            except TimeError as fault:
                self.add_error(name, str(fault))
                return
            points.append((at, own))
        (start, first), (end, last) = points
        if not first <= start < end <= last:
            self.add_error(
                "beside_in",
                f"Must stay inside the excerpt, frames {first} to {last}, the first before the last.",
            )
            return
        data["span"] = (None if start == first else start, None if end == last else end)

    def values(self) -> dict[str, Any]:
        """Field values for the service that stores a picture."""
        data = self.cleaned_data
        kind, _, pk = str(data.get("beside", "")).partition(":")
        chosen = int(pk) if pk else None
        still = chosen if kind == "still" else data["beside_marks"].pk if data.get("beside_marks") else None
        found = {
            "beside_source_id": chosen if kind == "view" else None,
            "beside_excerpt_id": chosen if kind == "excerpt" else None,
            "beside_still_id": still,
            "beside_in": data["span"][0],
            "beside_out": data["span"][1],
            "beside_mirrored": data["beside_mirrored"],
            "halves": data["halves"] or Beat.Halves.FIT,
            "half_focus": _or(data["half_focus"], self.beat.half_focus),
            "beside_focus": _or(data["beside_focus"], self.beat.beside_focus),
        }
        if self.beat.kind == Beat.Kind.EXCERPT:
            track = data["curve_track"]
            found |= {
                "curve_track_id": track.pk if track else None,
                "curve_quantity": data["curve_quantity"] or Beat.CurveQuantity.SPEED,
                "curve_names": data["curve_names"],
                "curve_place": data["curve_place"] or Beat.CurvePlace.LOWER,
            }
        return found

    def applied(self) -> Beat:
        """The beat as it would be with these values; nothing is stored."""
        made = copy(self.beat)
        for name, value in self.values().items():
            setattr(made, name, value)
        return made


def _or(value: int | None, kept: int) -> int:
    return kept if value is None else value


def _stored(beat: Beat) -> dict[str, Any]:
    if beat.beside_source_id:
        chosen = f"view:{beat.beside_source_id}"
    elif beat.beside_excerpt_id:
        chosen = f"excerpt:{beat.beside_excerpt_id}"
    else:
        chosen = f"still:{beat.beside_still_id}" if beat.beside_still_id else ""
    view = second_view(beat)
    marks = beside_marked(beat, view) if view and not chosen.startswith("still") else None
    return {
        "beside": chosen,
        "beside_in": "" if beat.beside_in is None else beat.beside_in,
        "beside_out": "" if beat.beside_out is None else beat.beside_out,
        "beside_mirrored": beat.beside_mirrored,
        "beside_marks": marks.pk if marks else None,
        "halves": beat.halves,
        "half_focus": beat.half_focus,
        "beside_focus": beat.beside_focus,
        "curve_track": beat.curve_track_id,
        "curve_quantity": beat.curve_quantity,
        "curve_names": beat.curve_names,
        "curve_place": beat.curve_place,
        "base_picture": picture_digest(beat),
    }
