"""What PDF readers show the bench's key by: a certificate (X.509, RFC 5280) that the key signs for itself."""

from __future__ import annotations

from datetime import UTC, datetime

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

MOST_NAME_BYTES = 64
"""of a common name: RFC 5280, appendix A.1, ub-common-name, allows as many signs; the library counts bytes of UTF-8"""
FROM = datetime(2000, 1, 1, tzinfo=UTC)
"""it says nothing of when the key was made: a clock that was wrong then must not make readers doubt the signature"""
TO = datetime(9999, 12, 31, 23, 59, 59, tzinfo=UTC)
"""“no well-defined expiration date” (RFC 5280, 4.1.2.5)"""
_SERIAL_BYTES = 16


def self_signed(secret: ec.EllipticCurvePrivateKey, name: str) -> bytes:
    """The certificate in DER: `name` as subject and issuer. No extensions: what they would say (no authority, for
    signatures) is what holds without them (RFC 5280, 4.2.1.3 and 4.2.1.9), and readers do not notice when one is
    changed."""
    whose = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common_name(name))])
    key_id = x509.SubjectKeyIdentifier.from_public_key(secret.public_key())
    made = (
        x509.CertificateBuilder()
        .subject_name(whose)
        .issuer_name(whose)
        .public_key(secret.public_key())
        .serial_number(int.from_bytes(key_id.digest[:_SERIAL_BYTES], "big") | 1)
        .not_valid_before(FROM)
        .not_valid_after(TO)
        .sign(secret, hashes.SHA256())
    )
    return made.public_bytes(serialization.Encoding.DER)


def common_name(name: str) -> str:
    """The name as far as a certificate has room for it."""
    return name.encode()[:MOST_NAME_BYTES].decode(errors="ignore")


def fits(certificate: bytes, secret: ec.EllipticCurvePrivateKey, name: str) -> bool:
    """Whether this is the key's certificate under that name. ValueError where it is none."""
    found = x509.load_der_x509_certificate(certificate)
    (told,) = found.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return told.value == common_name(name) and found.public_key() == secret.public_key()
