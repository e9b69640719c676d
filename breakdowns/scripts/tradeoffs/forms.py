from __future__ import annotations

from typing import Any

from django import forms


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
    joint = forms.CharField(label="What it would cost: joint or part", max_length=120, required=False)
    mechanism = forms.CharField(
        label="How it could be hurt",
        max_length=200,
        required=False,
        help_text="The mechanism, hedged: “the knee could fall inwards”.",
    )
    source = forms.CharField(
        label="Source",
        max_length=200,
        help_text="Where that stands, or “own judgement”.",
        error_messages={"required": "Say where that stands, or write “own judgement”."},
    )

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("mechanism") and not data.get("joint"):
            self.add_error("joint", "Say which joint or part that would hurt.")
        return data
