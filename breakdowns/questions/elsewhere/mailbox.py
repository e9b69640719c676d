"""Messages out of a mailbox file (mbox, RFC 4155) or one message (RFC 5322): hostile until proven otherwise.

Only words come out: no attachment is opened, no link followed, and sizes, parts and charsets are bounded.
"""

from __future__ import annotations

import email
import email.policy
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from email.errors import MessageError
from email.header import decode_header
from email.message import Message as RawMessage
from email.utils import parseaddr, parsedate_to_datetime
from html.parser import HTMLParser

from breakdowns.questions.choices import choice

__all__ = ["MailboxRefused", "Message", "messages_of"]

_CHARSET = re.compile(
    r"utf-?(?:8|16|32)(?:-?[lb]e)?|(?:us-)?ascii|iso-?8859-\d{1,2}|(?:windows-|cp)125\d|koi8-[ru]|gb(?:2312|k|18030)"
    r"|big5|euc-(?:jp|kr)|shift_jis|iso-2022-(?:jp|kr)",
    re.I,
)
_HEADER = re.compile(rb"[!-9;-~]+:")
_WROTE = re.compile(r"^(?:On .{5,200}(?:wrote|writes)|-+ ?Original message ?-+|From: .+)\s*:?\s*$", re.I)
_BLANKS = re.compile(r"\n{3,}")


class MailboxRefused(ValueError):
    """Why a file is not taken: one sentence with the mend."""


@dataclass(frozen=True, slots=True)
class Message:
    """The words of a message, who sent it, when, and its identifier; empty where it does not say. ``fault``: not read."""

    text: str
    sender: str
    sent_on: datetime | None
    message_id: str
    fault: str = ""


def messages_of(data: bytes) -> tuple[list[Message], int]:
    """The messages of a file, at most ``most_messages``, and how many more there are. Raises MailboxRefused."""
    if len(data) > choice("most_mailbox_bytes"):
        most = choice("most_mailbox_bytes") // 1_000_000
        raise MailboxRefused(f"The file is larger than {most} MB; export fewer messages at a time.")
    start = data.lstrip(b"\r\n")[:200]
    if not (start.startswith(b"From ") or _HEADER.match(start)):
        raise MailboxRefused(
            "This is no mailbox file; choose one that your mail program exported as mbox or as one message (eml)."
        )
    found: list[Message] = []
    most, more = choice("most_messages"), 0
    for raw in _pieces(data):
        if len(found) >= most:
            more += 1
        else:
            found.append(_message(raw))
    return found, more


def _pieces(data: bytes) -> Iterator[bytes]:
    """Each message alone: a line that begins with “From ” after an empty one begins the next (RFC 4155, A)."""
    data = data.replace(b"\r\n", b"\n").lstrip(b"\n")
    if not data.startswith(b"From "):
        yield data
        return
    for piece in re.split(rb"\n\n+(?=From )", data):
        head, _, rest = piece.partition(b"\n")
        if head.startswith(b"From ") and rest.strip():
            yield re.sub(rb"(?m)^>(>*From )", rb"\1", rest)


def _message(raw: bytes) -> Message:
    raw = raw[: choice("most_message_bytes")]
    if raw.lower().count(b"boundary") > choice("most_parts"):
        return Message(
            "", "", None, "", "This message has too many parts within parts; paste its words instead."
        )
    try:
        parsed = email.message_from_bytes(raw, policy=email.policy.compat32)
        sender = _header(parsed, "From")
        return Message(
            _words(parsed),
            parseaddr(sender)[1][:200] or sender[:200],
            _date(parsed),
            _header(parsed, "Message-ID")[:500],
        )
    except (MessageError, RecursionError, ValueError, LookupError, TypeError, AttributeError, IndexError):
        return Message("", "", None, "", "This message can't be read; paste its words instead.")


def _header(parsed: RawMessage, name: str) -> str:
    given = str(parsed.get(name, ""))[:2000]
    try:
        parts = decode_header(given)
    except (MessageError, ValueError):
        return given
    return "".join(
        part if isinstance(part, str) else _decoded(part, charset) for part, charset in parts
    ).strip()


def _date(parsed: RawMessage) -> datetime | None:
    try:
        found = parsedate_to_datetime(str(parsed.get("Date", ""))[:100])
        return found if found.tzinfo else found.replace(tzinfo=UTC)
    except (ValueError, TypeError, OverflowError, IndexError):
        return None


def _decoded(data: bytes, charset: str | None) -> str:
    """Text, whatever the charset claims to be; only charsets of mail are believed."""
    if charset and _CHARSET.fullmatch(charset):
        try:
            return data.decode(charset, "replace")
        except LookupError:
            pass
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _words(parsed: RawMessage) -> str:
    plain: list[str] = []
    html: list[str] = []
    for count, part in enumerate(parsed.walk()):
        if count > choice("most_parts"):
            break
        kind = part.get_content_type()
        if part.is_multipart() or kind not in ("text/plain", "text/html") or part.get_filename():
            continue
        payload = part.get_payload(decode=True)
        if isinstance(payload, bytes):
            text = _decoded(payload, part.get_content_charset())
            (plain if kind == "text/plain" else html).append(text)
    text = (
        "\n".join(plain)
        if any(one.strip() for one in plain)
        else "\n".join(_without_tags(one) for one in html)
    )
    return _own_words(text)[: choice("most_signs")]


def _own_words(text: str) -> str:
    """Without what is quoted, and without the signature after “-- ” (RFC 3676, 4.3 and 4.5)."""
    kept: list[str] = []
    for line in text.replace("\r", "\n").split("\n"):
        if line.rstrip() == "--" or _WROTE.match(line[:260]):
            break
        if not line.startswith(">"):
            kept.append(line.rstrip())
    return _BLANKS.sub("\n\n", "\n".join(kept)).strip()


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.kept: list[str] = []
        self.silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.silent += tag in ("script", "style")
        if tag in ("p", "br", "div", "li", "tr", "blockquote"):
            self.kept.append("\n")

    def handle_endtag(self, tag: str) -> None:
        self.silent = max(0, self.silent - (tag in ("script", "style")))

    def handle_data(self, data: str) -> None:
        if not self.silent:
            self.kept.append(data)


def _without_tags(html: str) -> str:
    reader = _Words()
    reader.feed(html[:200_000])
    reader.close()
    return "".join(reader.kept)
