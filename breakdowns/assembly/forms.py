from __future__ import annotations

from django import forms

from .tables import rows


class AssemblyForm(forms.Form):
    height = forms.TypedChoiceField(
        label="Size (shorter side)",
        choices=[(720, "720 pixels"), (1080, "1080 pixels")],
        coerce=int,
        initial=720,
    )
    loudness = forms.TypedChoiceField(
        choices=[(int(row["lufs"]), row["label"]) for row in rows("loudness_targets")],
        coerce=int,
        initial=-16,
        help_text="How loud the finished sound is made, after EBU R 128 and AES TD1004/TD1008. Silence stays silence.",
    )
    scratch_voice = forms.BooleanField(
        label="Speak the words with a scratch voice",
        required=False,
        help_text="A machine voice to judge the timing by. It is marked as scratch on the picture; leave it off for release.",
    )
