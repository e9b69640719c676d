"""Statements about the body in the words: what is wrong, what depends on more, and what to say instead."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Final

from anatomy.claims.check import Claim, check_claims
from anatomy.muscles.known import KnownPosture
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.footage.timebase import clock_label
from breakdowns.scripts.checks.figures import act
from breakdowns.scripts.citations import cited_briefly, short_citation
from breakdowns.scripts.margin import Action, BeatCheck, Finding, State
from breakdowns.scripts.plate_content import plate_of_terms
from breakdowns.scripts.recording import second_at
from breakdowns.scripts.script import BeatView, ScriptView
from breakdowns.scripts.vocabulary_stamps import judging_stamp

__all__ = ["ClaimsCheck", "claims_in"]

_STATES: Final[dict[str, State]] = {"wrong": "over", "depends": "near"}
_PLATE_SECONDS: Final = "6"
_LONGEST_SOURCE: Final = 200  # what a correction card holds


@lru_cache(maxsize=1024)
def claims_in(
    words: str, vocabulary: Vocabulary, postures: tuple[KnownPosture, ...] = ()
) -> tuple[Claim, ...]:
    """The statements in ``words``, judged, where known in the posture shown; kept while the same vocabulary is in use."""
    return tuple(check_claims(words, vocabulary, postures))


@dataclass(frozen=True, slots=True)
class _Said:
    """What is judged. ``stamp`` stands for the vocabulary and the engine; ``vocabulary`` itself is not compared.

    ``spoken``: the words are recorded; then ``starts`` are the seconds of the recording at which each of them
    begins, as far as known, and ``divisible`` tells whether the beat may be cut there. ``corrected`` are
    statements that a card on screen corrects already; ``postures`` what is known of the posture that is shown.
    """

    words: str
    stamp: str
    spoken: bool
    starts: tuple[Fraction, ...]
    divisible: bool
    corrected: tuple[str, ...]
    postures: tuple[KnownPosture, ...]
    vocabulary: Vocabulary = field(compare=False, repr=False)


class ClaimsCheck(BeatCheck):
    """Each statement about muscles, joints, planes, sides and the like that is wrong or depends on something."""

    key = "claims"
    version = 2

    def reads(self, beat: BeatView, script: ScriptView) -> _Said | None:
        if not beat.words.strip():
            return None
        vocabulary = script.vocabulary or packaged_vocabulary()
        spoken = beat.take_seconds is not None
        return _Said(
            beat.words,
            judging_stamp(vocabulary),
            spoken,
            beat.word_starts if spoken else (),
            spoken and not beat.take_is_file,
            _corrected(beat, script),
            beat.postures,
            vocabulary,
        )

    def judge(self, material: _Said) -> Iterator[Finding]:
        for claim in claims_in(material.words, material.vocabulary, material.postures):
            said = _one_line(material.words[claim.start : claim.end])
            if claim.verdict not in _STATES or said in material.corrected:
                continue
            yield Finding(
                # What a model alone has against the words is never as sure as a textbook.
                "near" if claim.estimate else _STATES[claim.verdict],
                _sentence(claim.why).removesuffix("."),
                _mend(claim, material),
                tuple(_actions(claim, said, material)),
                span=(claim.start, claim.end),
                instead=_instead(claim, material.words),
                cite=cited_briefly(_citations(claim, material.vocabulary)),
                rule=claim.kind,
            )


def _corrected(beat: BeatView, script: ScriptView) -> tuple[str, ...]:
    """What a correction card over these words, or right behind them, says was said."""
    place = script.positions.get(beat.id, 0)
    cards = (beat, *script.beats[place + 1 : place + 2])
    return tuple(
        _one_line(card.plate_said) for card in cards if card.plate == "correction" and card.plate_said
    )


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _citations(claim: Claim, vocabulary: Vocabulary) -> list[str]:
    known = dict.fromkeys(key for key in claim.sources if key in vocabulary.sources)
    return [vocabulary.sources[key].citation for key in known]


def _instead(claim: Claim, words: str) -> str:
    """The statement as it will stand: mended where the mend is known, else what the engine says."""
    if claim.verdict != "wrong":
        return ""
    if not _is_mendable(claim, words):
        return claim.instead
    start, end = claim.replace_start, claim.replace_end
    mended = words[min(claim.start, start) : start] + claim.replacement + words[end : max(claim.end, end)]
    return _one_line(mended)


def _mend(claim: Claim, material: _Said) -> str:
    at = second_at(material.words, material.starts, claim.start)
    when = f"Said at {clock_label(at)} of the recording." if at is not None else ""
    if claim.verdict == "depends":
        return _joined(when, "Say what it depends on, or leave it out.")
    if claim.estimate:
        return _joined(when, "Say which position is meant, or leave it out. Instead perhaps:")
    if not claim.instead:
        return _joined(when, "Say it another way.")
    _, _, more = claim.instead.partition(". ") if _is_mendable(claim, material.words) else ("", "", "")
    say = "Correct it on the picture, or record it again:" if material.spoken else "Say instead:"
    return _joined(when, more, say)


def _joined(*parts: str) -> str:
    return " ".join(part for part in parts if part)


def _actions(claim: Claim, said: str, material: _Said) -> list[Action]:
    """The first one gets the key. Recorded words are mended on the picture side before they are changed."""
    actions = []
    if material.spoken and claim.verdict == "wrong" and claim.instead and not claim.estimate:
        actions.append(_card(claim, said, material))
    actions.append(_rewording(claim, material.words))
    if claim.verdict == "depends" and (shown := plate_of_terms(claim.terms)):
        kind, name, rows = shown
        label, command = "Show it on a plate", "insert_anatomy"
        actions.append(act(label, command, entry_kind=kind, entry=name, rows=rows, seconds=_PLATE_SECONDS))
    first = actions[0]
    return [Action(first.label, first.command, first.arguments, "Enter"), *actions[1:]]


def _rewording(claim: Claim, words: str) -> Action:
    if claim.verdict == "depends":
        return act("Write what it depends on", "write_words", start=claim.end, end=claim.end)
    start, end, text = claim.replace_start, claim.replace_end, claim.replacement
    if not _is_mendable(claim, words):
        return act("Change the words", "write_words", start=claim.start, end=claim.end)
    return act("Use these words", "replace_words", start=start, end=end, was=words[start:end], text=text)


def _fitting(citations: list[str]) -> str:
    """As many whole citations as a card holds."""
    text = ""
    for one in map(short_citation, citations):
        longer = f"{text}; {one}" if text else one
        text = longer if len(longer) <= _LONGEST_SOURCE else text
    return text


def _is_mendable(claim: Claim, words: str) -> bool:
    """Whether the smallest change that mends the statement is known and changes something."""
    start, end = claim.replace_start, claim.replace_end
    return 0 <= start < end <= len(words) and words[start:end] != claim.replacement


def _card(claim: Claim, said: str, material: _Said) -> Action:
    card = {
        "said": said,
        "right": _sentence(_instead(claim, material.words)),
        "source": _fitting(_citations(claim, material.vocabulary)),
    }
    if not material.divisible:
        return act("Add a correction card", "insert_correction", seconds="5", **card)
    was = material.words[claim.start : claim.end]
    label = "Put a correction over it"
    return act(label, "correct_recording", start=claim.start, end=claim.end, was=was, **card)
