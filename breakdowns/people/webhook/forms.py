from __future__ import annotations

from django import forms
from django.core.exceptions import ValidationError

from .models import PaymentService


class ServiceForm(forms.Form):
    name = forms.CharField(
        label="Name of the payment service", max_length=80, help_text="As you call it; only you see it."
    )

    def clean_name(self) -> str:
        name = self.cleaned_data["name"].strip()
        if PaymentService.objects.filter(name=name).exists():
            raise ValidationError(
                f"“{name}” is there already. Make a new key for it below, or choose another name."
            )
        return name
