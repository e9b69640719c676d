"""The plain forms of a track."""

from __future__ import annotations

import math
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from anatomy.motion.points import LANDMARKS
from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Source
from breakdowns.footage.moments import read_moment
from breakdowns.footage.timebase import TimeError

from .models import Track

_NAMES = [(name, name.replace("foot_index", "toes").replace("_", " ")) for name in LANDMARKS]


def _moment(text: str, source: Source) -> int:
    try:
        return read_moment(text, source.rate)
    except TimeError as fault:
        raise ValidationError(str(fault)) from fault


class MakeForm(forms.Form):
    """A new track: an excerpt, or a span by its first frame and the frame after its last."""

    excerpt = forms.ModelChoiceField(Excerpt.objects.none(), required=False, empty_label="a span of its own")
    in_frame = forms.CharField(label="In", max_length=40, required=False)
    out_frame = forms.CharField(
        label="Out",
        max_length=40,
        required=False,
        help_text="The first frame that no longer belongs to it. Frame, timecode, or seconds with an s.",
    )
    name = forms.CharField(label="Name", max_length=120, required=False)
    chain = forms.ChoiceField(label="Segments", choices=Track.Chain.choices, initial="arm")
    side = forms.ChoiceField(label="Side of the body", choices=Track.Side.choices, initial="right")

    def __init__(self, *args: Any, source: Source, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.source = source
        self.fields["excerpt"].queryset = source.excerpts.all()

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if excerpt := data.get("excerpt"):
            data["in_frame"], data["out_frame"] = excerpt.in_frame, excerpt.out_frame
            data["name"] = data.get("name") or excerpt.name
            return data
        for name in ("in_frame", "out_frame"):
            if not data.get(name, "").strip():
                self.add_error(name, "Choose an excerpt, or write this moment.")
                continue
            try:
                data[name] = _moment(data[name], self.source)
            except ValidationError as fault:
                self.add_error(name, fault)
        return data


class ChoicesForm(forms.ModelForm):
    """What is computed of a track, and how."""

    class Meta:
        model = Track
        fields = ["name", "chain", "side", "smoothing", "cutoff_hz", "click_sd_px"]
        help_texts = {
            "click_sd_px": "One standard deviation; suggested points are often off by more than a careful click.",
            "cutoff_hz": "Only with “cut-off in Hz”.",
        }

    def clean_click_sd_px(self) -> float:
        value = self.cleaned_data["click_sd_px"]
        if not math.isfinite(value) or not 0 <= value <= 200:
            raise ValidationError("Write the error of a click as 0 to 200 pixels.")
        return float(value)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        cutoff = data.get("cutoff_hz")
        if data.get("smoothing") == "given" and "cutoff_hz" in data:
            half = float(self.instance.source.rate) / 2
            if cutoff is None or not math.isfinite(cutoff) or not half / 1000 <= cutoff < half:
                self.add_error(
                    "cutoff_hz",
                    f"Write a cut-off between {half / 1000:.2g} and {half:g} Hz, half the frame rate.",
                )
        elif "cutoff_hz" in data and cutoff is not None and not (math.isfinite(cutoff) and cutoff > 0):
            data["cutoff_hz"] = None
        return data


class PointForm(forms.Form):
    """One landmark by its coordinates."""

    landmark = forms.ChoiceField(choices=_NAMES)
    x = forms.FloatField(label="Across", help_text="Pixels of the footage from the left.")
    y = forms.FloatField(label="Down", help_text="Pixels from the top.")


class KeysForm(forms.Form):
    """Key frames as numbers, parted by blanks or commas."""

    frames = forms.CharField(required=False, max_length=20_000)

    def clean_frames(self) -> list[int]:
        parts = self.cleaned_data["frames"].replace(",", " ").split()
        if wrong := next(
            (part for part in parts if not part.isascii() or not part.isdigit() or len(part) > 9), None
        ):
            raise ValidationError(
                f"{wrong[:20]!r} is no frame number: write whole numbers with blanks between."
            )
        return [int(part) for part in parts]


class FileForm(forms.Form):
    file = forms.FileField(label="A CSV or JSON file", allow_empty_file=True)
