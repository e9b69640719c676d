from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from ..models import MemberSettings, User, site_today

_DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class DaysForm(forms.Form):
    """First and last day, both included."""

    starts_on = forms.DateField(label="First day", initial=site_today, widget=_DAY)
    ends_on = forms.DateField(
        label="Last day", required=False, widget=_DAY, help_text="Counts too. Empty: no end."
    )

    def clean(self) -> dict[str, Any]:
        first, last = self.cleaned_data.get("starts_on"), self.cleaned_data.get("ends_on")
        if first and last and last < first:
            self.add_error(
                "ends_on", "The last day lies before the first. Choose a later one, or leave it empty."
            )
        return self.cleaned_data


class AddMemberForm(DaysForm):
    email = forms.EmailField(label="E-mail")
    name = forms.CharField(label="Name", max_length=120, required=False)
    gift = forms.BooleanField(label="It is a gift", required=False)
    gift_from = forms.CharField(label="From whom", max_length=120, required=False)
    gift_message = forms.CharField(
        label="A few words with it", max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    invite = forms.BooleanField(
        label="Send an invitation by e-mail",
        required=False,
        initial=True,
        help_text="A link that lets the person in once. It can be sent again and taken back.",
    )
    field_order = ["email", "name", "starts_on", "ends_on", "gift", "gift_from", "gift_message", "invite"]

    def clean_email(self) -> str:
        email = self.cleaned_data["email"].lower()
        user = User.objects.filter(email=email).first()
        if user and user.in_studio:
            raise ValidationError(
                "This is an account of the studio; it may read everything without a membership."
            )
        if user and not user.is_active and user.last_login:
            raise ValidationError("This account is closed. Open it on the people page first.")
        return email


class SettingsForm(forms.ModelForm):
    class Meta:
        model = MemberSettings
        fields = [
            "what_members_get", "how_to_join", "grace_days", "invitation_days", "pace",
            "letter_hour", "letter_weekday",
        ]  # fmt: skip
        labels = {
            "what_members_get": "What members get",
            "how_to_join": "How to become a member",
            "grace_days": "Days of grace",
            "invitation_days": "Days an invitation lasts",
            "pace": "How letters go out",
            "letter_hour": "Gathered letters go at (hour, site's clock)",
            "letter_weekday": "Weekly letters go on",
        }
        help_texts = {
            "what_members_get": "Shown to people who are not members, in your words. Addresses become links.",
            "how_to_join": "Shown below it, in your words.",
            "grace_days": "After the last day of what was paid, while a renewal may be on its way. Not for gifts and not after a cancellation.",
            "pace": "Members may choose otherwise. Sign-in links and urgent advice always go at once.",
        }
        widgets = {
            "what_members_get": forms.Textarea(attrs={"rows": 4}),
            "how_to_join": forms.Textarea(attrs={"rows": 4}),
        }


class LetterForm(forms.Form):
    """What a person wants to be told, and how often."""

    def __init__(self, *args: Any, kinds: dict[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["wanted"] = forms.MultipleChoiceField(
            label="Tell me about",
            choices=list(kinds.items()),
            required=False,
            widget=forms.CheckboxSelectMultiple,
        )
        self.fields["pace"] = forms.ChoiceField(
            label="How often",
            required=False,
            choices=[("", "as the studio has set it"), *MemberSettings.Pace.choices],
        )


class EraseForm(forms.Form):
    """Typed, so that it can't happen by a slip."""

    typed = forms.CharField(label="Type your e-mail address", max_length=254)

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user

    def clean_typed(self) -> str:
        if self.cleaned_data["typed"].strip().lower() != self.user.email:
            raise ValidationError(f"That is not {self.user.email}. Nothing was erased.")
        return self.cleaned_data["typed"]
