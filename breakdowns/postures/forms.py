from __future__ import annotations

from django import forms


class KeepForm(forms.Form):
    """A posture under a name; ``base_version`` is the version that was opened."""

    name = forms.CharField(
        label="Name",
        max_length=120,
        error_messages={"required": "Give the posture a name, such as “landing, right leg”."},
    )
    tie = forms.BooleanField(
        label="It is the posture of this still",
        required=False,
        help_text="Claims in beats that show the still are then judged in this posture.",
    )
    base_version = forms.IntegerField(
        widget=forms.HiddenInput, required=False, min_value=1, max_value=2**31 - 1
    )
