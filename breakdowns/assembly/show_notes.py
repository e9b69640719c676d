"""Show notes of a piece as Markdown: what is shown, chapters, sources, cautions, policy.

Every typed text is escaped, so a title can bring neither marks nor HTML into the page.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from breakdowns.assembly.chapters import chapters_markdown
from breakdowns.assembly.piece import (
    CameraPicture,
    ExcerptPicture,
    Piece,
    PieceSource,
    PlatePicture,
    StillPicture,
)
from breakdowns.assembly.plain_text import markdown_escaped, one_line
from breakdowns.assembly.tables import rows

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
    others = [source for source in _sources(piece) if not source.own_terms]
    shown_cautions = [*cautions, *_caution_plates(piece), standing["not_advice"], standing["urgent"]]
    policy = [*policy_lines, *([standing["excerpts"]] if others else [])]
    sections = [
        f"# {markdown_escaped(piece.title) or 'Untitled'}\n",
        f"{markdown_escaped(summary)}\n" if one_line(summary) else "",
        _section("What is shown", _bullets(_shown(piece))),
        _section("Chapters", chapters_markdown(piece)),
        _section("Footage used", _bullets(_credit(source) for source in _sources(piece))),
        _section("Sources for what is said", _bullets(map(markdown_escaped, references))),
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


def _sources(piece: Piece) -> list[PieceSource]:
    """The sources used, each once, in order of first use."""
    pictures = (beat.picture for beat in piece.beats)
    used = (picture.source for picture in pictures if isinstance(picture, ExcerptPicture | StillPicture))
    return list({source.id: source for source in used}.values())


def _shown(piece: Piece) -> list[str]:
    """What each source gives, then our own pictures, counted."""
    lines = []
    for source in _sources(piece):
        excerpts = [b.picture for b in piece.beats if _takes(ExcerptPicture, b.picture, source)]
        stills = [b.picture for b in piece.beats if _takes(StillPicture, b.picture, source)]
        counts = [_counted(len(excerpts), "excerpt"), _counted(len(stills), "still")]
        lines.append(f"{_named(source)}: {' and '.join(filter(None, counts))}")
    own = Counter(beat.picture.kind for beat in piece.beats if isinstance(beat.picture, PlatePicture))
    lines += [_counted(count, f"{_PLATE_NAMES[kind]}") for kind, count in own.items()]
    spoken = sum(isinstance(beat.picture, CameraPicture) for beat in piece.beats)
    return [*lines, _counted(spoken, "part", " spoken to camera")]


_PLATE_NAMES = {
    "title": "title plate",
    "text": "plate",
    "caution": "caution plate",
    "house": "message of our own",
}


def _takes(kind: type, picture: object, source: PieceSource) -> bool:
    return isinstance(picture, kind) and getattr(picture, "source", None) == source


def _counted(count: int, noun: str, after: str = "") -> str:
    """``1 excerpt``, ``2 excerpts``, ``2 messages of our own``; nothing for none."""
    if not count:
        return ""
    first, _, rest = noun.partition(" ")
    if count == 1:
        return f"1 {noun}{after}"
    plural = f"{first}s {rest}" if rest.startswith("of ") else f"{noun}s"
    return f"{count} {plural}{after}"


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


def _caution_plates(piece: Piece) -> list[str]:
    plates = (beat.picture for beat in piece.beats if isinstance(beat.picture, PlatePicture))
    return [
        ": ".join(part for part in (one_line(plate.title), one_line(plate.text)) if part)
        for plate in plates
        if plate.kind == "caution"
    ]
