"""That somebody had their data erased, kept for a while without saying who."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.utils import timezone


class ErasedAddress(models.Model):
    """The keyed hash of an address whose owner had everything erased, so that no list brings it back by itself."""

    digest = models.CharField(max_length=64, unique=True)
    erased_at = models.DateTimeField(default=timezone.now, db_index=True)

    class Meta:
        ordering: ClassVar = ["-erased_at", "-pk"]

    def __str__(self) -> str:
        return f"erased on {self.erased_at:%Y-%m-%d}"
