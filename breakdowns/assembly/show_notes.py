"""Show notes of a piece as Markdown: what is shown, chapters, sources, cautions, policy.

Every typed text is escaped, so a title can bring neither marks nor HTML into the page.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from breakdowns.assembly.account import sources_of
from breakdowns.assembly.chapters import chapters_markdown
from breakdowns.assembly.piece import (
    CameraPicture,
    ExcerptPicture,
    Piece,
    PieceSource,
    PlatePicture,
    StillPicture,
    views_of,
)
from breakdowns.assembly.plain_text import markdown_escaped, one_line
from breakdowns.assembly.plates import DISCLOSURE
from breakdowns.assembly.tables import rows
from breakdowns.contacts.plate import ContactPlate
from breakdowns.postures.plate import PosturePlate
from breakdowns.scripts.plate_content import AnatomyTable, Correction
from breakdowns.scripts.tradeoffs.notes import TRADEOFF_TITLE, TradeOff

__all__ = ["show_notes", "standing_lines"]


def show_notes(
    piece: Piece,
    *,
    summary: str = "",
    cautions: Sequence[str] = (),
    policy_lines: Sequence[str] = (),
    references: Sequence[str] = (),
) -> str:
    """The notes as Markdown text.

    ``summary`` is one paragraph of plain text, the others one line each. The standing cautions are
    always there; the standing line on excerpts is there wherever other people's footage is used.
    """
    standing = standing_lines()
    others = [source for source in sources_of(piece) if not source.own_terms]
    shown_cautions = [*cautions, *_caution_plates(piece), standing["not_advice"], standing["urgent"]]
    said_by = dict.fromkeys([*references, *_plate_sources(piece)])
    traded = dict.fromkeys(one for beat in piece.beats for one in beat.tradeoffs)
    policy = [*policy_lines, *([standing["excerpts"]] if others else [])]
    sections = [
        f"# {markdown_escaped(piece.title) or 'Untitled'}\n",
        f"{markdown_escaped(summary)}\n" if one_line(summary) else "",
        _section("What is shown", _bullets(_shown(piece))),
        _section("Chapters", chapters_markdown(piece)),
        _section(TRADEOFF_TITLE, _bullets(map(_traded, traded))),
        _section("Footage used", _bullets(_credit(source) for source in sources_of(piece))),
        _section("Sources for what is said", _bullets(map(markdown_escaped, said_by))),
        _section("Cautions", _bullets(map(markdown_escaped, dict.fromkeys(shown_cautions)))),
        _section("Use of other people's footage", _bullets(map(markdown_escaped, dict.fromkeys(policy)))),
    ]
    return "\n".join(section for section in sections if section)


def standing_lines() -> dict[str, str]:
    """The lines that stand in every piece's notes, by key, from the data file."""
    return {row["key"]: row["line"] for row in rows("standing_lines")}


def _section(title: str, body: str) -> str:
    return f"## {title}\n\n{body}" if body else ""


def _bullets(lines: Iterable[str]) -> str:
    return "".join(f"- {line}\n" for line in lines if line)


def _shown(piece: Piece) -> list[str]:
    """What each source gives, then our own pictures, counted."""
    lines = []
    for source in sources_of(piece):
        views = [view for beat in piece.beats for view in views_of(beat.picture) if view.source == source]
        excerpts = [view for view in views if isinstance(view, ExcerptPicture)]
        stills = [view for view in views if isinstance(view, StillPicture)]
        counts = [_counted(len(excerpts), "excerpt"), _counted(len(stills), "still")]
        lines.append(f"{_named(source)}: {' and '.join(filter(None, counts))}")
    plates = [beat.picture for beat in piece.beats if isinstance(beat.picture, PlatePicture)]
    own = Counter(plate.kind for plate in plates if plate.kind != "house")
    lines += [_counted(count, _PLATE_NAMES[kind]) for kind, count in own.items()]
    lines += [_message(plate) for plate in plates if plate.kind == "house"]
    spoken = sum(isinstance(beat.picture, CameraPicture) for beat in piece.beats)
    unrecorded = piece.scratch_voice and any(beat.words and not beat.take for beat in piece.beats)
    scratch = "Words not recorded yet are spoken by a synthetic scratch voice" if unrecorded else ""
    return [*lines, _counted(spoken, "part", " spoken to camera"), scratch]


_PLATE_NAMES = {
    "title": "title plate",
    "text": "plate",
    "caution": "caution plate",
    "anatomy": "anatomy plate",
    "correction": "correction",
    "posture": "posture plate",
    "contact": "contact plate",
}


def _message(plate: PlatePicture) -> str:
    """A house message with what it says of itself: it is never listed without its disclosure."""
    disclosure = one_line(plate.disclosure) or DISCLOSURE
    return markdown_escaped(": ".join(filter(None, (disclosure, one_line(plate.title)))))


def _counted(count: int, noun: str, after: str = "") -> str:
    """``1 excerpt``, ``2 excerpts``, nothing for none."""
    return f"{count} {noun}{'s' if count > 1 else ''}{after}" if count else ""


def _credit(source: PieceSource) -> str:
    """Title, view, event, attribution, rights holder and terms of one source, as far as known."""
    named = _named(source, source.event)
    holder = f"Rights: {markdown_escaped(source.rights_holder)}" if one_line(source.rights_holder) else ""
    terms = "Used on its own terms (own, licensed or openly licensed)" if source.own_terms else ""
    parts = [named, markdown_escaped(source.attribution), holder, terms]
    return ". ".join(part.rstrip(".") for part in parts if part) + "."


def _named(source: PieceSource, *more: str) -> str:
    """Title and view, and more, without saying twice what the title says already."""
    title = one_line(source.title) or "Untitled source"
    others = [part for part in (source.view, *more) if one_line(part).casefold() not in title.casefold()]
    return ", ".join(markdown_escaped(part) for part in (title, *others))


def _plate_sources(piece: Piece) -> list[str]:
    """Every source of what our plates show, whole: on the plate itself there is room for few."""
    contents = [beat.picture.content for beat in piece.beats if isinstance(beat.picture, PlatePicture)]
    tables = [one for one in contents if isinstance(one, AnatomyTable | PosturePlate | ContactPlate)]
    cards = [one for one in contents if isinstance(one, Correction)]
    return [*(source for table in tables for source in table.sources), *(c.source for c in cards if c.source)]


def _traded(one: TradeOff) -> str:
    """A trade-off as hedged sentences with its source."""
    source = f" ({one_line(one.source)})" if one_line(one.source) else ""
    return markdown_escaped(f"{one.said}{source}")


def _caution_plates(piece: Piece) -> list[str]:
    plates = (beat.picture for beat in piece.beats if isinstance(beat.picture, PlatePicture))
    return [
        ": ".join(part for part in (one_line(plate.title), one_line(plate.text)) if part)
        for plate in plates
        if plate.kind == "caution"
    ]
