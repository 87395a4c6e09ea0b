"""Malformed HTTP for the fuzz of the real server: the bytes on the wire, and what came back."""

from __future__ import annotations

import json
import random
import re
import socket
from collections.abc import Callable
from contextlib import suppress

SECONDS = 60  # a loaded machine is no finding

Message = bytes
Spoiler = Callable[[random.Random, Message], Message]

NUMBERS = (b"-1", b"+5", b"abc", b"1_0", b"0x10", b"5, 5", b"", b"\xb2", b"9" * 40, b"3", b"99")
CODINGS = (b"chunked", b"gzip, chunked", b"identity", b"\x0bchunked", b"chunked, chunked", b"x")
CHUNKS = (b"-1", b"zz", b"", b"ffffffffffffffff", b"5;" + b"x" * 9000, b"5", b"5 ", b"+5")
LINES = (
    *(b"get / HTTP/1.1", b"GET / HTTP/9.9", b"GET / HTTP/1.1.1", b"GET /", b"GET  /  HTTP/1.1"),
    *(b"GET /%00 HTTP/1.1", b"GET /\x00 HTTP/1.1", b"GET /../../etc/passwd HTTP/1.1", b"\x00"),
    *(b"OPTIONS * HTTP/1.1", b"CONNECT localhost:1 HTTP/1.1", b"TRACE / HTTP/1.1", b""),
    *(b"GET http://elsewhere.example/ HTTP/1.1", b"GET http://[ HTTP/1.1", b"GET / HTTP/-1.1"),
    *(b"GET /%ff%fe HTTP/1.1", b"GET /#x HTTP/1.1", b"\x16\x03\x01\x02\x00", b"GET / HTTP/1.0"),
    b"GET /" + b"x" * 70_000 + b" HTTP/1.1",
)
HEADERS = (
    *(b"X", b": x", b"X Y: z", b"X: \x00", b"X: \xff\xfe", b" folded", b"X:\ry", b"Host: x"),
    *(b"Expect: 100-continue", b"Expect: x", b"Connection: upgrade", b"Upgrade: h2c", b"X_Y: z"),
    *(b"Cookie: " + b"a=b; " * 900, b"Cookie: \x00=\xff; =; ;;", b"Range: bytes=0-,0-,0-"),
    *(b"X: " + b"x" * 70_000, b"\r\n".join(b"X-%d: x" % n for n in range(2_000))),
)
BODIES = (
    *(b"[" * 100_000, b'{"a":' * 50_000, b'{"device":NaN}', b"9" * 50_000, b"1e999999", b"\x00"),
    *(
        b'{"device":"\\ud800"}',
        b'"\xff"',
        b"{}",
        b"null",
        b'{"changes":[' + b"[]," * 9_000 + b"0]}",
    ),
)


def message(method: bytes, path: bytes, headers: dict[str, str], body: object = None) -> Message:
    """Return a request as it should be."""
    sent = b"" if body is None else json.dumps(body).encode()
    lines = [b"%s %s HTTP/1.1" % (method, path)]
    lines += [f"{name}: {value}".encode("latin-1") for name, value in headers.items()]
    lines += [b"Content-Length: %d" % len(sent)] if sent else []
    return b"\r\n".join([*lines, b"", sent])


def _parts(made: Message) -> tuple[list[bytes], bytes]:
    head, _, body = made.partition(b"\r\n\r\n")
    return head.split(b"\r\n"), body


def _joined(lines: list[bytes], body: bytes) -> Message:
    return b"\r\n".join([*lines, b"", body])


def _wrong_length(dice: random.Random, made: Message) -> Message:
    lines, body = _parts(made)
    return _joined([*lines, b"Content-Length: " + dice.choice(NUMBERS)], body)


def _only_wrong_length(dice: random.Random, made: Message) -> Message:
    lines, body = _parts(made)
    kept = [line for line in lines if not line.startswith(b"Content-Length")]
    return _joined([*kept, b"Content-Length: " + dice.choice(NUMBERS)], body)


def _chunked(dice: random.Random, made: Message) -> Message:
    lines, body = _parts(made)
    size = b"%x" % len(body) if dice.random() < 0.5 else dice.choice(CHUNKS)
    coding = dice.choice((b"chunked", *CODINGS))
    chunked = b"%s\r\n%s\r\n0\r\n\r\n" % (size, body)
    return _joined([*lines, b"Transfer-Encoding: " + coding], chunked)


def _line(dice: random.Random, made: Message) -> Message:
    lines, body = _parts(made)
    return _joined([dice.choice(LINES), *lines[1:]], body)


def _header(dice: random.Random, made: Message) -> Message:
    lines, body = _parts(made)
    place = dice.randrange(1, len(lines) + 1)
    return _joined([*lines[:place], dice.choice(HEADERS), *lines[place:]], body)


def _body(dice: random.Random, made: Message) -> Message:
    lines, _ = _parts(made)
    body = dice.choice(BODIES)
    kept = [line for line in lines if not line.startswith(b"Content-Length")]
    return _joined([*kept, b"Content-Length: %d" % len(body)], body)


def _cut(dice: random.Random, made: Message) -> Message:
    return made[: dice.randrange(len(made) + 1)]


def _noise(dice: random.Random, made: Message) -> Message:
    noisy = bytearray(made)
    for _ in range(dice.randrange(1, 6) if noisy else 0):
        noisy[dice.randrange(len(noisy))] = dice.randrange(256)
    return bytes(noisy)


def _ends(dice: random.Random, made: Message) -> Message:
    return made.replace(b"\r\n", dice.choice((b"\n", b"\r", b"\r\r\n", b"\n\r")))


def _pipelined(dice: random.Random, made: Message) -> Message:
    return made * dice.randrange(2, 5)


SPOILERS: tuple[Spoiler, ...] = (
    *(_wrong_length, _only_wrong_length, _chunked, _line, _header, _body, _cut, _noise, _ends),
    _pipelined,
)


def spoilt(dice: random.Random, made: Message) -> Message:
    """Return a request with one to three things wrong with it."""
    for spoil in dice.choices(SPOILERS, k=dice.randrange(1, 4)):
        made = spoil(dice, made)
    return made


def ask(port: int, sent: bytes) -> bytes:
    """Send bytes, say that they are all, and return all that comes back."""
    with socket.create_connection(("127.0.0.1", port), timeout=SECONDS) as connection:
        got = bytearray()
        with suppress(ConnectionError):  # it did not want to hear the rest
            connection.sendall(sent)
            with suppress(OSError):  # it has closed already
                connection.shutdown(socket.SHUT_WR)
            while piece := connection.recv(65_536):
                got += piece
        return bytes(got)


def statuses(got: bytes) -> list[int]:
    """Return the status of each answer in what came back."""
    return [int(found) for found in re.findall(rb"HTTP/1\.1 ([0-9]{3}) ", got)]
