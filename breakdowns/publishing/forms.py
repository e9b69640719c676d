from __future__ import annotations

from django import forms

from .models import Release


class ReleaseForm(forms.Form):
    audience = forms.ChoiceField(
        label="Who may read and watch it",
        choices=Release.Audience.choices,
        widget=forms.RadioSelect,
        initial="members",
    )
    looked = forms.BooleanField(
        label="I have watched it to the end",
        help_text="What is released stays as it is; later changes are a new release.",
    )
