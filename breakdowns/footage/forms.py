from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError

from .file_names import NotInFolder, ServerFile, find_file, list_files
from .models import Source
from .moments import read_moment
from .services import event_create
from .timebase import TimeError


class UploadForm(forms.Form):
    """The plain way in: one file in one form."""

    file = forms.FileField(
        label="A file from this computer",
        allow_empty_file=True,  # answered with a sentence of our own
        widget=forms.ClearableFileInput(attrs={"accept": "video/*,.mkv,.mts,.m2ts,.ts,.avi"}),
    )


class BeginForm(forms.Form):
    """What is said of a file before its pieces come."""

    name = forms.CharField(max_length=1000)
    size = forms.IntegerField()


class ServerFileForm(forms.Form):
    """A file in one of the footage folders."""

    registered = forms.ChoiceField(label="A file on the server")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.files = list_files(settings.FOOTAGE_FOLDERS)
        self.fields["registered"].choices = [(file.name, file.shown) for file in self.files]  # type: ignore[attr-defined]

    def clean_registered(self) -> ServerFile:
        try:
            return find_file(settings.FOOTAGE_FOLDERS, self.cleaned_data["registered"])
        except NotInFolder as fault:
            raise ValidationError(str(fault)) from fault


class DetailsForm(forms.ModelForm):
    """What a person knows about the footage and its rights. A new event may be named on the way."""

    new_event = forms.CharField(label="or a new event", max_length=160, required=False)
    new_event_ended = forms.DateTimeField(
        label="End of the new event",
        required=False,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        help_text="Some limits count the hours since then.",
    )

    class Meta:
        model = Source
        fields = ["title", "view", "event", "terms", "rights_holder", "attribution", "notes"]
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}
        help_texts = {"attribution": "As it is to stand on screen and in the description."}

    field_order = [
        "title",
        "view",
        "event",
        "new_event",
        "new_event_ended",
        "terms",
        "rights_holder",
        "attribution",
        "notes",
    ]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("new_event_ended") and not data.get("new_event"):
            self.add_error("new_event", "Name the event whose end you gave, or clear the date.")
        if data.get("event") and data.get("new_event"):
            self.add_error("new_event", "Choose an event or name a new one, not both.")
        return data

    def details(self) -> dict[str, Any]:
        """Values for the source's columns; makes the new event where one was named."""
        data = {name: self.cleaned_data[name] for name in self.Meta.fields}
        if name := self.cleaned_data.get("new_event"):
            data["event"] = event_create(name=name, ended_at=self.cleaned_data.get("new_event_ended"))
        return data


class SyncForm(forms.Form):
    """The frame of the common instant; empty clears it."""

    frame = forms.CharField(required=False, max_length=40)

    def __init__(self, *args: Any, source: Source, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.source = source

    def clean_frame(self) -> int | None:
        text = self.cleaned_data["frame"].strip()
        if not text:
            return None
        try:
            frame = read_moment(text, self.source.rate)
        except TimeError as fault:
            raise ValidationError(str(fault)) from fault
        if frame >= (self.source.frame_count or 0):
            raise ValidationError(
                f"Frame {frame} does not exist: the last one is {(self.source.frame_count or 1) - 1}."
            )
        return frame
