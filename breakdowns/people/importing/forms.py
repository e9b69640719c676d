from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from .columns import FIELDS
from .day_order import ORDERS, OrderFound
from .reading import Plan
from .table import ENCODINGS, MOST_BYTES, SEPARATORS

_DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class FileForm(forms.Form):
    file = forms.FileField(
        label="A table of members (CSV)",
        help_text="One line for each person, with the e-mail address and, where you have them, name and days.",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.tsv,.txt,text/csv"}),
    )

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file.size > MOST_BYTES:
            raise ValidationError(f"The file is larger than {MOST_BYTES // 1024 // 1024} MB; divide it.")
        return file


class WritingForm(forms.Form):
    """How the file is written."""

    encoding = forms.ChoiceField(label="Signs", choices=list(ENCODINGS.items()))
    separator = forms.ChoiceField(
        label="Between the cells", choices=[(name, name) for name in SEPARATORS.values()]
    )
    head = forms.BooleanField(label="The first line names the columns", required=False)

    def clean_separator(self) -> str:
        return next(sign for sign, name in SEPARATORS.items() if name == self.cleaned_data["separator"])


class ColumnsForm(forms.Form):
    """Which column is what, and what holds where the file says nothing."""

    def __init__(self, *args: Any, heads: Sequence[str], days: OrderFound, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        numbered = [(str(n), f"{n + 1}: {head}"[:60]) for n, head in enumerate(heads)]
        for name, label in FIELDS.items():
            self.fields[name] = forms.ChoiceField(
                label=label, choices=[("", "not in the file"), *numbered], required=name == "email"
            )
        self.fields["day_order"] = forms.ChoiceField(
            label="Order of day and month",
            choices=[("", "choose"), *ORDERS.items()],
            required=False,
            help_text="For days that end with the year.",
        )
        self.fields["first_day"] = forms.DateField(
            label="First day where the file has none", required=False, widget=_DAY, help_text="Empty: today."
        )
        self.fields["last_day"] = forms.DateField(
            label="Last day where the file has none", required=False, widget=_DAY,
            help_text="Counts too. Empty: those memberships have no end.",
        )  # fmt: skip
        self.fields["invite"] = forms.BooleanField(
            label="Send each new account an invitation by e-mail", required=False,
            help_text="Without one they have a link sent when they first sign in.",
        )  # fmt: skip
        self.days = days

    def clean(self) -> dict[str, Any]:
        chosen = [self.cleaned_data[name] for name in FIELDS if self.cleaned_data.get(name)]
        twice = {number for number in chosen if chosen.count(number) > 1}
        for name in FIELDS:
            if self.cleaned_data.get(name) in twice:
                self.add_error(name, "This column is chosen twice; choose each once.")
        return self.cleaned_data

    def ask_order(self, days: OrderFound) -> bool:
        """Whether the order has still to be asked for, by the columns that were chosen; says so at the field."""
        if days.total and self.cleaned_data.get("day_order") not in ORDERS:
            self.add_error("day_order", "Say which: the file has days that end with the year.")
            return True
        return False

    def plan(self, plan: Plan) -> Plan:
        found = self.cleaned_data
        columns = {name: int(found[name]) for name in FIELDS if found.get(name)}
        return Plan(
            plan.encoding, plan.separator, plan.head, columns, found["day_order"], found["first_day"],
            found["last_day"], found["invite"], settled=True,
        )  # fmt: skip
