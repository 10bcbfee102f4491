"""The phone's key: a private file in the player's folder, made anew at each start and by "lock out all phones".

The key opens the phone's pages and nothing else. It comes to the phone in the address of the code, once; from then on
a cookie that only this key's secret can have signed. A new key or a new secret ends every cookie at once: the door
reads the file at each request.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Final

from ..folder.filing import write_file

__all__ = ["FILE", "PhoneKey", "begin", "forget", "lock_out", "read"]

#: Beside the logbook; hidden, so that the desk's file list does not show it either.
FILE: Final = ".reedlab-phone.json"


@dataclass(frozen=True)
class PhoneKey:
    """What opens the phone's door. `host` and `port` are where it is, `kept` says that it outlives a start."""

    key: str
    secret: str
    kept: bool
    host: str
    port: int

    def opens(self, given: str) -> bool:
        """Say whether this is the key, in a time that tells nothing."""
        return hmac.compare_digest(given.encode("utf-8", "replace"), self.key.encode("ascii"))

    def cookie(self, name: str | None = None) -> str:
        """Return the cookie of a phone, of a new one where it has no name yet."""
        name = secrets.token_urlsafe(12) if name is None else name
        return f"{name}.{self._signed('phone', name)}"

    def phone_of(self, cookie: str | None) -> str | None:
        """Return the name of the phone with this cookie; None if we did not give it, or not with this key."""
        name = (cookie or "").partition(".")[0]
        true = self.cookie(name).encode("utf-8", "replace")
        return name if cookie and hmac.compare_digest(cookie.encode("utf-8", "replace"), true) else None

    def form_token(self, phone: str) -> str:
        """Return what a form of this phone must carry, so that no other page can send it."""
        return self._signed("form", phone)

    def _signed(self, what: str, name: str) -> str:
        text = f"{what}\n{self.key}\n{name}".encode("utf-8", "replace")
        return hmac.new(self.secret.encode("ascii"), text, hashlib.sha256).hexdigest()


def begin(folder: Path, *, host: str, port: int, keep: bool = False) -> PhoneKey:
    """Return the key for this start, written down: a new one, unless one is kept and is to be kept on."""
    old = read(folder) if keep else None
    if old is not None and old.kept:
        return _written(folder, replace(old, host=host, port=port))
    return _written(folder, PhoneKey(_random(), _random(), keep, host, port))


def lock_out(folder: Path) -> PhoneKey | None:
    """Make a new key: no phone gets in any more until it is shown the new code. None where no phone is served."""
    old = read(folder)
    return None if old is None else _written(folder, replace(old, key=_random(), secret=_random()))


def forget(folder: Path) -> None:
    """Remove a key that was for one start only."""
    old = read(folder)
    if old is None or not old.kept:
        (folder / FILE).unlink(missing_ok=True)


def read(folder: Path) -> PhoneKey | None:
    """Return the key as it stands; None where there is none, or the file cannot be read: then nobody gets in."""
    try:
        raw = json.loads((folder / FILE).read_text(encoding="utf-8"))
        found = PhoneKey(str(raw["key"]), str(raw["secret"]), bool(raw["kept"]), str(raw["host"]), int(raw["port"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return found if len(found.key) >= 32 and len(found.secret) >= 32 and found.key.isascii() else None


def _random() -> str:
    return secrets.token_urlsafe(24)


def _written(folder: Path, key: PhoneKey) -> PhoneKey:
    (folder / FILE).unlink(missing_ok=True)  # so that the new file is private, whatever the old one was
    write_file(folder / FILE, json.dumps(asdict(key)) + "\n", private=True)
    return key
