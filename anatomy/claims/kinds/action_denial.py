"""What a denial denies: that a muscle makes a motion at all, or only that it does so here and now.

"The soleus doesn't bend the knee" speaks of the muscle; "his quads aren't extending the knee fast enough" speaks of a
moment, and "the serratus can't protract the scapula any more" says what it does when it is well.
"""

from __future__ import annotations

from anatomy.claims.expressing.expression import Expression
from anatomy.claims.reading import Reading
from anatomy.claims.subjects import Subject

__all__ = ["lost", "on_occasion"]

SOMEBODY = frozenset({"his", "her", "their", "my", "our", "this", "these"})
PAST_OR_FUTURE = frozenset({"didn't", "did not", "couldn't", "could not", "won't", "will not", "wasn't", "weren't", "hasn't", "haven't", "wouldn't"})  # fmt: skip
UNABLE = frozenset({"can't", "cannot", "can not", "cant"})
AFTER = 7
"""Items after the motion within which a word of time or degree still belongs to it."""


def lost(reading: Reading, i: int, j: int) -> bool:
    """ "Blamed for not extending", "fails to extend", "can't extend any more": what is missed is what the muscle does."""
    items = reading.items
    inside = items[i : j + 3]
    if any(item.is_("FAILTO") for item in inside):
        return True
    if any(item.is_("NOMORE") for item in items[j - 1 : j + AFTER]):
        return True
    blamed = any(item.is_("BLAME") for item in items[max(0, i - 3) : i])
    return blamed and any(item.text == "for" for item in inside)


def on_occasion(reading: Reading, subject: Subject, expression: Expression, i: int, j: int) -> bool:
    """Whether the denial is of one moment or person: by its verb's form, whose muscle it is, or a word of time or degree."""
    if expression.form in ("agent", "noun") or expression.passive:
        return False
    items = reading.items
    if expression.form == "ing":
        return True
    verb = items[subject.j : expression.i] if subject.j <= expression.i else items[i:j]
    if any(item.text in PAST_OR_FUTURE for item in verb):
        return True
    if any(item.text in SOMEBODY for item in items[subject.i : subject.j]):
        return True
    if any(item.is_("INSTANCE") or item.text == "enough" for item in [*verb, *items[j : j + AFTER]]):
        return True
    unable = any(item.text in UNABLE for item in verb)
    return unable and any(
        item.is_("SUB", "POSTURE") or item.text in ("after", "without") for item in items[:i] + items[j:]
    )
