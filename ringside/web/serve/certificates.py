"""A certificate authority for one kitchen table: so that phones on the local network get HTTPS.

One authority an installation, constrained to this machine's names and to private addresses, so
that a phone that trusts it trusts it for nothing else (RFC 5280, section 4.2.1.10). The server's
certificate keeps the limits that phones set: names in subjectAltName, extended key usage
serverAuth, a P-256 key with SHA-256, and less than 825 days (Apple support document 103769,
"Requirements for trusted certificates in iOS 13 and macOS 10.15", 2019). It is renewed by itself.

Nothing here reads a clock or a network: `now`, names and addresses come in as arguments.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

Address = IPv4Address | IPv6Address
Network = IPv4Network | IPv6Network

AUTHORITY_LIFE = timedelta(days=3650)
SERVER_LIFE = timedelta(days=397)
RENEWED_BEFORE = timedelta(days=60)
# A phone whose clock is a little slow must not find the certificate from the future.
BACKDATED = timedelta(days=1)

# RFC 1918, RFC 4193, RFC 3927, RFC 4291: addresses that no public network routes.
PRIVATE: tuple[Network, ...] = tuple(
    ip_network(text)
    for text in (
        "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8",
        "fc00::/7", "fe80::/10", "::1/128",
    )
)  # fmt: skip


@dataclass(frozen=True)
class Pair:
    """A certificate and its private key."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    @property
    def certificate_pem(self) -> bytes:
        """The certificate as PEM."""
        return self.certificate.public_bytes(serialization.Encoding.PEM)

    @property
    def key_pem(self) -> bytes:
        """The private key as PEM, unencrypted: the file's mode guards it."""
        return self.key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )


def is_private(address: Address) -> bool:
    """Return whether an address belongs to a local network."""
    return any(address in network for network in PRIVATE if network.version == address.version)


def make_authority(host: str, names: Sequence[str], now: datetime) -> Pair:
    """Return an authority that can vouch for `names` and for private addresses alone."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = _common_name(f"Ringside on {host}")
    permitted: list[x509.GeneralName] = [x509.DNSName(known) for known in names]
    permitted += [x509.IPAddress(network) for network in PRIVATE]
    builder = (
        _builder(name, name, key, now, AUTHORITY_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(key_cert_sign=True, crl_sign=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
    )
    return Pair(builder.sign(key, hashes.SHA256()), key)


def make_server(
    authority: Pair, names: Sequence[str], addresses: Iterable[Address], now: datetime
) -> Pair:
    """Return a server's certificate for `names` and `addresses`, signed by `authority`."""
    key = ec.generate_private_key(ec.SECP256R1())
    alternatives: list[x509.GeneralName] = [x509.DNSName(known) for known in names]
    alternatives += [x509.IPAddress(address) for address in addresses]
    issuer = authority.certificate
    builder = (
        _builder(_common_name(names[0]), issuer.subject, key, now, SERVER_LIFE)
        .add_extension(x509.SubjectAlternativeName(alternatives), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(digital_signature=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key()),
            critical=False,
        )
    )
    return Pair(builder.sign(authority.key, hashes.SHA256()), key)


def fingerprint(certificate: x509.Certificate) -> str:
    """Return the SHA-256 fingerprint as phones show it: AB:CD:..."""
    return ":".join(f"{byte:02X}" for byte in certificate.fingerprint(hashes.SHA256()))


class Keyring:
    """The authority and the server's certificate in a folder that its owner alone can read."""

    def __init__(self, folder: Path) -> None:
        """Use `folder`, making it if there is none."""
        self.folder = folder
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        folder.chmod(0o700)

    @property
    def chain(self) -> Path:
        """The server's certificate, as a TLS server reads it."""
        return self.folder / "server.pem"

    @property
    def key(self) -> Path:
        """The server's private key."""
        return self.folder / "server.key"

    def authority(self, host: str, names: Sequence[str], now: datetime) -> Pair:
        """Return the authority of this installation; made once, and anew when it has run out.

        New names need a new authority, because the old one may not vouch for them; phones then
        have to trust again, which the caller should say.
        """
        known = self._load("authority")
        if known and now < known.certificate.not_valid_after_utc and set(names) <= _names(known):
            return known
        made = make_authority(host, names, now)
        self._keep("authority", made)
        return made

    def known_authority(self) -> bytes | None:
        """Return the certificate (PEM) of the authority there is, None if there is none."""
        known = self._load("authority")
        return known.certificate_pem if known else None

    def renew(
        self, authority: Pair, names: Sequence[str], addresses: Iterable[Address], now: datetime
    ) -> bool:
        """Make the server's certificate anew if it is missing, runs out, or names have changed.

        Returns whether it did.
        """
        wanted = sorted(set(addresses), key=lambda address: (address.version, address.packed))
        known = self._load("server")
        if known and _still_good(known, authority, names, wanted, now):
            return False
        self._keep("server", make_server(authority, names, wanted, now))
        return True

    def _load(self, name: str) -> Pair | None:
        try:
            certificate = x509.load_pem_x509_certificate(self._path(name, "pem").read_bytes())
            key = serialization.load_pem_private_key(self._path(name, "key").read_bytes(), None)
        except (OSError, ValueError, TypeError):  # TypeError: a key that asks for a password
            return None
        # A power cut between the two files leaves a key that is not the certificate's.
        if not isinstance(key, ec.EllipticCurvePrivateKey):
            return None
        return Pair(certificate, key) if key.public_key() == certificate.public_key() else None

    def _keep(self, name: str, pair: Pair) -> None:
        _write_private(self._path(name, "key"), pair.key_pem)
        _write_private(self._path(name, "pem"), pair.certificate_pem)

    def _path(self, name: str, ending: str) -> Path:
        return self.folder / f"{name}.{ending}"


def _write_private(path: Path, body: bytes) -> None:
    """Write a file that was never readable by others, and is whole or not there."""
    draft = path.with_suffix(path.suffix + ".new")
    draft.unlink(missing_ok=True)
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(body)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(path)


def _still_good(
    known: Pair, authority: Pair, names: Sequence[str], addresses: Sequence[Address], now: datetime
) -> bool:
    certificate = known.certificate
    try:
        certificate.verify_directly_issued_by(authority.certificate)
        found = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except Exception:  # the library raises several kinds for a certificate that is not of ours
        return False
    return (
        found.get_values_for_type(x509.DNSName) == list(names)
        and found.get_values_for_type(x509.IPAddress) == list(addresses)
        and now + RENEWED_BEFORE < certificate.not_valid_after_utc
    )


def _names(authority: Pair) -> set[str]:
    """Return the names an authority may vouch for: none, if it may vouch for any at all."""
    try:
        limits = authority.certificate.extensions.get_extension_for_class(x509.NameConstraints)
    except (x509.ExtensionNotFound, ValueError):
        return set()
    permitted = limits.value.permitted_subtrees or []
    return {name.value for name in permitted if isinstance(name, x509.DNSName)}


def _builder(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePrivateKey,
    now: datetime,
    life: timedelta,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BACKDATED)
        .not_valid_after(now - BACKDATED + life)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _common_name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text[:64])])


def _usage(**wanted: bool) -> x509.KeyUsage:
    names = (
        "digital_signature", "content_commitment", "key_encipherment", "data_encipherment",
        "key_agreement", "key_cert_sign", "crl_sign", "encipher_only", "decipher_only",
    )  # fmt: skip
    return x509.KeyUsage(**{name: wanted.get(name, False) for name in names})


def private_addresses(found: Iterable[str]) -> list[Address]:
    """Return the private addresses among texts, without zones and repeats."""
    parsed = {ip_address(text.partition("%")[0]) for text in found}
    return sorted(filter(is_private, parsed), key=lambda one: (one.version, one.packed))
