"""Fingerprints of what released breakdowns say, and the breakdown and moment proposed for a question."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from breakdowns.publishing.models import Release
from breakdowns.questions.choices import choice
from breakdowns.questions.models import Passage, Question
from breakdowns.questions.sorting import Fingerprint, fingerprint

from .proposing import TITLE, Spoken, propose


def passages_make(release: Release) -> None:
    """Keep the fingerprints of a release's title and beats; its words are frozen, so once is enough."""
    page = release.page
    told = [(TITLE, 0, "", page["title"])]
    for place, beat in enumerate(page["beats"]):
        heading, words = beat.get("heading") or "", beat.get("words") or ""
        if f"{heading}{words}".strip():
            told.append((place, beat["start_frame"], heading, f"{heading}. {words}" if heading else words))
    Passage.objects.bulk_create(
        (
            Passage(
                release=release, place=place, start_frame=start, heading=heading[:200],
                fingerprint=fingerprint(words).as_json(),
            )
            for place, start, heading, words in told
        ),
        ignore_conflicts=True,  # two questions may be the first after a release
    )  # fmt: skip


def passages_read_again() -> int:
    """Forget all fingerprints of releases and make them anew; how many there are."""
    Passage.objects.all().delete()
    for release in _compared():
        passages_make(release)
    return Passage.objects.count()


def _compared() -> list[Release]:
    return list(Release.objects.standing()[: choice("compared_breakdowns")])


def passages_fill(also: Release | None = None) -> None:
    """Make what is missing since the last release. Call it outside of a transaction: many at once take seconds."""
    known = set(Passage.objects.values_list("release_id", flat=True).distinct())
    for release in (*_compared(), *([also] if also else [])):
        if release.pk not in known:
            passages_make(release)
            known.add(release.pk)


def _spoken(releases: list[Release]) -> list[Spoken]:
    titles = {release.pk: release.page["title"] for release in releases}
    return [
        Spoken(
            one.release_id, titles[one.release_id], one.place, one.start_frame, one.heading,
            Fingerprint.from_json(one.fingerprint),
        )
        for one in Passage.objects.filter(release__in=releases).order_by("release_id", "place")
    ]  # fmt: skip


def about_propose(question: Question) -> None:
    """Put breakdown and moment into a question that names none, with the reason in ``sorted``. Nothing is saved.

    A breakdown that the member came from stays; only its moment is proposed then.
    """
    if question.moment_frame is not None:
        return
    releases = [question.release] if question.release else _compared()
    if not releases:
        return
    by_key: dict[Any, Release] = {release.pk: release for release in releases}
    found = propose(
        question.text,
        Fingerprint.from_json(question.fingerprint),
        _spoken(releases),
        rates={pk: (Fraction(one.page["rate"]), one.page["frame_count"]) for pk, one in by_key.items()},
        newest=releases[0].pk,
        given=question.release.pk if question.release else None,
    )
    if found is None:
        return
    question.release, question.moment_frame = by_key[found.release], found.frame
    question.sorted["moment"] = {"release": question.release.slug, "frame": found.frame}
    question.sorted["moment_because"] = found.because
