"""Who sent a message, proved by a keyed hash: HMAC (RFC 2104) with SHA-256 (FIPS 180-4), in hexadecimal.

What is signed is the key's name, a line break, the moment in whole seconds since 1970-01-01 UTC, a line break,
and the body as it is sent, byte for byte. So a body can't be signed anew for another moment by a listener.
"""

from __future__ import annotations

import hashlib
import hmac

WINDOW_SECONDS = 300  # own choice: how far the sender's clock may be from ours
_DIGITS = frozenset("0123456789")


def signature(secret: str, key_name: str, moment: str, body: bytes) -> str:
    """The signature of a body: 64 hexadecimal digits."""
    signed = f"{key_name}\n{moment}\n".encode() + body
    return hmac.new(secret.encode(), signed, hashlib.sha256).hexdigest()


def is_signed(given: str, secret: str, key_name: str, moment: str, body: bytes) -> bool:
    """Whether a signature is right; takes as long whether it is or not."""
    given = given.strip().lower()
    return hmac.compare_digest(
        given.encode("utf-8", "replace"), signature(secret, key_name, moment, body).encode()
    )


def is_fresh(moment: str, now: float) -> bool:
    """Whether a moment as sent lies within the window around ``now`` (seconds since 1970-01-01 UTC)."""
    if not moment or len(moment) > 12 or not set(moment) <= _DIGITS:
        return False
    return abs(int(moment) - now) <= WINDOW_SECONDS
