from __future__ import annotations

from base64 import b64decode, b64encode
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from breakdowns.excerpts.selectors import policy_choices
from breakdowns.footage.timebase import TimeError, decimal_text, parse_rational, rational_text
from breakdowns.people.typed import clean_words

from .models import Breakdown
from .tables import limit

RATES = [
    ("24000/1001", "23.976"),
    ("24", "24"),
    ("25", "25"),
    ("30000/1001", "29.97"),
    ("30", "30"),
    ("50", "50"),
    ("60000/1001", "59.94"),
    ("60", "60"),
]
LONGEST_BEAT = 600
MOST_WORDS = 20_000
LARGEST = 2**31 - 1  # what the columns hold (PostgreSQL documentation, Numeric Types: integer)


class ExactField(forms.CharField):
    """A number typed as 2, 2.5 or 1/4, kept exact. ``lowest`` and ``highest`` are allowed themselves."""

    def __init__(self, *, lowest: Fraction, highest: Fraction, unit: str = "", **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.lowest, self.highest, self.unit = lowest, highest, unit
        self.widget.attrs.update(inputmode="decimal", size=8)

    def prepare_value(self, value: Any) -> Any:
        return rational_text(value) if isinstance(value, Fraction) and self.unit == "" else value

    def to_python(self, value: Any) -> Fraction | None:  # type: ignore[override]
        text = super().to_python(value).replace(",", ".").replace("×", "").removesuffix("s").strip()
        if not text:
            return None
        try:
            number = parse_rational(text)
        except TimeError as fault:
            raise ValidationError(str(fault)) from None
        if max(abs(number.numerator), number.denominator) > LARGEST:
            raise ValidationError("That number is too finely divided: write it with fewer digits.")
        if not self.lowest <= number <= self.highest:
            raise ValidationError(
                f"Must lie between {rational_text(self.lowest)} and {rational_text(self.highest)}{self.unit}."
            )
        return number


def seconds_text(milliseconds: int) -> str:
    """``6000`` → ``"6"``, ``11600`` → ``"11.6"``: as one would type it."""
    return decimal_text(Fraction(milliseconds, 1000), 3).rstrip("0").rstrip(".")


class NewForm(forms.ModelForm):
    class Meta:
        model = Breakdown
        fields = ["title"]


class SettingsForm(forms.ModelForm):
    policy = forms.ChoiceField(label="Excerpt policy", required=True)
    rate = forms.ChoiceField(label="Frames per second", choices=RATES)

    class Meta:
        model = Breakdown
        fields = [
            "title",
            "standfirst",
            "policy",
            "voice",
            "wished_seconds",
            "shape",
            "rate",
            "fill",
            "focus_x",
            "focus_y",
            "cautions",
            "references",
        ]
        widgets = {
            "standfirst": forms.Textarea(attrs={"rows": 3}),
            "cautions": forms.Textarea(attrs={"rows": 4}),
            "references": forms.Textarea(attrs={"rows": 6}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = policy_choices()
        if self.instance.policy not in dict(choices):
            choices.append((self.instance.policy, f"{self.instance.policy} (no longer there)"))
        self.fields["policy"].choices = choices  # type: ignore[attr-defined]
        self.fields["rate"].initial = rational_text(self.instance.rate)
        self.fields["voice"].empty_label = "average speaker"  # type: ignore[attr-defined]

    def values(self) -> dict[str, Any]:
        """Field values for the service that stores them."""
        found = {name: value for name, value in self.cleaned_data.items() if name != "rate"}
        rate = parse_rational(self.cleaned_data["rate"])
        return found | {"rate_num": rate.numerator, "rate_den": rate.denominator}


class WordsForm(forms.Form):
    """What every command on a beat carries: its words and the state they were typed on."""

    words = forms.CharField(required=False, strip=False, max_length=MOST_WORDS)
    base_version = forms.IntegerField(min_value=0, max_value=LARGEST)
    base_words = forms.CharField(required=False, strip=False, max_length=MOST_WORDS)
    at = forms.IntegerField(required=False, min_value=0)
    to = forms.IntegerField(required=False)

    def clean_words(self) -> str:
        return clean_words(self.cleaned_data["words"])


class AnyOf(forms.MultipleChoiceField):
    """Choices that follow another field; what no longer belongs to it is left out later, without a word."""

    def valid_value(self, value: str) -> bool:
        return len(value) <= 300


class AnswerForm(forms.Form):
    note_id = forms.CharField(max_length=80)
    says = forms.CharField(max_length=2000)
    reason = forms.CharField(max_length=2000, label="Why it is meant as it stands")


class SettleForm(forms.Form):
    choice = forms.ChoiceField(choices=[("mine", "mine"), ("theirs", "theirs"), ("both", "both")])
    seen_version = forms.IntegerField(min_value=0, max_value=LARGEST)


def _kept_bytes(text: str) -> bytes:
    try:
        return b64decode(text, validate=True)
    except ValueError:  # no base64, or not even ASCII
        raise ValidationError("The file that was kept is damaged: choose it again.") from None


class TranscriptForm(forms.Form):
    file = forms.FileField(label="A WebVTT or SRT file", required=False)
    text = forms.CharField(
        label="or its text",
        required=False,
        strip=False,
        max_length=2_000_000,
        widget=forms.Textarea(attrs={"rows": 10, "spellcheck": "false"}),
    )
    kept = forms.CharField(required=False, widget=forms.HiddenInput)
    kept_again = ""
    pause = ExactField(
        label="New beat after a pause of",
        lowest=Fraction(0),
        highest=Fraction(60),
        unit=" s",
        initial="1",
        help_text="Seconds of silence between two captions.",
    )

    def clean(self) -> dict[str, Any]:
        data, given = self.cleaned_data, self.cleaned_data.get("file")
        if given is not None:
            if given.size > (most := int(limit("transcript_bytes"))):
                raise ValidationError(f"The file is larger than {most // 10**6} MB: divide it.")
            data["bytes"] = given.read()
            self.kept_again = b64encode(data["bytes"]).decode()
        elif data.get("kept"):
            data["bytes"] = _kept_bytes(data["kept"])
            self.kept_again = data["kept"]
        if not data.get("bytes") and not (data.get("text") or "").strip():
            raise ValidationError("Choose a file or paste a transcript.")
        return data
