"""What the browser's pages ask: where an entry is used, which own terms there are, what may be shown where."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction
from threading import Lock

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.naming import split_motion
from anatomy.vocabulary.selectors import OwnTermShown, own_terms
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.scripts.selectors import beat_view

from .usage import BeatWords, UsageIndex

__all__ = ["Use", "UsedIn", "names_of", "own_names_of", "usage_of"]

SHOWN_BREAKDOWNS = 10
_index = UsageIndex()
_alone = Lock()


@dataclass(frozen=True)
class Use:
    """A beat that says one of the names: its number, its second in the piece, and the words around."""

    number: int
    key: str
    at: Fraction
    before: str
    said: str
    after: str


@dataclass(frozen=True)
class UsedIn:
    breakdown: Breakdown
    uses: tuple[Use, ...]


def names_of(vocabulary: Vocabulary, kind: str, name: str) -> list[str]:
    """Every way of saying an entry, the standard one first; a motion with and without its colon."""
    plain = " ".join(part for part in split_motion(name) if part) if kind == "motion" else name
    return list(dict.fromkeys((plain, *vocabulary.synonyms(kind, name))))


def usage_of(vocabulary: Vocabulary, kind: str, name: str) -> tuple[list[UsedIn], int]:
    """(the breakdowns that say the entry, those changed last first; how many more are not shown)."""
    with _alone:
        _bring_up_to_date()
        places = _index.find(names_of(vocabulary, kind, name))
        said = {place.beat: _index.snippet(place) for place in places}
    breakdowns_used = {place.breakdown for place in places}
    found = Breakdown.objects.filter(pk__in=breakdowns_used).order_by("-changed_at", "pk")[:SHOWN_BREAKDOWNS]
    uses = _uses({one.pk for one in found}, said, vocabulary)
    shown = [UsedIn(one, tuple(uses[one.pk])) for one in found]
    return shown, len(breakdowns_used) - len(shown)


def _uses(
    breakdowns: set[int], said: dict[int, tuple[str, str, str]], vocabulary: Vocabulary
) -> dict[int, list[Use]]:
    """The uses in each breakdown, in order, each with the second at which its beat begins."""
    rows = Beat.objects.filter(breakdown__in=breakdowns).select_related("excerpt__source", "source")
    uses: dict[int, list[Use]] = defaultdict(list)
    number: dict[int, int] = defaultdict(int)
    at: dict[int, Fraction] = defaultdict(Fraction)
    for beat in rows.order_by("breakdown", "position", "pk"):
        here = beat.breakdown_id
        number[here] += 1
        if beat.pk in said:
            uses[here].append(Use(number[here], str(beat.key), at[here], *said[beat.pk]))
        at[here] += beat_view(beat, vocabulary).picture_seconds
    return uses


def _bring_up_to_date() -> None:
    """Read again only the breakdowns whose version has changed since."""
    rows = Breakdown.objects.values_list("pk", "version", "changed_at")
    versions = {pk: (version, changed_at) for pk, version, changed_at in rows}
    stale = _index.stale(versions)
    if stale:
        spoken = Beat.objects.filter(breakdown__in=stale).exclude(words="")
        beats = [BeatWords(*row) for row in spoken.values_list("pk", "breakdown_id", "words")]
        _index.replace({key: versions[key] for key in stale}, beats)


def own_names_of(kind: str, name: str) -> list[OwnTermShown]:
    """What this site itself has added as names of an entry."""
    return [one for one in own_terms() if (one.term.kind, one.term.of) == (kind, name)]
