"""Key files: the bench's own signing key, and the public keys of benches whose certificates are known here.

    bench-p256.pem              the private key (PKCS #8, RFC 5915), made once, mode 0600 where the system has modes
    bench-certificate.pem       what PDF readers show it by
    bench.pem                   the key of a bench that signed with Ed25519 before; it says once that the new one stands
                                in its place, and is kept
    keys/known/<digits>.pem     public keys, each with the name it is known by; this bench's own is among them

The private keys lie where `app` says: not in the folder of the records, which others are given to read.

A private key that cannot be read is never replaced silently: buyers who know the old one would take the new one for
a stranger's. All text is PEM, which other tools read as well; lines before the PEM block are for people, but for
`succeeds`, which is for this program.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.x509 import InvalidVersion, load_der_x509_certificate, load_pem_x509_certificate

from station.capture.regular import read_regular
from station.capture.text import plain_text
from station.certificate.identity import fits, self_signed
from station.certificate.signature import FORMER_BYTES, BenchKey, Succession, fingerprint, raw_point, succeeds
from station.errors import InputError, RecordCorrupt, RecordError
from station.words import keys as words

MOST_BYTES = 64_000
FORMER = "bench.pem"
CERTIFICATE = "bench-certificate.pem"
_SUCCEEDS = re.compile(rb"^succeeds: ([0-9a-f]{64}) ([0-9a-f]{128})$", re.MULTILINE)
_PEM = re.compile(rb"-----BEGIN PUBLIC KEY-----.*?-----END PUBLIC KEY-----\s*", re.DOTALL)
_NAME = re.compile(rb"^name: (.*)$", re.MULTILINE)
_FINGERPRINT = re.compile(rb"^fingerprint: (.*)$", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class KnownKey:
    """A public key and the name it is known by here."""

    name: str
    public: bytes

    @property
    def fingerprint(self) -> str:
        return fingerprint(self.public)


def bench_key(secret: Path, folder: Path, name: str) -> BenchKey:
    """This bench's key, in the file `secret`, made now if there was none. `name` is what its certificates are known by
    here, among the public keys in `folder`, and by PDF readers.

    RecordCorrupt if the file is no key, RecordError if it cannot be read or written.
    """
    try:
        if not secret.exists():
            _make(secret)
        private, succession = _read_private(secret)
    except OSError as error:
        raise _unusable(error, secret, words.UNUSABLE) from error
    known = KnownKey(name, raw_point(private.public_key()))
    if not known_path(folder, known.fingerprint).exists():
        with contextlib.suppress(OSError):  # a folder that cannot be written: signing does not need it
            trust(folder, known)
    return BenchKey(private, _certificate(secret.with_name(CERTIFICATE), private, name), succession)


def existing_key(secret: Path) -> KnownKey | None:
    """This bench's public key, without a name, if it was made already; made now where there is one of before in whose
    place it stands. Errors as in `bench_key`."""
    try:
        if not secret.exists() and not _former(secret).exists():
            return None
        if not secret.exists():
            _make(secret)
        private, _ = _read_private(secret)
    except OSError as error:
        raise _unusable(error, secret, words.UNREADABLE) from error
    return KnownKey("", raw_point(private.public_key()))


def _certificate(path: Path, private: ec.EllipticCurvePrivateKey, name: str) -> bytes:
    """The key's certificate (DER), made where there is none that fits; a reader that was told to trust it finds it
    again in the next file."""
    try:
        der = load_pem_x509_certificate(read_regular(path, MOST_BYTES)).public_bytes(serialization.Encoding.DER)
        if fits(der, private, name):
            return der
    except (OSError, ValueError, InvalidVersion):
        pass  # not there yet, or not to be read: it can be made anew, the key cannot
    der = self_signed(private, name)
    with contextlib.suppress(OSError):  # it stands in each file that is signed
        part = _whole(path, load_der_x509_certificate(der).public_bytes(serialization.Encoding.PEM))
        part.replace(path)
    return der


def renew(secret: Path, folder: Path, name: str) -> BenchKey:
    """A new key for this bench. The old file is set aside, and what it signed is still known by its public key. The
    new one is whole on the disk before the old one gives way: a full disk leaves the key in force."""
    try:
        part = _written(secret, None)
        try:
            for old in (_former(secret), secret):
                if old.exists():
                    move_secret(old, old.with_name(f"bench-set-aside-{secrets.token_hex(4)}.pem"), keep=True)
            _former(secret).unlink(missing_ok=True)
            part.replace(secret)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise _unusable(error, secret, words.NOT_RENEWED) from error
    return bench_key(secret, folder, name)


def move_secret(file: Path, target: Path, *, keep: bool = False) -> None:
    """Give a private key another place, where there is nothing yet; `keep`: leave it where it is, too. Raises
    OSError."""
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    if target.exists():
        return
    if not keep:
        with contextlib.suppress(OSError):
            file.rename(target)
            return
    part = _whole(target, file.read_bytes())
    try:
        _put_if_free(part, target)
    finally:
        part.unlink(missing_ok=True)
    if not keep:
        file.unlink()


def _unusable(error: OSError, secret: Path, sentence: str) -> RecordError:
    return RecordError(sentence.format(path=error.filename or secret, reason=error.strerror))


def _former(secret: Path) -> Path:
    """Where the key lies with which this bench signed before, if it did."""
    return secret.with_name(FORMER)


def _read_private(path: Path) -> tuple[ec.EllipticCurvePrivateKey, Succession | None]:
    data, key = _load_private(path)
    if not isinstance(key, ec.EllipticCurvePrivateKey) or not isinstance(key.curve, ec.SECP256R1):
        raise RecordCorrupt(words.DAMAGED.format(path=path))
    told = _SUCCEEDS.search(data)
    return key, Succession(*(bytes.fromhex(part.decode()) for part in told.groups())) if told else None


def _load_private(path: Path) -> tuple[bytes, object]:
    if os.name == "posix" and path.stat().st_mode & 0o077:
        with contextlib.suppress(OSError):  # a file system without modes, or somebody else's file
            path.chmod(0o600)
    data = read_regular(path, MOST_BYTES)
    try:
        return data, serialization.load_pem_private_key(data, None)
    except (ValueError, TypeError, UnsupportedAlgorithm):
        return data, None


def _make(path: Path) -> None:
    """A new private key in place, whole or not at all; whoever is first wins."""
    part = _written(path, _former_key(_former(path)))
    try:
        _put_if_free(part, path)
    finally:
        part.unlink(missing_ok=True)


def _former_key(path: Path) -> Ed25519PrivateKey | None:
    """The key with which this bench signed before, if it did."""
    if not path.exists():
        return None
    _, former = _load_private(path)
    if not isinstance(former, Ed25519PrivateKey):
        raise RecordCorrupt(words.DAMAGED.format(path=path))
    return former


def _written(path: Path, former: Ed25519PrivateKey | None) -> Path:
    """A new private key in a file beside `path`, on the disk, with the former one's word for it."""
    secret = ec.generate_private_key(ec.SECP256R1())
    pem = secret.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    if former is None:
        return _whole(path, pem)
    said = succeeds(former, raw_point(secret.public_key()))
    return _whole(path, f"succeeds: {said.former.hex()} {said.signature.hex()}\n".encode() + pem)


def _whole(path: Path, data: bytes) -> Path:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = path.with_name(f".{secrets.token_hex(8)}.part")
    try:
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return part


def _put_if_free(part: Path, path: Path) -> None:
    """Give the file its name unless the name is taken: by a hard link, which is one step; where there are none
    (Windows, a FAT stick) by renaming."""
    try:
        path.hardlink_to(part)
    except FileExistsError:
        return
    except OSError:
        if not path.exists():
            part.rename(path)


# --- public keys ------------------------------------------------------------------------------------


def public_text(key: KnownKey) -> str:
    """The file that a buyer gets: name and fingerprint for people, then the key (SubjectPublicKeyInfo, RFC 5480; of a
    former key RFC 8410)."""
    pem = _public_key(key.public).public_bytes(
        serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo
    )
    return f"{words.HEADING}\nname: {plain_text(key.name)}\nfingerprint: {key.fingerprint}\n{pem.decode()}"


def _public_key(public: bytes) -> Ed25519PublicKey | ec.EllipticCurvePublicKey:
    """A key from its raw bytes: 32 are of Ed25519, 65 a point on P-256."""
    if len(public) == FORMER_BYTES:
        return Ed25519PublicKey.from_public_bytes(public)
    return ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), public)


def read_public(path: Path) -> KnownKey:
    """A public key file. InputError if it is none."""
    try:
        data = read_regular(path, MOST_BYTES)
    except OSError as error:
        raise InputError(words.FILE_UNREADABLE.format(path=path, reason=error.strerror)) from error
    block, name = _PEM.search(data), _NAME.search(data)
    try:
        key = serialization.load_pem_public_key(block.group()) if block else None
    except (ValueError, UnsupportedAlgorithm):
        key = None
    if isinstance(key, Ed25519PublicKey):
        public = key.public_bytes_raw()
    elif isinstance(key, ec.EllipticCurvePublicKey) and isinstance(key.curve, ec.SECP256R1):
        public = raw_point(key)
    else:
        raise InputError(words.NO_PUBLIC_KEY.format(path=path))
    line = _FINGERPRINT.search(data)
    if line and not same_fingerprint(line.group(1).decode("utf-8", "replace"), fingerprint(public)):
        raise InputError(words.OTHER_LINE.format(path=path))
    return KnownKey(plain_text(name.group(1).decode("utf-8", "replace")) if name else "", public)


def known_keys(folder: Path) -> dict[bytes, KnownKey]:
    """All known keys by their public bytes. A file that is no key is passed over: it makes nothing known."""
    return {key.public: key for _, key in _known_files(folder)}


def _known_files(folder: Path) -> Iterator[tuple[Path, KnownKey]]:
    for path in sorted((folder / "known").glob("*.pem")):
        with contextlib.suppress(InputError):
            yield path, read_public(path)


def trust(folder: Path, key: KnownKey) -> None:
    """Make a key known from now on, under its name. Raises OSError."""
    path = known_path(folder, key.fingerprint)
    path.parent.mkdir(parents=True, exist_ok=True)
    _put_public(path, key)


def write_public(path: Path, key: KnownKey) -> None:
    """Write a public key file for others. InputError where there is something else: a link, or a file that is no public
    key. Raises OSError."""
    if path.is_symlink():
        raise InputError(words.NOT_OVER_OTHER.format(path=path))
    if path.is_dir():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    if path.exists():
        try:
            read_public(path)
        except InputError:
            raise InputError(words.NOT_OVER_OTHER.format(path=path)) from None
    _put_public(path, key)


def _put_public(path: Path, key: KnownKey) -> None:
    part = path.with_name(f".{secrets.token_hex(8)}.part")
    try:
        part.write_text(public_text(key), encoding="utf-8")
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def forget(folder: Path, digits: str) -> KnownKey:
    """No longer know the key of this fingerprint, and return it. InputError if it was not known. Raises OSError."""
    found = [(path, key) for path, key in _known_files(folder) if same_fingerprint(key.fingerprint, digits)]
    if not found:
        raise InputError(words.NOT_KNOWN.format(fingerprint=plain_text(digits)))
    for path, _ in found:
        path.unlink()
    return found[0][1]


def same_fingerprint(one: str, other: str) -> bool:
    """Whether two fingerprints are the same, however they are typed (spaces, colons, hyphens, capitals)."""
    return _digits(one) == _digits(other)


def _digits(text: str) -> str:
    return re.sub(r"[\s:-]", "", text).lower()


def known_path(folder: Path, digits: str) -> Path:
    """Where the key of this fingerprint is kept among the known ones."""
    return folder / "known" / f"{_digits(digits)}.pem"
