"""The certificates of the local network keep the limits that iOS and Chrome state, as two readers
see them: the library that made them, and openssl."""

from __future__ import annotations

import errno
import os
import re
import shutil
import ssl
import stat
import subprocess
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Network, ip_address
from pathlib import Path
from typing import Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, SignatureAlgorithmOID

from ringside.web.serve import certificates as certs
from ringside.web.serve.certificates import (
    AUTHORITY_LIFE,
    PRIVATE,
    RENEWED_BEFORE,
    SERVER_LIFE,
    Address,
    Keyring,
    Pair,
    fingerprint,
    is_private,
    make_authority,
    make_server,
    private_addresses,
)

NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)
SECOND = timedelta(seconds=1)
DAY = timedelta(days=1)
NAMES = ["van.local", "localhost"]
ADDRESSES: list[Address] = [
    ip_address(text) for text in ("127.0.0.1", "192.168.1.20", "::1", "fd00::20")
]
# Apple: "Requirements for trusted certificates in iOS 13 and macOS 10.15" (103769).
MOST_DAYS = 825

PUBLIC_NAMES = ["www.example.com", "example.local", "local", "van.local.example.com"]
PUBLIC_ADDRESSES = ["8.8.8.8", "172.32.0.1", "192.167.255.255", "100.64.0.1", "2001:db8::1"]

posix_only = pytest.mark.skipif(os.name != "posix", reason="only POSIX has these modes")


@pytest.fixture
def authority() -> Pair:
    return make_authority("van", NAMES, NOW)


@pytest.fixture
def server(authority: Pair) -> Pair:
    return make_server(authority, NAMES, ADDRESSES, NOW)


@pytest.fixture
def ring(tmp_path: Path) -> Keyring:
    return Keyring(tmp_path / "book" / "keys")


def extension(pair: Pair, kind: Any) -> tuple[Any, bool]:
    """An extension's value, and whether it is critical."""
    found = pair.certificate.extensions.get_extension_for_class(kind)
    return found.value, found.critical


def lasts(pair: Pair) -> timedelta:
    # Both ends belong to it (RFC 5280, section 4.1.2.5).
    return pair.certificate.not_valid_after_utc - pair.certificate.not_valid_before_utc + SECOND


# --- What the library that made them sees


@pytest.mark.parametrize("which", ["authority", "server"])
def test_a_p256_key_with_sha256(which: str, request: pytest.FixtureRequest) -> None:
    pair: Pair = request.getfixturevalue(which)
    key = pair.certificate.public_key()
    assert isinstance(key, ec.EllipticCurvePublicKey)
    assert isinstance(key.curve, ec.SECP256R1)
    assert key == pair.key.public_key()
    assert isinstance(pair.certificate.signature_hash_algorithm, hashes.SHA256)
    assert pair.certificate.signature_algorithm_oid == SignatureAlgorithmOID.ECDSA_WITH_SHA256
    assert pair.certificate.version is x509.Version.v3
    # Not to be foretold (CA/Browser Forum: at least 64 bits; RFC 5280: at most 20 octets).
    assert 0 < pair.certificate.serial_number.bit_length() <= 159


def test_the_server_names_itself_where_phones_look(server: Pair) -> None:
    names, _ = extension(server, x509.SubjectAlternativeName)
    assert names.get_values_for_type(x509.DNSName) == NAMES
    assert names.get_values_for_type(x509.IPAddress) == ADDRESSES
    assert len(names) == len(NAMES) + len(ADDRESSES)
    usage, _ = extension(server, x509.ExtendedKeyUsage)
    assert list(usage) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert extension(server, x509.BasicConstraints) == (x509.BasicConstraints(False, None), True)
    usage, is_critical = extension(server, x509.KeyUsage)
    assert is_critical
    assert usage.digital_signature
    assert not usage.key_cert_sign
    assert not usage.crl_sign


def test_the_server_lasts_no_longer_than_phones_allow(server: Pair) -> None:
    assert lasts(server) <= SERVER_LIFE + SECOND
    assert timedelta(days=397) == SERVER_LIFE
    assert lasts(server) < timedelta(days=MOST_DAYS)
    # A phone whose clock is slow does not find it from the future.
    assert server.certificate.not_valid_before_utc <= NOW - DAY


def test_the_authority_vouches_for_nothing_else(authority: Pair) -> None:
    assert extension(authority, x509.BasicConstraints) == (x509.BasicConstraints(True, 0), True)
    usage, is_critical = extension(authority, x509.KeyUsage)
    assert is_critical
    assert usage.key_cert_sign
    assert not usage.digital_signature
    limits, is_critical = extension(authority, x509.NameConstraints)
    assert is_critical
    assert limits.excluded_subtrees is None
    permitted = limits.permitted_subtrees
    assert [it.value for it in permitted if isinstance(it, x509.DNSName)] == NAMES
    assert tuple(it.value for it in permitted if isinstance(it, x509.IPAddress)) == PRIVATE
    assert len(permitted) == len(NAMES) + len(PRIVATE)
    assert lasts(authority) == AUTHORITY_LIFE + SECOND


def test_the_private_ranges_are_those_that_the_registry_keeps_apart() -> None:
    for network in PRIVATE:
        assert network.is_private, network
        assert not network.is_global, network
    assert IPv4Network("0.0.0.0/0") not in PRIVATE
    assert all(is_private(address) for address in ADDRESSES)
    assert not any(is_private(ip_address(text)) for text in PUBLIC_ADDRESSES)


def test_issuer_and_server_are_tied_by_name_and_key(authority: Pair, server: Pair) -> None:
    server.certificate.verify_directly_issued_by(authority.certificate)
    authority.certificate.verify_directly_issued_by(authority.certificate)
    theirs, _ = extension(authority, x509.SubjectKeyIdentifier)
    ours, _ = extension(server, x509.AuthorityKeyIdentifier)
    assert ours.key_identifier == theirs.digest
    assert authority.certificate.subject != server.certificate.subject


def test_each_certificate_has_a_key_and_a_number_of_its_own(authority: Pair) -> None:
    made = [make_server(authority, NAMES, ADDRESSES, NOW) for _ in range(3)]
    assert len({pair.key_pem for pair in made}) == 3
    assert len({pair.certificate.serial_number for pair in made}) == 3


def test_a_machine_with_a_long_name_gets_a_certificate() -> None:
    name = f"{'x' * 63}.local"
    authority = make_authority("x" * 63, [name], NOW)
    server = make_server(authority, [name], [], NOW)
    names, _ = extension(server, x509.SubjectAlternativeName)
    assert names.get_values_for_type(x509.DNSName) == [name]


def test_private_addresses_are_told_from_the_others() -> None:
    found = ["fe80::1%eth0", "192.168.1.20", "8.8.8.8", "192.168.1.20", "10.0.0.3", "2001:db8::1"]
    shown = [str(address) for address in private_addresses(found)]
    assert shown == ["10.0.0.3", "192.168.1.20", "fe80::1"]


# --- What openssl sees


class Openssl:
    """The independent reader; its files lie in `folder`."""

    def __init__(self, program: str, folder: Path) -> None:
        self.program = program
        self.folder = folder

    def run(self, *words: object) -> tuple[bool, str]:
        done = subprocess.run(
            [self.program, *map(str, words)], capture_output=True, text=True, timeout=30
        )
        return done.returncode == 0, done.stdout + done.stderr

    def file(self, name: str, pair: Pair) -> Path:
        path = self.folder / f"{name}.pem"
        path.write_bytes(pair.certificate_pem)
        return path

    def text(self, pair: Pair) -> str:
        good, said = self.run("x509", "-in", self.file("shown", pair), "-noout", "-text")
        assert good, said
        return re.sub(r"\s+", " ", said)

    def verify(
        self, authority: Pair, leaf: Pair, *wanted: str, between: Sequence[Pair] = (), at: datetime
    ) -> tuple[bool, str]:
        """Whether a phone that trusts `authority` alone takes `leaf`, and what openssl says."""
        chain = self.folder / "between.pem"
        chain.write_bytes(b"".join(pair.certificate_pem for pair in between))
        return self.run(
            *("verify", "-x509_strict", "-purpose", "sslserver", "-no-CAstore", "-no-CApath"),
            *("-attime", int(at.timestamp()), "-CAfile", self.file("trusted", authority)),
            *(["-untrusted", chain] if between else []),
            *(*wanted, self.file("leaf", leaf)),
        )


@pytest.fixture
def openssl(tmp_path: Path) -> Openssl:
    program = shutil.which("openssl")
    if not program:
        pytest.skip("there is no openssl command here")
    version = subprocess.run([program, "version"], capture_output=True, text=True).stdout
    if not version.startswith("OpenSSL") or version.startswith("OpenSSL 1"):
        pytest.skip(f"OpenSSL 3 or later is wanted; here is {version.strip()}")
    return Openssl(program, tmp_path)


def test_openssl_reads_the_same(openssl: Openssl, authority: Pair, server: Pair) -> None:
    for pair in (authority, server):
        text = openssl.text(pair)
        assert text.count("Signature Algorithm: ecdsa-with-SHA256") == 2
        assert "ASN1 OID: prime256v1" in text
        assert "Version: 3 (0x2)" in text
    text = openssl.text(authority)
    assert "X509v3 Basic Constraints: critical CA:TRUE, pathlen:0 " in text
    assert "X509v3 Key Usage: critical Certificate Sign, CRL Sign " in text
    (limits,) = re.findall(r"Name Constraints: critical Permitted: (.*?) Signature", text)
    assert [part for part in limits.split() if part.startswith("DNS:")] == [
        f"DNS:{name}" for name in NAMES
    ]
    for network in PRIVATE:
        if network.version == 4:
            assert f"IP:{network.with_netmask}" in limits
    assert len(limits.split()) == len(NAMES) + len(PRIVATE)
    text = openssl.text(server)
    assert "X509v3 Basic Constraints: critical CA:FALSE " in text
    assert "X509v3 Key Usage: critical Digital Signature " in text
    assert "X509v3 Extended Key Usage: TLS Web Server Authentication X509v3" in text
    for name in NAMES:
        assert f"DNS:{name}" in text
    assert "IP Address:192.168.1.20" in text
    assert "IP Address:FD00:0:0:0:0:0:0:20" in text


def test_openssl_reads_the_same_fingerprint(openssl: Openssl, authority: Pair) -> None:
    file = openssl.file("authority", authority)
    good, said = openssl.run("x509", "-in", file, "-noout", "-fingerprint", "-sha256")
    assert good
    assert said.strip().partition("=")[2] == fingerprint(authority.certificate)


def test_openssl_counts_the_days(openssl: Openssl, server: Pair) -> None:
    file = openssl.file("server", server)
    _, said = openssl.run("x509", "-in", file, "-noout", "-dates")
    start, end = (
        ssl.cert_time_to_seconds(line.partition("=")[2]) for line in said.strip().splitlines()
    )
    assert (end - start) / 86400 == SERVER_LIFE.days < MOST_DAYS


def test_openssl_takes_every_name_and_address_of_ours(
    openssl: Openssl, authority: Pair, server: Pair
) -> None:
    for name in NAMES:
        good, said = openssl.verify(authority, server, "-verify_hostname", name, at=NOW)
        assert good, said
    for address in ADDRESSES:
        good, said = openssl.verify(authority, server, "-verify_ip", str(address), at=NOW)
        assert good, said
    good, said = openssl.verify(authority, server, "-verify_hostname", "other.local", at=NOW)
    assert not good
    assert "hostname mismatch" in said.lower()


@pytest.mark.parametrize("days", [-2, SERVER_LIFE.days])
def test_openssl_refuses_it_before_and_after_its_time(
    openssl: Openssl, authority: Pair, server: Pair, days: int
) -> None:
    good, said = openssl.verify(authority, server, at=NOW + timedelta(days=days))
    assert not good, said


@pytest.mark.parametrize("name", PUBLIC_NAMES)
@pytest.mark.parametrize("beside", [[], NAMES])
def test_openssl_refuses_a_foreign_name_of_ours(
    openssl: Openssl, authority: Pair, name: str, beside: list[str]
) -> None:
    leaf = make_server(authority, [*beside, name], ADDRESSES, NOW)
    good, said = openssl.verify(authority, leaf, "-verify_hostname", name, at=NOW)
    assert not good
    assert "permitted subtree violation" in said


@pytest.mark.parametrize("text", PUBLIC_ADDRESSES)
def test_openssl_refuses_a_public_address_of_ours(
    openssl: Openssl, authority: Pair, text: str
) -> None:
    leaf = make_server(authority, NAMES, [ip_address(text)], NOW)
    good, said = openssl.verify(authority, leaf, "-verify_ip", text, at=NOW)
    assert not good
    assert "permitted subtree violation" in said


def test_openssl_refuses_an_authority_below_ours(openssl: Openssl, authority: Pair) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name.from_rfc4514_string("CN=Below")
    builder = (
        certs._builder(name, authority.certificate.subject, key, NOW, SERVER_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .add_extension(certs._usage(key_cert_sign=True, crl_sign=True), critical=True)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key()), False
        )
    )
    below = Pair(builder.sign(authority.key, hashes.SHA256()), key)
    leaf = make_server(below, NAMES, ADDRESSES, NOW)
    good, said = openssl.verify(authority, leaf, between=[below], at=NOW)
    assert not good
    assert "path length constraint exceeded" in said


def test_openssl_refuses_what_another_authority_signed(openssl: Openssl, authority: Pair) -> None:
    other = make_authority("van", NAMES, NOW)
    good, _ = openssl.verify(authority, make_server(other, NAMES, ADDRESSES, NOW), at=NOW)
    assert not good


# --- Kept, renewed, and made anew


def trusted(ring: Keyring, names: Sequence[str] = NAMES, now: datetime = NOW) -> Pair:
    return ring.authority("van", names, now)


def renew(
    ring: Keyring,
    names: Sequence[str] = NAMES,
    addresses: Sequence[Address] = tuple(ADDRESSES),
    now: datetime = NOW,
) -> bool:
    return ring.renew(trusted(ring, names, now), names, addresses, now)


def files(ring: Keyring) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in ring.folder.iterdir()}


def is_usable(ring: Keyring) -> None:
    """A TLS server takes the files."""
    ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(ring.chain, ring.key)


def test_both_are_made_once_and_kept(ring: Keyring) -> None:
    assert renew(ring)
    is_usable(ring)
    kept = files(ring)
    assert set(kept) == {"authority.pem", "authority.key", "server.pem", "server.key"}
    again = Keyring(ring.folder)
    assert not renew(again)
    assert not renew(again, addresses=[*reversed(ADDRESSES), ADDRESSES[0]])
    assert files(again) == kept


def test_it_is_renewed_within_sixty_days_of_its_end(ring: Keyring) -> None:
    assert timedelta(days=60) == RENEWED_BEFORE
    renew(ring)
    trust = trusted(ring)
    end = x509.load_pem_x509_certificate(ring.chain.read_bytes()).not_valid_after_utc
    assert not renew(ring, now=end - RENEWED_BEFORE - SECOND)
    later = end - RENEWED_BEFORE
    assert renew(ring, now=later)
    assert x509.load_pem_x509_certificate(ring.chain.read_bytes()).not_valid_after_utc > end
    # The phones' trust goes on.
    assert trusted(ring, now=later).certificate == trust.certificate
    is_usable(ring)


@pytest.mark.parametrize(
    "addresses", [ADDRESSES[:-1], [*ADDRESSES, ip_address("10.1.2.3")], [ADDRESSES[0]]]
)
def test_it_is_renewed_for_other_addresses(ring: Keyring, addresses: list[Address]) -> None:
    renew(ring)
    trust = trusted(ring)
    assert renew(ring, addresses=addresses)
    assert not renew(ring, addresses=addresses)
    assert trusted(ring).certificate == trust.certificate
    found = x509.load_pem_x509_certificate(ring.chain.read_bytes()).extensions
    names = found.get_extension_for_class(x509.SubjectAlternativeName).value
    assert set(names.get_values_for_type(x509.IPAddress)) == set(addresses)


def test_the_authority_is_made_anew_for_new_names_alone(ring: Keyring) -> None:
    renew(ring)
    trust = trusted(ring)
    assert trusted(ring, ["localhost"]).certificate == trust.certificate
    assert renew(ring, ["localhost"])
    assert not renew(ring, ["localhost"])
    assert trusted(ring).certificate == trust.certificate
    anew = trusted(ring, ["kitchen.local", "localhost"])
    assert anew.certificate != trust.certificate
    assert anew.key_pem != trust.key_pem
    # What the old one signed is not shown to phones that trust the new one.
    assert renew(ring, ["kitchen.local", "localhost"])
    server = x509.load_pem_x509_certificate(ring.chain.read_bytes())
    server.verify_directly_issued_by(anew.certificate)


def test_the_authority_is_made_anew_when_it_has_run_out(ring: Keyring) -> None:
    trust = trusted(ring)
    end = trust.certificate.not_valid_after_utc
    assert trusted(ring, now=end - SECOND).certificate == trust.certificate
    assert trusted(ring, now=end).certificate != trust.certificate


def locked(body: bytes) -> bytes:
    key = serialization.load_pem_private_key(body, None)
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.BestAvailableEncryption(b"secret"),
    )


def another(body: bytes) -> bytes:
    """A file of another key or certificate, as a power cut between two writes would leave it."""
    pair = make_server(make_authority("van", NAMES, NOW), NAMES, ADDRESSES, NOW)
    return pair.key_pem if b"PRIVATE" in body else pair.certificate_pem


DAMAGE: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda body: b"",
    "torn": lambda body: body[: len(body) // 2],
    "noise": lambda body: b"\0\xff" * 100,
    "another": another,
}


@pytest.mark.parametrize("damage", [*DAMAGE, "missing"])
@pytest.mark.parametrize("name", ["server.pem", "server.key"])
def test_a_damaged_server_certificate_is_made_anew(ring: Keyring, name: str, damage: str) -> None:
    renew(ring)
    trust = trusted(ring)
    path = ring.folder / name
    body = path.read_bytes()
    path.unlink()
    if damage != "missing":
        path.write_bytes(DAMAGE[damage](body))
    assert renew(ring)
    is_usable(ring)
    assert trusted(ring).certificate == trust.certificate
    assert not renew(ring)


@pytest.mark.parametrize("damage", [*DAMAGE, "missing"])
@pytest.mark.parametrize("name", ["authority.pem", "authority.key"])
def test_a_damaged_authority_is_made_anew_with_all_it_signed(
    ring: Keyring, name: str, damage: str
) -> None:
    renew(ring)
    trust = trusted(ring)
    path = ring.folder / name
    body = path.read_bytes()
    path.unlink()
    if damage != "missing":
        path.write_bytes(DAMAGE[damage](body))
    anew = trusted(ring)
    assert anew.certificate != trust.certificate
    assert renew(ring)
    is_usable(ring)
    server = x509.load_pem_x509_certificate(ring.chain.read_bytes())
    server.verify_directly_issued_by(anew.certificate)


def test_a_locked_key_is_made_anew(ring: Keyring) -> None:
    renew(ring)
    ring.key.write_bytes(locked(ring.key.read_bytes()))
    assert renew(ring)
    is_usable(ring)


def test_an_authority_without_limits_is_never_used(ring: Keyring) -> None:
    """Somebody's own, put in the place of ours, would let us speak for every name there is."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name.from_rfc4514_string("CN=Anything")
    builder = certs._builder(name, name, key, NOW, AUTHORITY_LIFE).add_extension(
        x509.BasicConstraints(ca=True, path_length=None), critical=True
    )
    boundless = Pair(builder.sign(key, hashes.SHA256()), key)
    ring._keep("authority", boundless)
    made = trusted(ring)
    assert made.certificate != boundless.certificate
    assert extension(made, x509.NameConstraints)[1]


def test_a_server_certificate_without_names_is_made_anew(ring: Keyring) -> None:
    authority = trusted(ring)
    key = ec.generate_private_key(ec.SECP256R1())
    builder = certs._builder(
        x509.Name.from_rfc4514_string("CN=van.local"),
        authority.certificate.subject,
        key,
        NOW,
        SERVER_LIFE,
    )
    ring._keep("server", Pair(builder.sign(authority.key, hashes.SHA256()), key))
    assert renew(ring)


# --- On the disk


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@posix_only
@pytest.mark.parametrize("mask", [0o000, 0o022, 0o077])
def test_the_owner_alone_reads_the_keys(tmp_path: Path, mask: int) -> None:
    before = os.umask(mask)
    try:
        ring = Keyring(tmp_path / "keys")
        renew(ring)
    finally:
        os.umask(before)
    assert mode(ring.folder) == 0o700
    found = sorted((path.name, mode(path)) for path in ring.folder.iterdir())
    assert found == [
        ("authority.key", 0o600),
        ("authority.pem", 0o600),
        ("server.key", 0o600),
        ("server.pem", 0o600),
    ]


@posix_only
def test_a_folder_that_others_could_read_is_closed(tmp_path: Path) -> None:
    folder = tmp_path / "keys"
    folder.mkdir(mode=0o755)
    Keyring(folder)
    assert mode(folder) == 0o700


@posix_only
def test_a_key_is_never_readable_by_others_while_it_is_written(
    ring: Keyring, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[tuple[str, int]] = []
    replace = Path.replace

    def watched(draft: Path, target: Path) -> Path:
        seen.append((draft.name, mode(draft)))
        return replace(draft, target)

    monkeypatch.setattr(Path, "replace", watched)
    before = os.umask(0)
    try:
        renew(ring)
    finally:
        os.umask(before)
    assert {number for _, number in seen} == {0o600}
    assert len(seen) == 4


def test_a_full_disk_leaves_the_old_files_whole(
    ring: Keyring, monkeypatch: pytest.MonkeyPatch
) -> None:
    renew(ring)
    kept = files(ring)

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(OSError, match="No space left"):
            renew(ring, addresses=[ADDRESSES[0]])
    assert {name: body for name, body in files(ring).items() if name in kept} == kept
    is_usable(ring)
    # What was left of the try is not in the way, nor readable by others.
    assert renew(ring, addresses=[ADDRESSES[0]])
    assert set(files(ring)) == set(kept)


@pytest.mark.parametrize("number", [1, 2])
def test_an_end_between_two_writes_is_mended_at_the_next_start(
    ring: Keyring, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    renew(ring)
    trust = trusted(ring)
    replace, calls = Path.replace, 0

    class Killed(BaseException):
        pass

    def dies(draft: Path, target: Path) -> Path:
        nonlocal calls
        calls += 1
        if calls == number:
            raise Killed
        return replace(draft, target)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", dies)
        with pytest.raises(Killed):
            renew(ring, addresses=[ADDRESSES[0]])
    again = Keyring(ring.folder)
    # The address may be the old one again, as if nothing were to be done.
    assert renew(again) == (number == 2)
    is_usable(again)
    assert renew(again, addresses=[ADDRESSES[0]])
    is_usable(again)
    assert trusted(again).certificate == trust.certificate


def test_no_key_is_in_what_phones_are_given(ring: Keyring) -> None:
    renew(ring)
    for name in ("authority.pem", "server.pem"):
        assert b"PRIVATE" not in (ring.folder / name).read_bytes()
