"""The plain forms of a still: marks and landmarks by their coordinates."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from anatomy.motion.points import LANDMARKS
from breakdowns.footage.models import Source
from breakdowns.footage.moments import read_moment
from breakdowns.footage.timebase import TimeError

from .tools import TOOLS, landmark_words, tool_of

_PAIR = re.compile(r"^(-?\d{1,7}(?:\.\d{1,6})?)(?:\s*[,;]\s*|\s+)(-?\d{1,7}(?:\.\d{1,6})?)$", re.ASCII)
_NAMES = {landmark_words(name): name for name in LANDMARKS} | {name: name for name in LANDMARKS}
TONES = [
    ("1", "first: white, solid"),
    ("2", "second: yellow, dashed"),
    ("3", "third: blue-grey, dash and dot"),
]


def points_text(points: list[dict[str, Any]]) -> str:
    """Points as they are typed: one a line, coordinates or the landmark that they follow."""
    return "\n".join(
        landmark_words(point["landmark"]) if "landmark" in point else f"{point['at'][0]:g} {point['at'][1]:g}"
        for point in points
    )


def read_points(text: str) -> list[dict[str, Any]]:
    """The points in typed lines. Raises ValidationError that names the line."""
    found: list[dict[str, Any]] = []
    for number, line in enumerate(text.splitlines(), 1):
        typed = line.strip()
        if not typed:
            continue
        if name := _NAMES.get(typed.lower()):
            found.append({"landmark": name})
        elif pair := _PAIR.match(typed):
            found.append({"at": [float(pair[1]), float(pair[2])]})
        else:
            raise ValidationError(
                f"Line {number}, {typed[:30]!r}, is no point: write it as 412.5 180, or as a landmark such as left shoulder."
            )
    return found


class MarkForm(forms.Form):
    """One mark by its coordinates."""

    kind = forms.ChoiceField(label="Kind", choices=[(tool.kind, tool.name) for tool in TOOLS])
    points = forms.CharField(
        label="Points",
        max_length=60_000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="One a line: across and down in pixels of the footage, such as 412.5 180, or a landmark's name.",
    )
    text = forms.CharField(label="Text", max_length=120, required=False)
    tone = forms.ChoiceField(label="Tone", choices=TONES)
    value = forms.BooleanField(label="Write the measure beside it", required=False)
    shown = forms.BooleanField(label="Show it", required=False)

    def clean_points(self) -> list[dict[str, Any]]:
        return read_points(self.cleaned_data["points"])

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if "kind" in data and "points" in data:
            tool, count = tool_of(data["kind"]), len(data["points"])
            if not tool.least <= count <= tool.most:
                wanted = str(tool.least) if tool.least == tool.most else f"{tool.least} to {tool.most}"
                self.add_error(
                    "points", f"A mark of this kind has {wanted} points, not {count}: {tool.points}."
                )
        return data

    def mark(self) -> dict[str, Any]:
        """The mark as it stands in the document, without its id."""
        data = self.cleaned_data
        return {
            "kind": data["kind"],
            "points": data["points"],
            "tone": int(data["tone"]),
            "text": data["text"],
            "shown": data["shown"],
            "value": data["value"],
        }


class LandmarkForm(forms.Form):
    """One landmark by its coordinates."""

    name = forms.ChoiceField(label="Landmark", choices=[(name, landmark_words(name)) for name in LANDMARKS])
    x = forms.FloatField(label="Across, pixels", min_value=-1e5, max_value=1e5)
    y = forms.FloatField(label="Down, pixels", min_value=-1e5, max_value=1e5)


class FrameForm(forms.Form):
    """A frame of one source, typed as a frame number, a timecode or seconds."""

    frame = forms.CharField(max_length=40)
    name = forms.CharField(max_length=120, required=False)

    def __init__(self, *args: Any, source: Source, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.source = source

    def clean_frame(self) -> int:
        try:
            return read_moment(self.cleaned_data["frame"], self.source.rate)
        except TimeError as fault:
            raise ValidationError(str(fault)) from fault


class NameForm(forms.Form):
    name = forms.CharField(label="Name", max_length=120, required=False)
