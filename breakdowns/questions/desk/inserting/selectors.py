"""What can be put into an answer by a few letters of its name."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from anatomy.lookup.index import index_of
from anatomy.vocabulary.naming import fold
from anatomy.vocabulary.selectors import current_vocabulary
from breakdowns.footage.timebase import clock_label
from breakdowns.people.models import User
from breakdowns.publishing.models import Release
from breakdowns.questions.models import Snippet


@dataclass(frozen=True, slots=True)
class Insert:
    """Something to put into an answer: what kind, its name, and the Markdown."""

    kind: str
    name: str
    text: str


def inserts(wanted: str, by: User) -> list[Insert]:
    """Own snippets, vocabulary entries, cautions and moments of releases that fit some words, few of each."""
    wanted = wanted.strip()[:100]
    if not wanted:
        return []
    folded = fold(wanted)
    own = Snippet.objects.filter(owner=by, name__icontains=wanted)[:4]
    found = [Insert("own words", one.name, one.text) for one in own]
    vocabulary = current_vocabulary()
    for hit in index_of(vocabulary).search(wanted)[:5]:
        found.append(Insert(hit.kind, hit.name, f"*{hit.name}*"))
    for release in Release.objects.standing()[:40]:
        found += _of_release(release, folded)
    return found[:14]


def _of_release(release: Release, folded: str) -> list[Insert]:
    page, found = release.page, []
    for caution in page.get("cautions", []):
        if folded in fold(caution):
            found.append(Insert("caution", caution, f"> {caution}"))
    rate = Fraction(page["rate"])
    for beat in page["beats"]:
        if folded in fold(f"{beat.get('heading', '')} {beat.get('words', '')}"):
            found.append(insert_of_moment(release, beat["start_frame"], rate))
    return found[:3]


def insert_of_moment(release: Release, frame: int | None, rate: Fraction | None = None) -> Insert:
    """The link to a moment of a release, or to the whole of it, named by title and time."""
    title = release.page["title"]
    if frame is None:
        return Insert("breakdown", title, f"[{title}](/read/{release.slug}/)")
    at = clock_label(frame / (rate or Fraction(release.page["rate"])), 0)
    return Insert("moment", f"{title}, {at}", f"[{title}, {at}](/read/{release.slug}/#at-{frame})")


def usual_words() -> frozenset[str]:
    """Words of the vocabulary, lower case: a capital in them names nobody."""
    vocabulary = current_vocabulary()
    kinds = ("muscle", "joint", "structure", "motion", "nerve")
    return frozenset(
        word for kind in kinds for name in vocabulary.names(kind) for word in name.casefold().split()
    )
