"""An Atom feed as bytes (RFC 4287). Nothing here knows what the entries are."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

__all__ = ["Entry", "feed"]

_NS = "http://www.w3.org/2005/Atom"
# What XML 1.0, 2.2 does not allow in a document, escaped or not.
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry; ``key`` is an IRI that never changes, ``html`` harmless HTML, ``link`` a whole address."""

    key: str
    title: str
    link: str
    published: datetime
    updated: datetime
    html: str
    category: str = ""


def _put(parent: ET.Element, name: str, text: str = "", **attributes: str) -> ET.Element:
    element = ET.SubElement(parent, f"{{{_NS}}}{name}", attributes)
    element.text = _NOT_XML.sub("", text) or None
    return element


def _moment(moment: datetime) -> str:
    """RFC 3339, as RFC 4287, 3.3 asks."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def feed(
    *, key: str, title: str, own_link: str, link: str, author: str, rights: str, entries: Iterable[Entry],
    empty_since: datetime,
) -> bytes:  # fmt: skip
    """The document. ``empty_since`` is its date while there is no entry."""
    ET.register_namespace("", _NS)
    root = ET.Element(f"{{{_NS}}}feed")
    rows = list(entries)
    _put(root, "id", key)
    _put(root, "title", title)
    _put(root, "updated", _moment(max((one.updated for one in rows), default=empty_since)))
    _put(root, "link", rel="self", type="application/atom+xml", href=own_link)
    _put(root, "link", rel="alternate", type="text/html", href=link)
    _put(_put(root, "author"), "name", author)
    _put(root, "rights", rights)
    for one in rows:
        entry = _put(root, "entry")
        _put(entry, "id", one.key)
        _put(entry, "title", " ".join(one.title.split()) or "Without a title")
        _put(entry, "link", rel="alternate", type="text/html", href=one.link)
        _put(entry, "published", _moment(one.published))
        _put(entry, "updated", _moment(one.updated))
        if one.category:
            _put(entry, "category", term=one.category)
        _put(entry, "content", one.html, type="html")
    return ET.tostring(root, encoding="utf-8", xml_declaration=True)
