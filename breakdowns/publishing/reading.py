"""The words of a release as an article: Markdown made into safe HTML, and times made readable."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

import markdown
import nh3

from breakdowns.footage.timebase import clock_label
from breakdowns.scripts.tradeoffs.notes import read_tradeoffs

TAGS = {"p", "em", "strong", "a", "ul", "ol", "li", "blockquote", "code", "h3", "h4", "br", "sub", "sup"}
_DIRECTION = re.compile(r"(?<!\\)\[[^\[\]\n]*\](?!\()")


def safe_html(text: str, *, keep_lines: bool = False) -> str:
    """Markdown → HTML with only plain text elements and links to the web; stage directions left out."""
    extensions = ["nl2br"] if keep_lines else []
    html = markdown.markdown(_DIRECTION.sub("", text), output_format="html", extensions=extensions)
    return nh3.clean(
        html,
        tags=TAGS,
        attributes={"a": {"href"}},
        url_schemes={"http", "https", "mailto"},
        link_rel="noopener nofollow",
    )


def article_of(page: dict[str, Any]) -> list[dict[str, Any]]:
    """The beats of a frozen page as sections for reading: when, heading, picture, safe words.

    Beats with neither words nor a plate of text nor trade-offs are passed over: the video shows them. A trade-off that a
    plate says is not said again.
    """
    rate = Fraction(page["rate"])
    sections = []
    on_plates = " ".join(" ".join(beat.get("plate_text", "").split()) for beat in page["beats"])
    for beat in page["beats"]:
        words, plate = beat["words"].strip(), beat.get("plate_text", "").strip()
        tradeoffs = [one for one in read_tradeoffs(beat.get("tradeoffs", [])) if one.said not in on_plates]
        if not words and not plate and not beat.get("plate_title") and not tradeoffs:
            continue
        start = beat["start_frame"] / rate
        sections.append(
            {
                **beat,
                "at": clock_label(start, 0),
                "second": float(start),
                "words_html": safe_html(words),
                "plate_html": safe_html(plate, keep_lines=True),
                "tradeoffs": tradeoffs,
            }
        )
    return sections
