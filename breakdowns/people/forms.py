from __future__ import annotations

import time
from typing import Any

from django import forms
from django.contrib.auth import authenticate, password_validation
from django.core.cache import cache
from django.core.exceptions import ValidationError

from .attempts import must_wait, still_counting
from .models import User


class SignInForm(forms.Form):
    """E-mail and password. Guessing is slowed by address and account together."""

    email = forms.EmailField(
        label="E-mail", widget=forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True})
    )
    password = forms.CharField(
        label="Password", widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )

    def __init__(self, *args: Any, address: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.address = address
        self.user: User | None = None

    def clean(self) -> dict[str, Any]:
        email = self.cleaned_data.get("email", "").lower()
        if not email or "password" not in self.cleaned_data:
            return self.cleaned_data
        key = f"sign-in-failures:{self.address}:{email}"
        failures, now = cache.get(key, []), time.time()
        if wait := must_wait(failures, now):
            raise ValidationError(
                f"Too many wrong passwords. Try again in {-(-wait // 60)} minutes, or ask for a link by e-mail."
            )
        self.user = authenticate(email=email, password=self.cleaned_data["password"])  # type: ignore[assignment]
        if self.user is None:
            cache.set(key, [*still_counting(failures, now), now], 3600)
            raise ValidationError(
                "That e-mail address and password don't belong together. Check both, or ask for a link by e-mail."
            )
        cache.delete(key)
        return self.cleaned_data


class LinkForm(forms.Form):
    email = forms.EmailField(label="E-mail", widget=forms.EmailInput(attrs={"autocomplete": "username"}))


class PersonForm(forms.ModelForm):
    class Meta:
        model = User
        fields = ["name", "email", "role"]

    def clean_email(self) -> str:
        return self.cleaned_data["email"].lower()


class PasswordForm(forms.Form):
    password = forms.CharField(
        label="New password",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        max_length=200,
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user

    def clean_password(self) -> str:
        password_validation.validate_password(self.cleaned_data["password"], self.user)
        return self.cleaned_data["password"]
