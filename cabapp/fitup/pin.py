"""The PIN before calibration and limits: a child lock, not a safe, and called so.

Kept hashed in a file of its own, so that copying the rig file neither carries nor needs it.
"""

import hashlib
import hmac
from dataclasses import dataclass

SCRYPT_N, SCRYPT_R, SCRYPT_P = 2**14, 8, 1  # the interactive setting of RFC 7914's authors
SALT_BYTES = 16
LEAST_DIGITS, MOST_DIGITS = 4, 8
PIN_FILE = "pin.json"
WAY_BACK = (
    "PIN forgotten? Who can reach the tablet's files stops the app, "
    "deletes pin.json beside rig.toml, and starts it again."
)


class PinError(ValueError):
    """A PIN that cannot be set; says what to type."""


@dataclass(frozen=True)
class PinRecord:
    """What is kept of a PIN: salt and hash in hex, and the cost they were made with."""

    salt_hex: str
    hash_hex: str
    n: int = SCRYPT_N
    r: int = SCRYPT_R
    p: int = SCRYPT_P


def make_pin(digits: str, salt: bytes) -> PinRecord:
    """Hash a new PIN with fresh random ``salt`` (SALT_BYTES from the caller's edge)."""
    if not (digits.isascii() and digits.isdigit()):
        raise PinError("a PIN is digits only; use the keys 0 to 9")
    if not LEAST_DIGITS <= len(digits) <= MOST_DIGITS:
        raise PinError(f"{len(digits)} digits; type {LEAST_DIGITS} to {MOST_DIGITS}")
    if len(salt) < SALT_BYTES:
        raise ValueError(f"salt of {len(salt)} bytes, {SALT_BYTES} needed")
    return PinRecord(salt.hex(), _hash(digits, salt, SCRYPT_N, SCRYPT_R, SCRYPT_P).hex())


def opens(record: PinRecord | None, digits: str) -> bool:
    """Whether these digits open the lock; without a record there is no lock."""
    if record is None:
        return True
    salt = bytes.fromhex(record.salt_hex)
    found = _hash(digits, salt, record.n, record.r, record.p)
    return hmac.compare_digest(found, bytes.fromhex(record.hash_hex))


def _hash(digits: str, salt: bytes, n: int, r: int, p: int) -> bytes:
    return hashlib.scrypt(digits.encode(), salt=salt, n=n, r=r, p=p, dklen=32)
