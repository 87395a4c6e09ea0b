"""What befalls the servers, the network as a whole and single phones.

Each fault waits until it was really met, and leaves all as it should be. It gives False where it
cannot befall this book.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ringside.book.devices import OWNER
from tests.property.phone import Place
from tests.support import until
from tests.torture.clients import Client

if TYPE_CHECKING:
    from tests.torture.ordeal import Ordeal

Fault = Callable[["Ordeal"], bool]

DAY = 24 * 60 * 60 * 1000
ENOUGH = 5  # of what must have happened under a fault
SMALL_FILE = 64 * 1024  # bytes
BLOCK = 64 * 1024
OWN: Place = ("ask", "0a000000-0000-7000-8000-000000000002", "says")


# --- the network and the servers


def network_gone(ordeal: Ordeal) -> bool:
    wires = [host.wire for host in ordeal.hosts]
    before = sum(wire.turned_away for wire in wires)
    for wire in wires:
        wire.cut()
    until(lambda: sum(wire.turned_away for wire in wires) >= before + ENOUGH, "phones called")
    for wire in wires:
        wire.mend()
    return True


def killed_under_way(ordeal: Ordeal) -> bool:
    host = ordeal.any_host()
    until(lambda: host.wire.waiting, "a request was under way")
    host.server.kill()
    host.server.start()
    return True


def killed_at(moment: str) -> Fault:
    """`moment` is one of host.py's."""

    def killed(ordeal: Ordeal) -> bool:
        host = ordeal.any_host()
        host.order(f"die-{moment}")
        host.rise_again()
        return True

    return killed


def disk_full(ordeal: Ordeal) -> bool:
    if not ordeal.world.has_own_disk:
        return False
    ballast = ordeal.world.disk / "ballast"
    try:
        _fill(ballast)
        _until_refused(ordeal)
    finally:
        ballast.unlink()
    until_taken(ordeal)
    return True


def _fill(ballast: Path) -> None:
    with suppress(OSError), ballast.open("wb", buffering=0) as file:
        while True:
            file.write(bytes(BLOCK))


def file_limit(ordeal: Ordeal) -> bool:
    """No root is needed for this one: the system lets no file of the server grow any more."""
    if sys.platform != "linux" or ordeal.world.database:
        return False
    import resource

    process = ordeal.any_host().process
    before = resource.prlimit(process.pid, resource.RLIMIT_FSIZE)
    resource.prlimit(process.pid, resource.RLIMIT_FSIZE, (SMALL_FILE, before[1]))
    try:
        _until_refused(ordeal)
    finally:
        resource.prlimit(process.pid, resource.RLIMIT_FSIZE, before)
    until_taken(ordeal)
    return True


def _until_refused(ordeal: Ordeal) -> None:
    """Until several requests could not be served, and were told so."""
    before = ordeal.failures()
    until(lambda: ordeal.failures() >= before + ENOUGH, "the server could not write")


def until_taken(ordeal: Ordeal) -> None:
    """Until the book has grown."""
    before = ordeal.taken()
    until(lambda: ordeal.taken() >= before + ENOUGH, "the server took changes")


def connections_ended(ordeal: Ordeal) -> bool:
    if not ordeal.world.database:
        return False
    until(lambda: any(host.wire.waiting for host in ordeal.hosts), "a request was under way")
    ordeal.world.rows(
        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
        "WHERE datname = current_database() AND pid <> pg_backend_pid()"
    )
    until_taken(ordeal)
    return True


def server_clock(offset: int) -> Fault:
    """With two servers, the other one's stays right."""

    def jump(ordeal: Ordeal) -> bool:
        host = ordeal.any_host()
        host.order("clock", str(offset))
        try:
            until_taken(ordeal)
        finally:
            host.withdraw("clock")
        return True

    return jump


def newer_build(ordeal: Ordeal) -> bool:
    """Servers are updated one by one to a build that declares a kind more, and put back.

    Of two, the one not updated yet writes no more into a book that the other has made anew.
    """
    for change in (lambda host: host.order("newer"), lambda host: host.withdraw("newer")):
        for host in ordeal.hosts:
            change(host)
            host.server.restart()
        until_taken(ordeal)
    return True


# --- one phone


def phone_clock(offset: int) -> Fault:
    def jump(ordeal: Ordeal) -> bool:
        client = ordeal.any_client()

        def write() -> set[str]:
            client.phone.error = offset
            return {client.write_at(place) for place in client.places}

        _until_these_taken(client, client.ask(write))
        if ordeal.chance.random() < 0.5:  # else it stays off
            client.ask(lambda: setattr(client.phone, "error", 0))
        return True

    return jump


def newer_app(kind: str, name: str, **more: Any) -> Fault:
    """What an owner's app of another protocol writes is kept, whether the book knows it or not.

    A helper's is refused, as nobody knows yet whether a helper may see it; and so is a change of
    another form (with `more`), as nobody knows what it means. It stays on its phone.
    """

    def write_both(ordeal: Ordeal) -> bool:
        client = ordeal.any_client()

        def write() -> tuple[str, str]:
            client.protocol = 2
            unknown = client.write_as_another_version(kind, name, **more)
            return unknown, client.write_at(OWN)

        unknown, known = client.ask(write)
        is_kept = client.role == OWNER and not more
        _until_these_taken(client, {unknown, known} if is_kept else {known})
        until(lambda: is_kept or unknown in client.journal.refused, "it was refused")
        client.ask(lambda: setattr(client, "protocol", 1))
        return True

    return write_both


def storage_lost(ordeal: Ordeal) -> bool:
    client = ordeal.any_client()
    client.ask(client.lose_storage)
    until(lambda: len(client.journal.held) > ENOUGH, "the phone received the book anew")
    return True


def storage_restored(ordeal: Ordeal) -> bool:
    """A phone restored from a backup that is older than what it has written and received."""
    client = ordeal.any_client()
    kept = client.ask(client.copy_storage)
    for _ in range(2):
        _until_these_taken(client, client.ask(lambda: {client.write_at(OWN)}))
    client.ask(lambda: client.restore_storage(kept))
    _until_these_taken(client, client.ask(lambda: {client.write_at(OWN)}))
    return True


def _until_these_taken(client: Client, written: set[str]) -> None:
    until(lambda: written <= client.journal.taken, "what it wrote was taken")


ALL: dict[str, Fault] = {
    "network gone": network_gone,
    "server killed with requests under way": killed_under_way,
    "server killed within the writing of a batch": killed_at("half"),
    "server killed before a commit": killed_at("whole"),
    "server killed after a commit": killed_at("kept"),
    "server's disk full": disk_full,
    "server's files may not grow": file_limit,
    "database connections ended": connections_ended,
    "server's clock a day fast": server_clock(DAY),
    "server's clock a day slow": server_clock(-DAY),
    "servers of a newer build, and back": newer_build,
    "phone's clock a day fast": phone_clock(DAY),
    "phone's clock a day slow": phone_clock(-DAY),
    "newer app, unknown kind": newer_app("weather", "wind"),
    "newer app, unknown field": newer_app("dog", "coat_in_spring"),
    "newer app, change of another form": newer_app("dog", "name", mood="hopeful"),
    "phone's storage lost": storage_lost,
    "phone restored from a backup": storage_restored,
}
