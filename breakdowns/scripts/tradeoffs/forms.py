from __future__ import annotations

from typing import Any

from django import forms

from .notes import HARMLESS


class TradeOffForm(forms.Form):
    """One trade-off: a change of technique, what it should bring, what it could cost, and where that stands."""

    change = forms.CharField(
        label="What could be better",
        max_length=200,
        help_text="The change, such as “Plant the foot further out”.",
        error_messages={"required": "Say what would be changed."},
    )
    effect = forms.CharField(
        label="Expected effect",
        max_length=200,
        help_text="What it should bring, such as “more time for the hips to turn”.",
        error_messages={"required": "Say what it should bring: a change without an effect is no trade."},
    )
    joint = forms.CharField(
        label="Joint or part that could pay for it",
        max_length=120,
        help_text="Such as “knee”. Where no cost is known, write “none known”.",
        error_messages={"required": "Say which joint or part could pay for it, or write “none known”."},
    )
    mechanism = forms.CharField(
        label="How it could be hurt",
        max_length=200,
        required=False,
        help_text="The mechanism, such as “falls inwards under load”. It is always told as possible.",
    )
    source = forms.CharField(
        label="Source",
        max_length=200,
        help_text="Where that stands, or “own judgement”.",
        error_messages={"required": "Say where that stands, or write “own judgement”."},
    )

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        joint, mechanism = data.get("joint", "").rstrip(".").casefold(), data.get("mechanism")
        if joint and joint not in HARMLESS and not mechanism:
            self.add_error("mechanism", f"Say how the {data['joint'].rstrip('.')} could be hurt by it.")
        if joint in HARMLESS and mechanism:
            self.add_error("joint", "A way to be hurt is told below: say which joint or part it is.")
        return data
