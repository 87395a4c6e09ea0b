"""The name of this machine, announced to a network that consists of this machine alone."""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Callable, Iterator
from ipaddress import ip_address

import pytest
from zeroconf import AddressResolver, InterfaceChoice, ServiceInfo, Zeroconf

from ringside.web.serve import announce
from ringside.web.serve.announce import KIND, Announcer

LOOPBACK = ["127.0.0.1"]
OWN = [ip_address("127.0.0.1"), ip_address("192.168.1.20"), ip_address("fd00::20")]
PORT = 8470


@pytest.fixture(autouse=True)
def _no_loop() -> Iterator[None]:
    """Playwright leaves its event loop running in this thread, and zeroconf would join it."""
    loop = asyncio._get_running_loop()
    asyncio._set_running_loop(None)
    yield
    asyncio._set_running_loop(loop)


@pytest.fixture
def name() -> str:
    """A name that no machine here has."""
    return f"van-{secrets.token_hex(6)}.local"


@pytest.fixture
def phone() -> Iterator[Zeroconf]:
    try:
        phone = Zeroconf(interfaces=LOOPBACK)
    except OSError as error:
        pytest.skip(f"no multicast here: {error}")
    yield phone
    phone.close()


@pytest.fixture
def announcer_of(phone: Zeroconf) -> Iterator[Callable[[str], Announcer]]:
    made: list[Announcer] = []

    def make(name: str) -> Announcer:
        taken: list[str] = []
        announcer = Announcer(name, PORT, lambda: OWN, lambda: taken.append(name), LOOPBACK)
        announcer.heard = taken
        made.append(announcer)
        return announcer

    yield make
    for announcer in made:
        announcer.end()


def found(phone: Zeroconf, name: str) -> set[str]:
    """The addresses that a phone gets for a name."""
    asked = AddressResolver(f"{name}.")
    return set(asked.parsed_addresses()) if asked.request(phone, 10_000) else set()


def hold(phone: Zeroconf, name: str, address: str) -> None:
    """Have the name announced by another program, or another machine."""
    info = ServiceInfo(
        "_other._tcp.local.",
        f"{name.partition('.')[0]}._other._tcp.local.",
        port=1,
        server=f"{name}.",
        parsed_addresses=[address],
    )
    phone.register_service(info)


def test_a_name_that_nobody_has_is_announced(
    phone: Zeroconf, announcer_of: Callable[[str], Announcer], name: str
) -> None:
    announcer = announcer_of(name)
    announcer.announce()
    assert announcer.is_ours
    assert found(phone, name) == {"192.168.1.20", "fd00::20"}
    info = phone.get_service_info(KIND, f"Ringside on {name.partition('.')[0]}.{KIND}")
    assert info
    assert info.port == PORT
    # After the network changed, it does not take its own name for another's.
    announcer.announce()
    assert announcer.is_ours
    assert announcer.heard == []


def test_a_name_that_this_system_announces_is_left_to_it(
    phone: Zeroconf, announcer_of: Callable[[str], Announcer], name: str
) -> None:
    hold(phone, name, "192.168.1.20")
    announcer = announcer_of(name)
    announcer.announce()
    assert not announcer.is_ours
    assert announcer.heard == []


def test_a_name_that_another_machine_has_is_told(
    phone: Zeroconf, announcer_of: Callable[[str], Announcer], name: str
) -> None:
    hold(phone, name, "192.168.1.99")
    announcer = announcer_of(name)
    announcer.announce()
    assert not announcer.is_ours
    assert announcer.heard == [name]


def test_a_name_is_taken_back_at_the_end(
    phone: Zeroconf,
    announcer_of: Callable[[str], Announcer],
    name: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    announcer = announcer_of(name)
    announcer.announce()
    announcer.end()
    monkeypatch.setattr(announce, "ASKED_FOR", 500)
    other = announcer_of(name)
    other.announce()
    assert other.is_ours  # since nobody answered


def test_without_a_network_nothing_is_announced(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(interfaces: InterfaceChoice) -> Zeroconf:
        raise OSError(19, "No such device")

    monkeypatch.setattr(announce, "Zeroconf", none)
    announcer = Announcer(name, PORT, lambda: OWN, lambda: pytest.fail("nobody has it"))
    announcer.announce()
    assert not announcer.is_ours
    announcer.end()
