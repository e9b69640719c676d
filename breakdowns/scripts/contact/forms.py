from __future__ import annotations

from typing import Any

from django import forms

from breakdowns.scripts.models import Breakdown


class ContactForm(forms.Form):
    """Where a contact goes: kept with a beat, or as a plate behind it."""

    breakdown = forms.ModelChoiceField(Breakdown.objects.none(), label="Breakdown", empty_label=None)
    beat_number = forms.IntegerField(
        label="Beat", required=False, min_value=0, max_value=100_000,
        help_text="Its number. For a plate: 0 puts it first, empty at the end.",
    )  # fmt: skip
    way = forms.ChoiceField(
        label="What becomes of it",
        choices=[
            ("plate", "a plate behind that beat"),
            ("keep", "kept with that beat, unseen: the margin then asks for its cautions"),
        ],
        widget=forms.RadioSelect,
        initial="plate",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["breakdown"].queryset = Breakdown.objects.order_by("-changed_at")  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        breakdown, number = data.get("breakdown"), data.get("beat_number")
        if breakdown and number:
            data["beat"] = breakdown.beats.order_by("position", "pk")[number - 1 : number].first()
            if data["beat"] is None:
                self.add_error(
                    "beat_number", f"“{breakdown}” has {breakdown.beats.count()} beats: choose one of them."
                )
        elif breakdown and data.get("way") == "keep":
            self.add_error("beat_number", "Say with which beat it is kept: give its number.")
        return data
