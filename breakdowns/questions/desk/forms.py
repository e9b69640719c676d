from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from breakdowns.questions.models import Settings
from breakdowns.questions.planning import weight_table


class MinutesForm(forms.Form):
    minutes = forms.IntegerField(
        label="I have", min_value=1, max_value=480, widget=forms.NumberInput(attrs={"inputmode": "numeric"})
    )


class LetGoForm(forms.Form):
    reason = forms.CharField(
        label="What they are told", max_length=400, widget=forms.Textarea(attrs={"rows": 3}),
        initial="More was asked in these weeks than there were minutes for, and this question was not reached. "
        "I'm sorry. If it still matters to you, ask it again.",
    )  # fmt: skip


class SettingsForm(forms.ModelForm):
    """What the owner chooses; the weights of the choosing stand with what they are for."""

    class Meta:
        model = Settings
        fields = [
            "monthly_limit",
            "minutes_preset",
            "asking_words",
            "reply_words",
            "keep_elsewhere",
            "keep_days",
        ]
        widgets = {
            "asking_words": forms.Textarea(attrs={"rows": 3}),
            "reply_words": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.weights = {row.name: row for row in weight_table()}
        for name, row in self.weights.items():
            self.fields[f"weight_{name}"] = forms.FloatField(
                label=f"Weight of {name.replace('_', ' ')}, in {row.unit}" if row.unit.startswith("point") else f"{name.replace('_', ' ').capitalize()}, in {row.unit}", required=False,
                min_value=float(row.least), max_value=float(row.most),
                help_text=f"{row.about} Usually {float(row.value):g} ({row.source}).",
                initial=f"{self.instance.weights.get(name, float(row.value)):g}",
                widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
            )  # fmt: skip

    def clean_minutes_preset(self) -> int:
        minutes = self.cleaned_data["minutes_preset"]
        if not 1 <= minutes <= 480:
            raise ValidationError("Between 1 and 480 minutes.")
        return minutes

    def save(self, commit: bool = True) -> Settings:
        row = super().save(commit=False)
        chosen = {name: self.cleaned_data.get(f"weight_{name}") for name in self.weights}
        row.weights = {
            name: value
            for name, value in chosen.items()
            if value is not None and value != float(self.weights[name].value)
        }
        row.pk = 1
        row.save()
        return row


class CorrectForm(forms.Form):
    text = forms.CharField(
        label="The answer to those who asked", widget=forms.Textarea(attrs={"rows": 10}), max_length=20_000
    )
    note = forms.CharField(
        label="The answer in the library", required=False, max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 10}),
    )  # fmt: skip
    what_changed = forms.CharField(
        label="What changed, in one sentence",
        max_length=400,
        required=False,
        help_text="It is told to everybody who has the answer. Empty for a slip of the pen that changes nothing.",
    )
