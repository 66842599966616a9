"""The signature that any PDF reader checks: PAdES (ETSI EN 319 142-1) over every byte of the file.

Written by pyHanko. Read here by a rule that is narrower than a reader's: one signature, over the whole file, in the one
form in which it is written. A reader may pass over a byte that it makes nothing of; here no byte of a genuine file can
be another.
"""

from __future__ import annotations

import hashlib
import io
import re
from typing import Any

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature, encode_dss_signature
from cryptography.x509 import InvalidVersion, load_der_x509_certificate

from station.certificate.signature import BenchKey, Seal, holds, raw_point, raw_signature

FIELD = "Bench"
LANGUAGE = "en"
"""of what stands on a certificate"""
DER_BYTES = 70
"""of r and s in DER (RFC 3279, 2.2.3) where both are below 2²⁵⁵: one signature in four. All are as long as this, so
that the room for them in the file is known before, and no digit of padding is left that a reader would pass over"""
MOST_HEX_BYTES = 65_536
_TAB, _BLANK = b"<0009>", b"<0020>"
_NAME = b"/ByteRange"
_BYTE_RANGE = re.compile(rb"/ByteRange \[0 (\d{1,10}) (\d{1,10}) (\d{1,10})\] *\n")
_HOLE = re.compile(rb"<((?:[0-9A-F]{2})+)>")


def sign_pdf(pdf: bytes, key: BenchKey) -> bytes:
    """The file with a signature of the bench over all of it, added as ISO 32000-1, 7.5.6, asks: what was there stays.

    It certifies the file (ISO 32000-1, 12.8.2.2): readers tell of any later change.
    """
    from asn1crypto import keys, x509  # pyHanko and what it needs load slowly, and signing is rare
    from pyhanko.pdf_utils.generic import BooleanObject, DictionaryObject, NameObject, TextStringObject
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.sign import signers
    from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
    from pyhanko_certvalidator.registry import SimpleCertificateStore

    secret = key.secret.private_bytes(
        serialization.Encoding.DER, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )

    class OfOneLength(signers.SimpleSigner):
        def sign_raw(self, data: bytes, digest_algorithm: str) -> bytes:
            while len(signature := super().sign_raw(data, digest_algorithm)) != DER_BYTES:
                pass  # another nonce gives another signature
            return signature

    signer = OfOneLength(
        signing_cert=x509.Certificate.load(key.certificate),
        signing_key=keys.PrivateKeyInfo.load(secret),
        cert_registry=SimpleCertificateStore(),  # type: ignore[no-untyped-call]
    )
    how = signers.PdfSignatureMetadata(
        field_name=FIELD,
        md_algorithm="sha256",
        subfilter=SigSeedSubFilter.PADES,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
        tight_size_estimates=True,
    )
    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    # what a screen reader asks for and Qt does not write: the language, and the title in place of the file's name
    writer.root[NameObject("/Lang")] = TextStringObject(LANGUAGE)
    writer.root[NameObject("/ViewerPreferences")] = DictionaryObject(
        {NameObject("/DisplayDocTitle"): BooleanObject(True)}  # type: ignore[no-untyped-call]
    )
    writer.update_root()  # type: ignore[no-untyped-call]
    _blanks_for_tabs(writer)
    out = signers.PdfSigner(how, signer).sign_pdf(writer)
    return bytes(out.getvalue())


def _blanks_for_tabs(writer: Any) -> None:
    """Qt says of a blank's glyph that it is a tab (a font has one for both), so that what is copied or searched for has
    tabs between its words. `writer`: pyHanko's, whose file gets these tables anew."""
    from pyhanko.pdf_utils.generic import StreamObject

    done, pages = set(), [writer.root["/Pages"]]
    while pages:
        node = pages.pop()
        pages += [kid.get_object() for kid in node["/Kids"]] if "/Kids" in node else []
        fonts = node["/Resources"]["/Font"] if "/Contents" in node and "/Font" in node["/Resources"] else {}
        for name in fonts:
            table = fonts[name].raw_get("/ToUnicode")
            said = b"" if table.reference in done else table.get_object().data
            done.add(table.reference)
            if _TAB in said:
                told = StreamObject(stream_data=said.replace(_TAB, _BLANK))
                told.compress()  # type: ignore[no-untyped-call]
                writer.objects[table.generation, table.idnum] = told  # in the place of the one that Qt wrote


def find_signature(data: bytes) -> Seal | None:
    """The signature over the file; None where there is none.

    It holds where it is the only one, covers every byte but its own digits, and these are written as `sign_pdf` does.
    """
    if _NAME not in data:
        return None
    found = list(_BYTE_RANGE.finditer(data))
    if not found:
        return Seal(b"", False, 0)
    before, after, rest = (int(number) for number in found[-1].groups())
    end = after + rest
    hole = _HOLE.fullmatch(data[before:after]) if after - before <= MOST_HEX_BYTES else None
    if hole is None:
        return Seal(b"", False, max(len(data) - end, 0))
    digest = hashlib.sha256(data[:before] + data[after:end]).digest()
    public, signed = _read_envelope(bytes.fromhex(hole.group(1).decode()), digest)
    only = data.count(_NAME) == 1 and before < after <= found[-1].start() < end <= len(data)
    return Seal(public, signed and only, max(len(data) - end, 0))


def _read_envelope(padded: bytes, digest: bytes) -> tuple[bytes, bool]:
    """The public key in a CMS SignedData (RFC 5652, 5), and whether it signed this SHA-256; b"" where it cannot be
    read. The rest of `padded` must be zeros."""
    from asn1crypto import cms, tsp  # the second one knows the attribute that names the certificate (RFC 5035)

    try:
        info = cms.ContentInfo.load(padded)
        (certificate,) = info["content"]["certificates"]
        (signer,) = info["content"]["signer_infos"]
        attributes = {one["type"].native: one["values"] for one in signer["signed_attrs"]}
        signature, der = signer["signature"].native, certificate.chosen.dump()
        public = load_der_x509_certificate(der).public_key()
        if not isinstance(public, ec.EllipticCurvePublicKey):
            return b"", False
        (told,), (named,) = attributes["message_digest"], attributes["signing_certificate_v2"]
        said = signer["signed_attrs"].untag().dump()
        certificates_named = tsp.SigningCertificateV2.load(named.dump())["certs"]
        fits = (
            told.native == digest
            and certificates_named[0]["cert_hash"].native == hashlib.sha256(der).digest()
            and len(attributes) == len(signer["signed_attrs"])
            and encode_dss_signature(*decode_dss_signature(signature)) == signature
            and _envelope(certificate.chosen, signer["signed_attrs"], signature).ljust(len(padded), b"\0") == padded
        )
        raw = raw_signature(signature)
        point = raw_point(public)
    except (ValueError, TypeError, KeyError, AttributeError, LookupError, OverflowError, RecursionError):
        return b"", False
    except (UnsupportedAlgorithm, InvalidVersion):
        return b"", False
    return point, fits and holds(point, said, raw)


def _envelope(certificate: Any, attributes: Any, signature: bytes) -> bytes:
    """The one form in which a signature is written: one signer by certificate, SHA-256, ECDSA (RFC 5652, 5; RFC 5754,
    3.3)."""
    from asn1crypto import cms

    sha256, ecdsa = {"algorithm": "sha256"}, {"algorithm": "sha256_ecdsa"}
    whose = {"issuer": certificate.issuer, "serial_number": certificate.serial_number}
    signer = {
        "version": "v1",
        "sid": cms.SignerIdentifier({"issuer_and_serial_number": whose}),
        "digest_algorithm": sha256,
        "signed_attrs": attributes,
        "signature_algorithm": ecdsa,
        "signature": signature,
    }
    signed = {
        "version": "v1",
        "digest_algorithms": [sha256],
        "encap_content_info": {"content_type": "data"},
        "certificates": [certificate],
        "signer_infos": [signer],
    }
    return bytes(cms.ContentInfo({"content_type": "signed_data", "content": cms.SignedData(signed)}).dump())
