"""Words that are missing, and sentences that are hard to say in one breath."""

from __future__ import annotations

from collections.abc import Iterator

from breakdowns.scripts.checks.figures import act
from breakdowns.scripts.margin import BeatCheck, Finding, WholeCheck
from breakdowns.scripts.script import BeatView, ScriptView
from breakdowns.scripts.spoken_text import measure, read_aloud
from breakdowns.scripts.tables import limit

__all__ = ["EmptyWordsCheck", "LongSentenceCheck", "TitleCheck"]


class TitleCheck(WholeCheck):
    """A piece without a title."""

    key = "title"
    version = 1

    def reads(self, script: ScriptView) -> str | None:
        return "" if not script.title.strip() and any(beat.words.strip() for beat in script.beats) else None

    def judge(self, material: str) -> Iterator[Finding]:
        action = act("Write the title", "write_title", key="Enter")
        yield Finding(
            "near", "The piece has no title", "Write one: the page and the file are named by it.", (action,)
        )


class EmptyWordsCheck(BeatCheck):
    """A beat that shows something and says nothing."""

    key = "empty_words"
    version = 1

    def reads(self, beat: BeatView, script: ScriptView) -> str | None:
        """The kind, where words are missing. Plates may be silent, and so may a script not yet begun."""
        if beat.words.strip() or beat.kind == "plate" or beat.take_seconds is not None:
            return None
        if beat.original_sound or not beat.picture_seconds or len(script.beats) == 1:
            return None
        return beat.kind

    def judge(self, material: str) -> Iterator[Finding]:
        action = act("Write words", "write_words", key="Enter")
        if material == "camera":
            yield Finding(
                "near", "Nothing is said to camera", "Write what you say here, or delete the beat.", (action,)
            )
        else:
            says = f"Nothing is said over this {material}"
            yield Finding(
                "offer", says, "Say what it shows: footage without comment is hard to justify.", (action,)
            )


class LongSentenceCheck(BeatCheck):
    """Sentences of more words than are easy to say and to follow."""

    key = "long_sentence"
    version = 1

    def reads(self, beat: BeatView, script: ScriptView) -> str | None:
        return beat.words if len(beat.words.split()) > limit("longest_sentence") / 2 else None

    def judge(self, material: str) -> Iterator[Finding]:
        for sentence in read_aloud(material).sentences:
            count = measure(sentence.spoken).words
            if count <= limit("longest_sentence"):
                continue
            action = act("Divide it", "write_words", start=sentence.start, end=sentence.end)
            yield Finding(
                "offer",
                f"A sentence of {count} words",
                "Make two of it: one breath, one thought.",
                (action,),
                span=(sentence.start, sentence.end),
                cite="GOV.UK content design: at most 25 words",
            )
