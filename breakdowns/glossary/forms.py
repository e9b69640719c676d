from __future__ import annotations

from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from anatomy.lookup.index import KINDS, index_of, resolve
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.own import OWN_KINDS, OWN_STYLES, SIDES, EntryGiven, OwnFault, TermGiven
from breakdowns.scripts.forms import AnyOf, ExactField
from breakdowns.scripts.models import Breakdown
from breakdowns.scripts.plate_content import anatomy_table

from .listing import KIND_LABELS
from .pages import title_of

STYLE_CHOICES = [
    ("own", "our own word"),
    ("short", "short form"),
    ("plain", "plain words"),
    ("slang", "slang"),
    ("dictation", "as dictation hears it"),
]
assert {style for style, _ in STYLE_CHOICES} == set(OWN_STYLES)


class SearchForm(forms.Form):
    """The one search field and what narrows it; nothing here can be wrong, only empty."""

    q = forms.CharField(label="Search", max_length=200, required=False)
    kind = forms.CharField(required=False)
    region = forms.CharField(max_length=60, required=False)
    joint = forms.CharField(max_length=120, required=False)


class OwnForm(forms.Form):
    """What both kinds of additions share: faults found by the rules of the vocabulary go beside their fields."""

    gloss = forms.CharField(
        label="In plain words",
        max_length=500,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    note = forms.CharField(
        label="Note for the studio", max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def take(self, fault: OwnFault) -> None:
        for name, sentence in fault.faults.items():
            self.add_error(name if name in self.fields else None, sentence)


class TermForm(OwnForm):
    """Another way of saying an entry."""

    text = forms.CharField(label="Word or words", max_length=120, help_text="What is said: “back cuff”.")
    of = forms.CharField(
        label="Means",
        max_length=240,
        help_text="Any name of the entry: “infraspinatus”, “hip flexion”.",
        widget=forms.TextInput(attrs={"list": "vocabulary-names", "autocomplete": "off"}),
    )
    style = forms.ChoiceField(label="What sort of word", choices=STYLE_CHOICES, initial="own")
    field_order = ["text", "of", "style", "gloss", "note"]

    def __init__(self, *args: Any, vocabulary: Vocabulary, **kwargs: Any) -> None:
        self.vocabulary = vocabulary
        self.meant: tuple[str, str] = ("", "")
        super().__init__(*args, **kwargs)

    def clean_of(self) -> str:
        text = self.cleaned_data["of"]
        found = [(kind, name) for kind, name in resolve(self.vocabulary, text) if name]
        kind, colon, name = text.partition(" / ")
        if colon and self.vocabulary.has(kind, name):
            found = [(kind, name)]
        if len(found) == 1:
            self.meant = found[0]
            return text
        if found:
            named = " or ".join(f"“{kind} / {name}”" for kind, name in found)
            raise ValidationError(f"“{text}” can mean more than one entry: write {named}.")
        near = [
            f"“{title_of(hit.kind, hit.name).lower()}”" for hit in index_of(self.vocabulary).search(text)[:3]
        ]
        more = f" Is it {' or '.join(near)}?" if near else " Add it as an entry of your own first."
        raise ValidationError(f"The vocabulary has no “{text}”.{more}")

    def given(self) -> TermGiven:
        data = self.cleaned_data
        text = " ".join(data["text"].split())
        return TermGiven(text, *self.meant, data["style"], data["gloss"], data["note"])


class EntryForm(OwnForm):
    """An entry that the vocabulary lacks. Only a motion has a joint and a plane, only a structure a side."""

    kind = forms.ChoiceField(label="What it is", choices=[(kind, kind) for kind in OWN_KINDS])
    name = forms.CharField(
        label="Name", max_length=120, help_text="In lower case, as it stands in a sentence."
    )
    joint = forms.ChoiceField(label="Joint (of a motion)", required=False)
    plane = forms.ChoiceField(label="Plane (of a motion)", required=False)
    side = forms.ChoiceField(
        label="Side (of a structure)",
        required=False,
        choices=[("", "none"), *((side, side) for side in SIDES)],
    )
    field_order = ["kind", "name", "gloss", "joint", "plane", "side", "note"]

    def __init__(self, *args: Any, vocabulary: Vocabulary, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field, names in (("joint", vocabulary.joints), ("plane", vocabulary.planes)):
            self.fields[field].choices = [("", "none"), *((name, name) for name in names)]  # type: ignore[attr-defined]
        self.fields["gloss"].required = True

    def given(self) -> EntryGiven:
        data = self.cleaned_data
        of_motion, of_structure = data["kind"] == "motion", data["kind"] == "structure"
        return EntryGiven(
            data["kind"],
            " ".join(data["name"].split()),
            data["gloss"],
            data["joint"] if of_motion else "",
            data["plane"] if of_motion else "",
            data["side"] if of_structure else "",
            data["note"],
        )


class PlateForm(forms.Form):
    """Where a plate of an entry goes, and which of its rows it shows."""

    breakdown = forms.ModelChoiceField(Breakdown.objects.none(), label="Breakdown", empty_label=None)
    after = forms.IntegerField(
        label="Behind beat",
        required=False,
        min_value=0,
        max_value=100_000,
        help_text="Its number; 0 for the beginning, empty for the end.",
    )
    rows = AnyOf(
        label="Rows to show",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="None ticked: all of them.",
    )
    seconds = ExactField(label="Seconds on screen", lowest=Fraction(1, 10), highest=Fraction(600), unit=" s")

    def __init__(self, *args: Any, vocabulary: Vocabulary, kind: str, name: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        table = anatomy_table(vocabulary, kind, name)
        self.fields["breakdown"].queryset = Breakdown.objects.order_by("-changed_at")  # type: ignore[attr-defined]
        self.fields["rows"].choices = [  # type: ignore[attr-defined]
            (row.key, f"{row.title}, {row.right}" if row.right else row.title) for row in table.rows
        ]

    def clean_rows(self) -> list[str]:
        known = {key for key, _ in self.fields["rows"].choices}  # type: ignore[attr-defined]
        return [key for key in self.cleaned_data["rows"] if key in known]

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        breakdown, after = data.get("breakdown"), data.get("after")
        if breakdown and after:
            data["beat"] = breakdown.beats.order_by("position", "pk")[after - 1 : after].first()
            if data["beat"] is None:
                self.add_error(
                    "after", f"“{breakdown}” has {breakdown.beats.count()} beats: choose one of them."
                )
        return data


assert set(KIND_LABELS) == set(KINDS)
