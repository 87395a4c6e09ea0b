"""What one client may hold of the server, and for how long."""

from __future__ import annotations

import sys

# What an app answers at most at once. A book on PostgreSQL has connections for half of them.
WORKERS = 24
UPLOADERS = 8  # more, for bodies too long to be gathered without a thread

MOST_CONNECTIONS = 400  # Windows lets a program wait for 512 at once
SERVERS = 2  # of one process: the page that walks a phone through trusting us has its own
OWN_FILES = 128  # what a process has open besides, most of it by threads that read the book
BACKLOG = 128

# All in bytes.
MOST_HEADERS = 32 * 1024  # the request line and all headers
AHEAD = 64 * 1024  # of a request, gathered without a thread
IN_KERNEL = 128 * 1024  # of an answer that nobody takes

# All in seconds. Our app on a phone gives up after ten without progress.
IDLE = 10  # for a connection on which nothing moves
RECEIVED_IN = 30  # for a request, from its first byte to its last
TAKEN_IN = 120  # for an answer
UNTAKEN = 60  # for an answer of which nothing is taken: weak links take it in large pieces
LEFT_IN = 10  # for a client to hear that we close
STOPPED_IN = 10  # for the requests that are open when we are asked to stop
CUT_IN = 2  # for telling the others

LEAST_RATE = 500  # bytes a second that a weak link carries: with each of these comes a second more


def most_connections() -> int:
    """Return how many connections there may be, in a process that may have few files open."""
    if sys.platform == "win32":
        return MOST_CONNECTIONS
    import resource  # other systems alone have it

    allowed = resource.getrlimit(resource.RLIMIT_NOFILE)[0]
    if allowed == resource.RLIM_INFINITY:
        return MOST_CONNECTIONS
    return max(1, min(MOST_CONNECTIONS, (allowed - OWN_FILES) // SERVERS))
