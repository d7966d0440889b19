"""The text of an API key: `lw_`, an id, a secret, and a check that tells a typing error without the database."""

from __future__ import annotations

import hashlib
import secrets
import zlib
from dataclasses import dataclass

DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
ID_LENGTH, SECRET_LENGTH, CHECK_LENGTH = 12, 43, 6  # 71 and 256 bits, and 32 bits of CRC


@dataclass(frozen=True, slots=True)
class KeyText:
    """A key taken apart."""

    id: str
    secret: str

    @property
    def text(self) -> str:
        """The key as it is shown once and sent with each request."""
        start = f"lw_{self.id}_{self.secret}"
        return start + _check(start)

    @property
    def hash(self) -> bytes:
        """What is stored of it: the SHA-256 of the secret. 256 random bits cannot be guessed, so it needs no salt."""
        return hashlib.sha256(self.secret.encode()).digest()


def new_key_text(key_id: str | None = None) -> KeyText:
    """Make a key from the system's randomness; with `key_id`, a new secret for that key."""
    return KeyText(key_id or _random(ID_LENGTH), _random(SECRET_LENGTH))


def read_key_text(text: str) -> KeyText | None:
    """Take a key apart; None where it is not a key or was mistyped."""
    parts = text.split("_")
    if len(parts) != 3 or parts[0] != "lw" or len(parts[1]) != ID_LENGTH:
        return None
    if len(parts[2]) != SECRET_LENGTH + CHECK_LENGTH or not text.isascii():
        return None
    key = KeyText(parts[1], parts[2][:SECRET_LENGTH])
    return key if key.text == text else None


def _random(length: int) -> str:
    return "".join(secrets.choice(DIGITS) for _ in range(length))


def _check(start: str) -> str:
    value = zlib.crc32(start.encode())
    digits = ""
    for _ in range(CHECK_LENGTH):
        value, digit = divmod(value, len(DIGITS))
        digits = DIGITS[digit] + digits
    return digits
