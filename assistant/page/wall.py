"""A small web server for the page on the wall, and the newest face on every screen that watches.

One page, which follows by server-sent events: a screen gets the newest face when it comes and at
every change. Between changes a beat tells it that the line still stands; a screen whose line
breaks keeps the last face, says so, and comes back by itself.
"""

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from functools import partial
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from socket import SHUT_RDWR, socket
from typing import Any, Final, Self

from assistant.errors import AssistantError
from assistant.page.face import Face

BEAT_S: Final = 5.0
"""Seconds between beats; the page takes a line that is silent for three of them for broken."""

_LOOK_S: Final = 0.1
"""Seconds between two looks whether the page is to be closed."""

_GONE_S: Final = 5.0
"""Seconds that closing gives the screens' threads to end."""


class WallPage:
    """The page on the wall; `start` serves it, `show` changes it, from any thread.

    `host` is this machine alone unless told otherwise; with port 0 the system chooses a free one.
    A page that was closed is not started again.
    """

    def __init__(self, port: int = 0, host: str = "127.0.0.1") -> None:
        self._address = (host, port)
        self._news = _News()
        self._server: _Server | None = None
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to serve; AssistantError where the port is taken or the host is not this machine's."""
        try:
            self._server = _Server(self._address, self._news)
        except (OSError, OverflowError) as error:
            host, port = self._address
            raise AssistantError(
                f"the page cannot be served ({error})", where=f"{host}:{port}", do="choose another port"
            ) from error
        self._thread = threading.Thread(
            target=self._server.serve_forever, args=(_LOOK_S,), name="wall page", daemon=True
        )
        self._thread.start()

    @property
    def url(self) -> str:
        """Where a browser finds the page; AssistantError before `start`."""
        if self._server is None:
            raise AssistantError("the page is not being served", do="start it first")
        return f"http://{self._address[0]}:{self._server.server_port}/"

    def show(self, face: Face) -> None:
        """Put a face on every screen; it does not wait for them."""
        self._news.put(face)

    def close(self) -> None:
        """Let go of every screen and of the port; once is enough, more does no harm."""
        if self._server is None or self._thread is None:
            return
        self._news.end()
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()
        self._server.hang_up()
        self._server = self._thread = None

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(self, *_error: object) -> None:
        self.close()


class _News:
    """The newest face, and the waiting for a newer one."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._face = Face()
        self._shown_at = time.monotonic()
        self._number = 1
        self._ended = False

    def put(self, face: Face) -> None:
        with self._changed:
            self._face, self._shown_at = face, time.monotonic()
            self._number += 1
            self._changed.notify_all()

    def end(self) -> None:
        with self._changed:
            self._ended = True
            self._changed.notify_all()

    def follow(self) -> Iterator[Face | None]:
        """Give the newest face and each one after it that is still the newest then; None for a beat."""
        seen = 0
        while True:
            with self._changed:
                self._changed.wait_for(partial(self._is_more_than, seen), BEAT_S)
                if self._ended:
                    return
                face = self._as_of_now() if self._number != seen else None
                seen = self._number
            yield face

    def _is_more_than(self, seen: int) -> bool:
        return self._ended or self._number != seen

    def _as_of_now(self) -> Face:
        """Give the newest face with the time that is left now, for a screen that comes late."""
        if self._face.timer_left is None:
            return self._face
        left = max(0.0, self._face.timer_left - (time.monotonic() - self._shown_at))
        return self._face.model_copy(update={"timer_left": left})


class _Handler(BaseHTTPRequestHandler):
    """Answers one request of a screen: the page, or the events that it follows."""

    server: "_Server"

    def do_GET(self) -> None:
        """Answer by the path."""
        # A screen that goes away in the middle of an answer is no error.
        with suppress(ConnectionError, TimeoutError):
            if self.path == "/":
                self._send("text/html; charset=utf-8", self.server.page)
            elif self.path == "/faces":
                self._send("text/event-stream", b"retry: 1000\n\n")
                self._follow()
            else:
                self.send_error(HTTPStatus.NOT_FOUND)

    def _send(self, kind: str, body: bytes) -> None:
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", kind)
        self.send_header("Cache-Control", "no-store")
        self.send_header("Content-Security-Policy", _ALLOWED)
        self.end_headers()
        self.wfile.write(body)

    def _follow(self) -> None:
        for face in self.server.news.follow():
            event = f"event: face\ndata: {face.model_dump_json()}" if face else "event: beat\ndata:"
            self.wfile.write(f"{event}\n\n".encode())

    def log_message(self, *_args: Any) -> None:
        """Say nothing: the mechanic's terminal is not a server's log."""


_ALLOWED: Final = (
    "default-src 'none'; connect-src 'self'; img-src data:;"
    " script-src 'unsafe-inline'; style-src 'unsafe-inline'"
)
"""The page may fetch nothing but its own events."""


class _Server(ThreadingHTTPServer):
    """The server; it knows its lines, so that it can hang up on all of them."""

    def __init__(self, address: tuple[str, int], news: _News) -> None:
        self.news = news
        self.page = files("assistant.page").joinpath("wall.html").read_bytes()
        self._lines: set[socket] = set()
        self._fewer = threading.Condition()
        super().__init__(address, _Handler)

    def process_request(self, request: Any, client_address: Any) -> None:
        """Answer in a thread of its own, and remember the line."""
        with self._fewer:
            self._lines.add(request)
        super().process_request(request, client_address)

    def shutdown_request(self, request: Any) -> None:
        """Forget a line that is done with."""
        super().shutdown_request(request)
        with self._fewer:
            self._lines.discard(request)
            self._fewer.notify_all()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Leave it at that where a line broke: that is the screen's business, and it comes back."""
        if not isinstance(sys.exception(), OSError):
            super().handle_error(request, client_address)

    def hang_up(self) -> None:
        """End the lines that are still open (a browser keeps some in reserve), and wait for their threads."""
        with self._fewer:
            for line in self._lines:
                with suppress(OSError):
                    line.shutdown(SHUT_RDWR)
            self._fewer.wait_for(lambda: not self._lines, _GONE_S)
