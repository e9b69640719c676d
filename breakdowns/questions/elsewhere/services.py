"""Messages that arrived where questions are not answered: looked through, replied to, and kept no further than chosen."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from breakdowns.people.models import User
from breakdowns.people.post.services import site_address
from breakdowns.people.typed import clean_words
from breakdowns.questions.answers.services import NOT_A_CONSULTATION
from breakdowns.questions.choices import choice
from breakdowns.questions.machine import rank_of, read_text, screen_text
from breakdowns.questions.models import Answer, Elsewhere, Settings
from breakdowns.questions.screening import advice
from breakdowns.questions.selectors import Near, library, nearest

from .mailbox import Message

USUAL_REPLY = (
    "Thank you for writing. I can't answer questions here, but I do answer them in one place, for members:"
)


@dataclass(frozen=True, slots=True)
class Looked:
    """One message looked through: signs that can't wait first, public answers that fit, and a reply to copy."""

    message: Message
    flags: tuple[Any, ...]
    urgency: str
    advice: Any
    near: list[Near]
    reply: str
    topic: str = ""
    regions: tuple[str, ...] = ()


def look_through(message: Message, words: str = "") -> Looked:
    """Screen first, then match with what everybody may read. Stores nothing. ``words`` open the reply."""
    if message.fault or not message.text.strip():
        return Looked(message, (), "", None, [], "")
    screening = screen_text(message.text)
    told = advice(screening.urgency) if screening.flags else None
    read = read_text(message.text[: choice("most_signs")])
    near = nearest(library().filter(audience=Answer.Audience.EVERYBODY), read, limit=3)
    reply = reply_of(words or Settings.now().reply_words or USUAL_REPLY, told, near)
    return Looked(
        message, tuple(screening.flags), screening.urgency or "", told, near, reply,
        read.get("topic", ""), tuple(read.get("regions", ())),
    )  # fmt: skip


def reply_of(words: str, told: Any, near: Sequence[Near]) -> str:
    """Short and polite: where to go first, the owner's own words, what is answered already, where to ask."""
    parts = []
    if told:
        parts.append("\n".join([told.title, *filter(None, map(_for_strangers, told.lines))]))
    parts.append(f"{words.strip()} {site_address(reverse('questions:ask'))}")
    if near and not told:
        links = "\n".join(
            f"{' '.join(one.answer.asked.split())[:120]}: {site_address(one.answer.get_absolute_url())}"
            for one in near
        )
        parts.append(f"This was answered for everybody, and may help:\n{links}")
    parts.append(NOT_A_CONSULTATION)
    return "\n\n".join(parts)


def _for_strangers(line: str) -> str:
    """Without what is true of members only: no question of a stranger is kept."""
    return " ".join(one for one in re.split(r"(?<=\.)\s+", line) if not one.startswith("Your question"))


@transaction.atomic
def keep_as_chosen(looked: Sequence[Looked], *, by: User, channel: str = "") -> int:
    """What the owner chose to keep of messages from elsewhere: nothing, what they were about, or the words for some days.

    Returns how many rows that made; a message kept before is not kept twice.
    """
    chosen = Settings.now()
    forget_due()
    if chosen.keep_elsewhere == Settings.Keep.NOTHING:
        return 0
    made = 0
    for one in looked:
        if not one.reply:
            continue
        row = Elsewhere(
            channel=clean_words(channel)[:60], urgency=one.urgency, urgency_rank=rank_of(one.urgency),
            flags=[flag.key for flag in one.flags], topic=one.topic, regions=list(one.regions), by=by,
        )  # fmt: skip
        if chosen.keep_elsewhere == Settings.Keep.TEXT:
            _with_words(row, one.message, chosen.keep_days)
            if row.message_id and Elsewhere.objects.filter(message_id=row.message_id).exists():
                continue
        row.save()
        row.matched.set([near.answer for near in one.near])
        made += 1
    return made


def _with_words(row: Elsewhere, message: Message, days: int) -> None:
    row.text, row.sender = clean_words(message.text), clean_words(message.sender)[:200]
    row.sent_on = message.sent_on
    if message.message_id:
        row.message_id = hashlib.sha256(message.message_id.encode("utf-8", "replace")).hexdigest()
    row.forget_at = timezone.now() + timedelta(days=days)


def forget_due() -> int:
    """Words whose days are over go."""
    return Elsewhere.objects.filter(forget_at__lte=timezone.now()).delete()[0]
