"""A certificate for the shop's own network, from an authority that signs once and is then destroyed.

Decides: its names, its life, and that devices which trust the authority trust it for these names alone: the authority's
key is never written anywhere, and its certificate is bound to the names (RFC 5280, 4.2.1.10). So a stolen disk gives
away this counter's certificate, and nothing with which another could be made. Leaves to a person what she installs
where: `INSTRUCTIONS` says how.
"""

import ipaddress
import os
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from ledger.errors import InputError, StorageError
from ledger.vault import durable_files

LIFE: Final = timedelta(days=397)
"""Source: CA/Browser Forum Baseline Requirements, 6.3.2, the limit of public certificates until March 2026."""
ALWAYS: Final = ("localhost", "127.0.0.1")
FOLDER: Final = "certificates"
AUTHORITY: Final = "authority.crt"

INSTRUCTIONS: Final = """\
Made: {authority}
It is good until {until}; then make another, and install it again.
Copy this one file to each device that is to open the counter (by USB stick or cable; it holds no secret), and let the
device trust it:
  Windows          double-click it, Install Certificate, Local Machine, "Trusted Root Certification Authorities"
  macOS            double-click it, keychain System; open it there, Trust: Always Trust
  iPad, iPhone     send it by AirDrop, install the profile in Settings; then General, About, Certificate Trust Settings
  Android          Settings, Security, Encryption and credentials, Install a certificate, CA certificate
  Linux, Chromium  certutil -d sql:$HOME/.pki/nssdb -A -t C -n counter -i {file}
  Firefox          Settings, Privacy and Security, View Certificates, Authorities, Import: "identify websites"
It makes a device trust these names and no others: {names}.
Start the counter with `counterfoil serve --address {address}`, and open {url}
"""


def make(folder: Path, names: Sequence[str], now: datetime) -> Path:
    """The authority's certificate, in a folder of the book beside the counter's own certificate and key.

    names: host names and addresses, the first is what people type. Raises: InputError for a name that is none;
    StorageError.
    """
    known = [_name(name) for name in dict.fromkeys((*names, *ALWAYS))]
    authority_key, key = (ec.generate_private_key(ec.SECP256R1()) for _ in range(2))
    until = now + LIFE
    authority = _authority(authority_key, known, now, until)
    own = (
        _begun("Counter", authority.subject, key.public_key(), now, until)
        .add_extension(x509.SubjectAlternativeName(known), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key()),
            critical=False,
        )
        .sign(authority_key, hashes.SHA256())
    )
    place = folder / FOLDER
    try:
        place.mkdir(mode=0o700, exist_ok=True)
    except OSError as fault:
        raise StorageError(path=place, why=f"the folder cannot be made: {fault.strerror}") from fault
    pem, plain = serialization.Encoding.PEM, serialization.NoEncryption()
    secret = key.private_bytes(pem, serialization.PrivateFormat.PKCS8, plain)
    # One file for certificate and key: they change together or not at all.
    durable_files.put(place / "counter.pem", secret + own.public_bytes(pem) + authority.public_bytes(pem))
    os.chmod(place / "counter.pem", 0o600)
    durable_files.put(place / AUTHORITY, authority.public_bytes(pem))
    return place / AUTHORITY


def _authority(
    key: ec.EllipticCurvePrivateKey, names: Sequence[x509.GeneralName], now: datetime, until: datetime
) -> x509.Certificate:
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Counter authority")])
    permitted = [
        x509.IPAddress(ipaddress.ip_network(one.value)) if isinstance(one, x509.IPAddress) else one for one in names
    ]
    return (
        _begun("Counter authority", name, key.public_key(), now, until)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(permitted_subtrees=permitted, excluded_subtrees=None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )


def _begun(
    subject: str, issuer: x509.Name, key: ec.EllipticCurvePublicKey, now: datetime, until: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, subject)]))
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))  # clocks of devices differ
        .not_valid_after(until)
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _name(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        pass
    labels = name.lower().split(".")
    if not all(0 < len(one) <= 63 and one.isascii() and one.replace("-", "").isalnum() for one in labels):
        raise InputError(field="name", given=name, wanted="a host name such as counter.local, or an address")
    return x509.DNSName(name.lower())


def made_in(folder: Path) -> tuple[Path, Path] | None:
    """Certificate and key that `make` left in a book's folder."""
    path = folder / FOLDER / "counter.pem"
    return (path, path) if path.is_file() else None


def names_in(path: Path) -> tuple[str, ...]:
    """The names that a certificate file is good for. Raises: InputError, StorageError."""
    try:
        data = path.read_bytes()
        certificate = x509.load_pem_x509_certificates(data)[0]
        found = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except OSError as fault:
        raise StorageError(path=path, why=f"the certificate cannot be read: {fault.strerror}") from fault
    except (ValueError, x509.ExtensionNotFound) as fault:
        wanted = "a certificate in PEM that names its hosts"
        raise InputError(field="certificate", given=str(path), wanted=wanted) from fault
    return (
        *found.get_values_for_type(x509.DNSName),
        *(str(address) for address in found.get_values_for_type(x509.IPAddress)),
    )
