from __future__ import annotations

from django import forms

from breakdowns.scripts.forms import AnyOf
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.scripts.plate_content import MOST_SAID, MOST_SOURCE
from breakdowns.scripts.selectors import PLATE_COLUMNS

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


class PlateForm(forms.Form):
    """The columns of a plate, as ``scripts.selectors.plate_query`` writes them."""

    plate = forms.ChoiceField(choices=Beat.Plate.choices)
    plate_title = forms.CharField(max_length=120, required=False)
    plate_text = forms.CharField(max_length=2000, required=False)
    plate_entry_kind = forms.CharField(max_length=12, required=False)
    plate_entry = forms.CharField(max_length=160, required=False)
    plate_rows = AnyOf(required=False)
    plate_said = forms.CharField(max_length=MOST_SAID, required=False)
    plate_source = forms.CharField(max_length=MOST_SOURCE, required=False)
    shape = forms.ChoiceField(choices=Breakdown.Shape.choices)

    def beat(self) -> Beat:
        """A beat of these columns that is not stored."""
        given = {name: self.cleaned_data[name] for name in PLATE_COLUMNS}
        return Beat(kind=Beat.Kind.PLATE, position=0, **given)
