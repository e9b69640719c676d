from __future__ import annotations

from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from breakdowns.people.typed import clean_words
from breakdowns.publishing.models import Release
from breakdowns.questions.choices import choice

from .pictures import Picture, PictureRefused, remade


class PicturesInput(forms.ClearableFileInput):
    allow_multiple_selected = True


class PicturesField(forms.FileField):
    """Any number of files, each made anew; every file that is refused has its sentence."""

    widget = PicturesInput(attrs={"accept": "image/jpeg,image/png,image/webp"})

    def clean(self, data: Any, initial: Any = None) -> list[Picture]:
        made, faults = [], []
        for file in data if isinstance(data, (list, tuple)) else [data] if data else []:
            try:
                if file.size > choice("most_picture_bytes"):
                    raise PictureRefused(
                        f"“{file.name[-80:]}” is larger than {choice('most_picture_bytes') // 1_000_000} MB; "
                        "make it smaller and attach it again."
                    )
                made.append(remade(file.read(), file.name))
            except PictureRefused as fault:
                faults.append(str(fault))
        self.made = made
        if faults:
            raise ValidationError(faults)
        return made


class WordsField(forms.CharField):
    """Words as typed: one kind of line end, without signs that can't be stored."""

    def to_python(self, value: Any) -> str:
        return clean_words(super().to_python(value))


class QuestionForm(forms.Form):
    """A question as it is typed. Nothing but the question itself is asked for."""

    text = WordsField(
        label="Your question",
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 7, "dir": "auto"}),
        help_text="As you would say it. One question gets a better answer than three.",
    )
    body_part = WordsField(label="Part of the body", required=False, max_length=120)
    since_when = WordsField(label="Since when", required=False, max_length=120)
    tried = WordsField(
        label="What you have tried", required=False, widget=forms.Textarea(attrs={"rows": 2, "dir": "auto"})
    )
    pictures = PicturesField(
        label="Pictures",
        required=False,
        help_text="JPEG, PNG or WebP. Place, time and device in them are taken out. Leave faces out.",
    )
    consent_to_publish = forms.BooleanField(
        label="The answer may also be published, without anything that tells who I am",
        required=False,
        help_text="Others may have the same question. You get your answer either way.",
    )
    about = forms.SlugField(required=False, widget=forms.HiddenInput)
    frame = forms.IntegerField(required=False, min_value=0, max_value=2**31 - 1, widget=forms.HiddenInput)

    def clean_text(self) -> str:
        text, most = self.cleaned_data["text"], choice("most_signs")
        if len(text) > most:
            raise ValidationError(
                f"This is {len(text):,} characters long, and at most {most:,} can be read here. Nothing is lost: "
                "shorten it to what you want to know, then send it."
            )
        return text

    def clean_tried(self) -> str:
        text, most = self.cleaned_data["tried"], choice("most_signs")
        if len(text) > most:
            raise ValidationError(f"At most {most:,} characters; say in a line or two what helped or didn't.")
        return text

    def values(self) -> dict[str, Any]:
        """Columns of the draft, out of what is valid; texts as typed where they are not."""
        data = self.cleaned_data
        kept = {name: data.get(name, self.data.get(name, "")) for name in ("text", "tried")}
        kept |= {name: data[name] for name in ("body_part", "since_when") if name in data}
        kept["consent_to_publish"] = bool(data.get("consent_to_publish"))
        release = Release.objects.standing().filter(slug=data.get("about") or "-").first()
        kept["release"], kept["moment_frame"] = release, data.get("frame") if release else None
        return kept

    def clean(self) -> dict[str, Any]:
        if "send" in self.data and "text" in self.cleaned_data and not self.cleaned_data["text"].strip():
            self.add_error("text", "Write your question first.")
        return self.cleaned_data


class FollowUpForm(forms.Form):
    text = WordsField(
        label="One more question about this answer",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
        help_text="Once for each answer.",
    )


def moment_label(release: Release, frame: int | None) -> str:
    """``0:26``, or nothing when the whole is meant."""
    from breakdowns.footage.timebase import clock_label

    if frame is None:
        return ""
    return clock_label(Fraction(frame) / Fraction(release.page["rate"]), 0)
