"""Paste a message or import a mailbox file; the page with the replies is the answer itself and is stored nowhere."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from breakdowns.people.access import studio_required
from breakdowns.people.typed import clean_words
from breakdowns.questions.choices import choice
from breakdowns.questions.models import Elsewhere, Settings, Snippet

from .mailbox import MailboxRefused, Message, messages_of
from .services import forget_due, keep_as_chosen, look_through


class ElsewhereForm(forms.Form):
    text = forms.CharField(
        label="A message", required=False, strip=False, widget=forms.Textarea(attrs={"rows": 6, "dir": "auto"}),
        help_text="Paste one as it came.",
    )  # fmt: skip
    mailbox = forms.FileField(
        label="Or a mailbox file", required=False, help_text="mbox, or one message as eml. Attachments are not opened.",
    )  # fmt: skip
    snippet = forms.ModelChoiceField(
        label="The reply begins with",
        queryset=Snippet.objects.none(),
        required=False,
        empty_label="the usual words",
    )

    def __init__(self, *args: Any, by: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["snippet"].queryset = Snippet.objects.filter(owner=by)  # type: ignore[attr-defined]
        self.more = 0

    def clean_text(self) -> str:
        text = clean_words(self.cleaned_data["text"])
        if len(text) > choice("most_signs"):
            raise ValidationError(
                f"At most {choice('most_signs'):,} characters can be read; paste the part that asks."
            )
        return text

    def clean_mailbox(self) -> list[Message]:
        file = self.cleaned_data.get("mailbox")
        if not file:
            return []
        if file.size > choice("most_mailbox_bytes"):
            most = choice("most_mailbox_bytes") // 1_000_000
            raise ValidationError(f"The file is larger than {most} MB; export fewer messages at a time.")
        try:
            found, self.more = messages_of(file.read())
        except MailboxRefused as fault:
            raise ValidationError(str(fault)) from None
        return found

    def clean(self) -> dict[str, Any]:
        if not self.errors and not self.cleaned_data["text"].strip() and not self.cleaned_data["mailbox"]:
            self.add_error("text", "Paste a message, or choose a mailbox file.")
        return self.cleaned_data

    def messages(self) -> list[Message]:
        text = self.cleaned_data["text"]
        return [*([Message(text, "", None, "")] if text.strip() else []), *self.cleaned_data["mailbox"]]


@studio_required
@never_cache
@require_http_methods(["GET", "POST"])
def elsewhere(request: HttpRequest) -> HttpResponse:
    """The form; sent, it comes back with each message looked through, the urgent ones first."""
    forget_due()
    form = ElsewhereForm(request.POST or None, request.FILES or None, by=request.user)
    looked, kept = [], 0
    valid = request.method == "POST" and form.is_valid()
    if valid:
        snippet = form.cleaned_data["snippet"]
        looked = [look_through(one, snippet.text if snippet else "") for one in form.messages()]
        looked.sort(key=lambda one: (not one.flags, bool(one.message.fault)))
        kept = keep_as_chosen(looked, by=request.user)
        form = ElsewhereForm(by=request.user)
    context = {
        "form": form,
        "looked": looked,
        "more": form.more,
        "kept": kept,
        "keeps": Settings.now().get_keep_elsewhere_display(),
        "rows": list(Elsewhere.objects.exclude(text="")[:50]),
    }
    status = 422 if request.method == "POST" and not valid else 200
    return render(request, "questions/elsewhere.html", context, status=status)


@studio_required
@require_POST
def elsewhere_drop(request: HttpRequest, key: UUID) -> HttpResponse:
    """Forget one message now."""
    get_object_or_404(Elsewhere, key=key).delete()
    return redirect("questions:elsewhere")
