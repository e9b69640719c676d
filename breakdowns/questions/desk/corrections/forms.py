"""What was put into the fields of the sorting, made into values."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from breakdowns.people.typed import clean_words
from breakdowns.publishing.models import Release
from breakdowns.questions.desk.acts.services import CannotDo
from breakdowns.questions.machine import topics
from breakdowns.questions.models import Question

LISTS = ("regions", "joints", "muscles")
STEP = Fraction(1, 2)
_CLOCK = re.compile(r"(?:(\d{1,3}):)?(\d{1,5})(?:[.,](\d{1,3}))?\Z")


def put_one(said: Mapping[str, str], question: Question) -> tuple[str, Any]:
    """What one button puts right: its field and the new value. Raises CannotDo."""
    if "less" in said or "more" in said:
        step = -STEP if "less" in said else STEP
        return "minutes", float(min(240, max(STEP, Fraction(question.minutes) + step)))
    if "drop" in said:
        field, _, name = said["drop"].partition(":")
        if field not in LISTS:
            raise CannotDo("That can't be taken out here.")
        return field, [one for one in getattr(question, field) if one != name]
    if said.get("topic", "") not in topics():
        raise CannotDo("That is none of the topics.")
    return "topic", said["topic"]


def put_values(said: Mapping[str, str], question: Question) -> dict[str, Any]:
    """Minutes and the lists with commas, as far as they were typed. Raises CannotDo."""
    values: dict[str, Any] = {}
    try:
        minutes = float(said.get("put_minutes", str(question.minutes)).replace(",", "."))
    except ValueError:
        raise CannotDo("Minutes are a number, such as 3 or 2.5.") from None
    if not 0.5 <= minutes <= 240:
        raise CannotDo("Between half a minute and 240 minutes.")
    values["minutes"] = round(minutes, 1)
    for field in LISTS:
        if f"put_{field}" in said:
            words = clean_words(said[f"put_{field}"]).split(",")
            values[field] = list(dict.fromkeys(one.strip()[:80] for one in words if one.strip()))[:20]
    return values


def put_moment(said: Mapping[str, str]) -> tuple[Release | None, int | None]:
    """The breakdown and the frame that stands for the time typed, or neither. Raises CannotDo."""
    slug, typed = said.get("put_about", ""), said.get("put_at", "").strip()
    if not slug:
        return None, None
    release = Release.objects.standing().filter(slug=slug).first()
    if release is None:
        raise CannotDo("That breakdown is not published any more.")
    if not typed:
        return release, None
    found = _CLOCK.match(typed)
    if found is None:
        raise CannotDo("Write the time as minutes and seconds, such as 0:26.")
    minutes, seconds, part = found.groups()
    at = Fraction(int(minutes or 0)) * 60 + Fraction(f"{seconds}.{part or 0}")
    return release, math.ceil(at * Fraction(release.page["rate"]))
