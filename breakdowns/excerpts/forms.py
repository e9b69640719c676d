from __future__ import annotations

from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from breakdowns.footage.models import Source
from breakdowns.footage.moments import read_moment, read_span
from breakdowns.footage.timebase import TimeError, parse_rational, rational_text

from .models import Excerpt, ExcerptPolicy
from .policies import Limit, Policy, PolicyError, limit_to_json, policy_from_json
from .rules import Rule, rules
from .selectors import beats_outside


class MomentField(forms.CharField):
    """A frame of one source, typed as a frame number, a timecode or seconds."""

    rate: Any = None

    def clean(self, value: Any) -> int:
        text = super().clean(value)
        try:
            return read_moment(text, self.rate)
        except TimeError as fault:
            raise ValidationError(str(fault)) from fault


class ExcerptForm(forms.Form):
    """In and out points with what they are needed for. ``in`` is the first frame, ``out`` the first after."""

    name = forms.CharField(max_length=120, required=False)
    in_frame = MomentField(label="In", max_length=40)
    out_frame = MomentField(label="Out", max_length=40, help_text="The first frame that is no longer shown.")
    purpose = forms.CharField(
        label="What it is needed for",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="What your words say about these seconds, and why they can't be fewer.",
    )

    def __init__(self, *args: Any, source: Source, excerpt: Excerpt | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.source, self.excerpt = source, excerpt
        for name in ("in_frame", "out_frame"):
            self.fields[name].rate = source.rate  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if "in_frame" in data and "out_frame" in data:
            try:
                read_span(data["in_frame"], data["out_frame"], self.source.frame_count or 0)
            except TimeError as fault:
                self.add_error("out_frame", str(fault))
            else:
                self._keeps_beats(data["in_frame"], data["out_frame"])
        if "in_frame" in data and not data.get("name"):
            data["name"] = f"Excerpt at {self.source.timecode_at(data['in_frame'])}"
        return data

    def _keeps_beats(self, start: int, end: int) -> None:
        if self.excerpt and (beat := beats_outside(self.excerpt, start, end)):
            self.add_error("in_frame", f"{beat} shows frames outside these points; trim that beat first.")


class ExcerptChangeForm(ExcerptForm):
    """The same for an excerpt that is there; ``version`` is the one that the person saw."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1)


UNIT_WORDS = {
    "source_seconds": "seconds of the source",
    "screen_seconds": "seconds on screen",
    "share": "share, such as 1/10 or 10 %",
    "ratio": "ratio, such as 2 or 3/2",
    "count": "times",
    "hours": "hours",
    "yes_no": "",
}
SENSE_WORDS = {"max": "at most", "min": "at least"}


class LimitField(forms.CharField):
    """One limit's number; empty is no limit."""

    def __init__(self, rule: Rule, scope: str, sense: str) -> None:
        self.rule, self.scope, self.sense = rule, scope, sense
        super().__init__(label=f"{rule.label}, {scope}, {SENSE_WORDS[sense]}", required=False, max_length=40)
        if rule.unit == "yes_no":
            self.widget = forms.Select(choices=[("", "no matter"), ("1", "required")])

    def clean(self, value: Any) -> Fraction | None:
        text = super().clean(value).strip().replace(",", ".")
        if not text:
            return None
        try:
            if text.endswith("%"):
                return parse_rational(text[:-1].strip()) / 100
            return parse_rational(text)
        except TimeError as fault:
            raise ValidationError(str(fault)) from fault


class PolicyForm(forms.ModelForm):
    """A policy of one's own: a field for each thing that can be limited."""

    class Meta:
        model = ExcerptPolicy
        fields = ["name", "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, policy: Policy, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.before = {(it.rule, it.scope, it.sense): it for it in policy.limits}
        for rule in rules().values():
            for scope in rule.scopes:
                for sense in rule.senses:
                    self._add(rule, scope, sense)

    def _add(self, rule: Rule, scope: str, sense: str) -> None:
        name, field = f"limit-{rule.key}-{scope}-{sense}", LimitField(rule, scope, sense)
        if limit := self.before.get((rule.key, scope, sense)):
            self.initial[name] = rational_text(limit.value)
        self.fields[name] = field
        field.widget.attrs |= {"aria-label": field.label}

    def limit_rows(self) -> list[dict[str, Any]]:
        """The limits' fields with what a page says about each."""
        rows = []
        for name, field in self.fields.items():
            if isinstance(field, LimitField):
                limit = self.before.get((field.rule.key, field.scope, field.sense))
                words = {"sense": SENSE_WORDS[field.sense], "unit": UNIT_WORDS[field.rule.unit]}
                rows.append(
                    {"bound": self[name], "rule": field.rule, "scope": field.scope, "limit": limit, **words}
                )
        return rows

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        limits = [
            limit_to_json(self._limit(field, data[name]))
            for name, field in self.fields.items()
            if isinstance(field, LimitField) and data.get(name) is not None
        ]
        try:
            policy_from_json({"title": data.get("name", ""), "limits": limits})
        except PolicyError as fault:
            for sentence in fault.faults:
                self.add_error(None, sentence)
        data["limits"] = limits
        return data

    def _limit(self, field: LimitField, value: Fraction) -> Limit:
        """The preset's limit with its source while its number is unchanged; else one's own."""
        before = self.before.get((field.rule.key, field.scope, field.sense))
        if before and before.value == value:
            return before
        return Limit(field.rule.key, field.scope, field.sense, value)
