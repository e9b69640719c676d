from __future__ import annotations

from fractions import Fraction
from typing import Any

from django import forms

from breakdowns.scripts.forms import ExactField
from breakdowns.scripts.models import Breakdown


class PosturePlateForm(forms.Form):
    """Where the plate of a posture goes, under which name, and for how long it stands."""

    breakdown = forms.ModelChoiceField(Breakdown.objects.none(), label="Breakdown", empty_label=None)
    after = forms.IntegerField(
        label="Behind beat",
        required=False,
        min_value=0,
        max_value=100_000,
        help_text="Its number; 0 for the beginning, empty for the end.",
    )
    name = forms.CharField(
        label="Name in the script",
        max_length=120,
        help_text="What the script calls the plate; the plate itself names muscle and posture.",
    )
    seconds = ExactField(label="Seconds on screen", lowest=Fraction(1, 10), highest=Fraction(600), unit=" s")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["breakdown"].queryset = Breakdown.objects.order_by("-changed_at")  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        breakdown, after = data.get("breakdown"), data.get("after")
        if breakdown and after:
            data["beat"] = breakdown.beats.order_by("position", "pk")[after - 1 : after].first()
            if data["beat"] is None:
                self.add_error(
                    "after", f"“{breakdown}” has {breakdown.beats.count()} beats: choose one of them."
                )
        return data
