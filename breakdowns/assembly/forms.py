from __future__ import annotations

from django import forms


class AssemblyForm(forms.Form):
    height = forms.TypedChoiceField(
        label="Size (shorter side)",
        choices=[(720, "720 pixels"), (1080, "1080 pixels")],
        coerce=int,
        initial=720,
    )
    scratch_voice = forms.BooleanField(
        label="Speak the words with a scratch voice",
        required=False,
        help_text="A machine voice to judge the timing by. It is marked as scratch on the picture; leave it off for release.",
    )
