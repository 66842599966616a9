"""`restpoint key`: this bench's key for buyers, and the keys of other benches that are known here."""

from __future__ import annotations

import argparse
import platform
from pathlib import Path

from station.app import paths
from station.app.own_key import own_key_file
from station.app.shell import shell_word
from station.capture.regular import read_regular
from station.capture.text import looks, plain_text
from station.certificate import keys
from station.certificate.keys import KnownKey
from station.certificate.verify import find_seal
from station.errors import InputError
from station.words import command_line as words

MOST_BYTES = 32_000_000


def run(args: argparse.Namespace) -> int:
    """Do the one thing that was asked for."""
    folder = paths.keys_folder()
    try:
        if args.trust:
            lines = _trust(folder, args.trust, args.name or "", args.fingerprint or "")
        elif args.forget:
            lines = [words.KEY_FORGOTTEN.format(key=_line(keys.forget(folder, args.forget)))]
        elif args.new:
            lines = _new(folder, args.name or platform.node())
        elif args.write:
            lines = _write(folder, args.write, args.name or "")
        else:
            lines = _show(folder)
    except OSError as error:
        raise InputError(words.KEY_UNWRITABLE.format(path=error.filename or folder, reason=error.strerror)) from error
    print("\n".join(lines))
    return 0


def _show(folder: Path) -> list[str]:
    own = keys.existing_key(own_key_file())
    others = [key for key in keys.known_keys(folder).values() if own is None or key.public != own.public]
    if own is None:
        lines = [words.NO_KEY_YET]
    else:
        lines = [words.OWN_KEY.format(fingerprint=own.fingerprint), words.OWN_KEY_FOR_BUYERS]
    return lines + [words.KEY_KNOWN.format(key=_line(key)) for key in others]


def _write(folder: Path, target: Path, name: str) -> list[str]:
    own = keys.existing_key(own_key_file())
    if own is None:
        raise InputError(words.NO_KEY_TO_WRITE)
    known = keys.known_keys(folder).get(own.public)
    key = KnownKey(_named(name) if name else (known.name if known else platform.node()), own.public)
    keys.write_public(target, key)
    return [words.KEY_WRITTEN.format(path=target, key=_line(key))]


def _new(folder: Path, name: str) -> list[str]:
    key = keys.renew(own_key_file(), folder, _named(name))
    return [words.KEY_IS_NEW.format(fingerprint=key.fingerprint), words.KEY_IS_NEW_TELL]


def _trust(folder: Path, path: Path, name: str, told: str) -> list[str]:
    """Certificate and key file may come from anybody: a key is taken only with the fingerprint that the bench itself
    told, and not under the name of another one that is known."""
    sealed = _sealed_by(path)
    key = KnownKey(name, sealed) if sealed else keys.read_public(path)
    if not told:
        template = words.TELL_FINGERPRINT if sealed else words.TELL_FINGERPRINT_OF_FILE
        raise InputError(template.format(path=path, name=key.name or words.NOT_SAID))
    if not keys.same_fingerprint(told, key.fingerprint):
        raise InputError(words.OTHER_FINGERPRINT.format(path=path, fingerprint=key.fingerprint))
    key = KnownKey(_named(name or key.name), key.public)
    for other in keys.known_keys(folder).values():
        if looks(other.name) == looks(key.name) and other.public != key.public:
            forget = shell_word(other.fingerprint)
            raise InputError(words.NAME_IS_TAKEN.format(name=key.name, fingerprint=other.fingerprint, forget=forget))
    keys.trust(folder, key)
    return [words.KEY_KNOWN_NOW.format(key=_line(key))]


def _named(name: str) -> str:
    """The name as it is kept. InputError where nothing of it is to be seen."""
    if not looks(name):
        raise InputError(words.NAME_THE_KEY)
    return plain_text(name)


def _sealed_by(path: Path) -> bytes:
    """The key of the seal if this is a sealed file, else nothing."""
    try:
        found = find_seal(read_regular(path, MOST_BYTES))
    except OSError as error:
        raise InputError(words.CANNOT_READ.format(path=path, reason=error.strerror)) from error
    return found.public if found is not None and found.holds else b""


def _line(key: KnownKey) -> str:
    return words.KEY_LINE.format(name=key.name, fingerprint=key.fingerprint)
