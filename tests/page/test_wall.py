import json
import re
import socket
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from http import HTTPStatus
from http.client import HTTPConnection, HTTPResponse

import pytest

from assistant.errors import AssistantError
from assistant.page import wall
from assistant.page.face import Face
from assistant.page.wall import WallPage

FACE = Face(step="Bring the head bolts up.", number=13, steps_left=8, act="7: 60 N.m", said="Seven.", left=4)


@pytest.fixture
def page() -> Iterator[WallPage]:
    """Give a page that is being served, and close it."""
    with WallPage() as served:
        yield served


def _port(page: WallPage) -> int:
    return int(page.url.rsplit(":", 1)[1].strip("/"))


@contextmanager
def _asked(page: WallPage, path: str) -> Iterator[HTTPResponse]:
    with closing(HTTPConnection("127.0.0.1", _port(page), timeout=30)) as line:
        line.request("GET", path)
        with line.getresponse() as answer:
            yield answer


@contextmanager
def _following(page: WallPage) -> Iterator[Iterator[tuple[str, str]]]:
    """Follow the page's events, as (kind, data)."""
    with _asked(page, "/faces") as answer:
        assert answer.headers["Content-Type"] == "text/event-stream"
        yield _events(answer)


def _events(answer: HTTPResponse) -> Iterator[tuple[str, str]]:
    kind = ""
    for line in answer:
        name, _, value = line.decode().rstrip("\n").partition(": ")
        if name == "event":
            kind = value
        elif name.startswith("data"):
            yield kind, value


def _face(events: Iterator[tuple[str, str]]) -> Face:
    return Face.model_validate_json(next(data for kind, data in events if kind == "face"))


def test_page_is_served(page: WallPage) -> None:
    """The page comes whole from this machine, and may fetch nothing but its own events."""
    with _asked(page, "/") as answer:
        html = answer.read().decode()
        assert "connect-src 'self'" in answer.headers["Content-Security-Policy"]
    assert answer.status == HTTPStatus.OK
    assert "<title>" in html
    assert not re.search(r"https?://|@import|@font-face|url\(|innerHTML", html)


def test_bound_to_this_machine(page: WallPage) -> None:
    """Unless told otherwise the page is for this machine alone."""
    assert page.url.startswith("http://127.0.0.1:")


def test_a_screen_gets_the_newest_face_at_once(page: WallPage) -> None:
    """A screen that comes late gets what is being shown."""
    page.show(Face(said="older"))
    page.show(FACE)
    with _following(page) as events:
        assert _face(events) == FACE


def test_a_screen_follows(page: WallPage) -> None:
    """A screen gets each change as it comes."""
    with _following(page) as events:
        assert _face(events) == Face()
        page.show(FACE)
        assert _face(events) == FACE
        page.show(Face(question="Face to face?"))
        assert _face(events).question == "Face to face?"


def test_two_screens(page: WallPage) -> None:
    """Any number of screens follow."""
    with _following(page) as first, _following(page) as second:
        page.show(FACE)
        for screen in (first, second):
            while _face(screen) != FACE:
                pass


def test_a_face_before_the_start_is_shown() -> None:
    """What is shown before the page is served is there when it is."""
    page = WallPage()
    page.show(FACE)
    with page, _following(page) as events:
        assert _face(events) == FACE


def test_a_late_screen_gets_the_time_that_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen that comes after a while gets the seconds that are left then, never below nothing."""
    now, news = [100.0], wall._News()
    monkeypatch.setattr("assistant.page.wall.time.monotonic", lambda: now[0])
    news.put(Face(timer_left=60))
    now[0] = 115.0
    assert next(news.follow()) == Face(timer_left=45)
    now[0] = 500.0
    assert next(news.follow()) == Face(timer_left=0)


def test_a_silent_line_beats(page: WallPage, monkeypatch: pytest.MonkeyPatch) -> None:
    """With nothing new a beat tells the screen that the line stands."""
    monkeypatch.setattr(wall, "BEAT_S", 0.01)
    with _following(page) as events:
        assert next(events)[0] == "face"
        assert next(events) == ("beat", "")


def test_data_of_a_face_is_one_line(page: WallPage) -> None:
    """Words with line breaks or tags travel as data and break no event."""
    hostile = Face(said="one\n\nevent: beat\ndata: <script>")
    page.show(hostile)
    with _following(page) as events:
        kind, data = next(events)
    assert kind == "face"
    assert json.loads(data)["said"] == hostile.said


def test_other_paths(page: WallPage) -> None:
    """Nothing else is served."""
    with _asked(page, "/../etc/passwd") as answer:
        assert answer.status == HTTPStatus.NOT_FOUND


def test_close_lets_go_of_every_line() -> None:
    """Closing ends lines that are followed, kept in reserve or gone already, and their threads."""
    page = WallPage()
    page.start()
    with _following(page):
        pass
    with socket.create_connection(("127.0.0.1", _port(page))) as reserve, _following(page) as events:
        assert next(events)
        page.close()
        assert list(events) == []
        assert reserve.recv(1) == b""
    ours = [thread for thread in threading.enumerate() if "request" in thread.name or "wall" in thread.name]
    for thread in ours:
        thread.join(10)
    assert not any(thread.is_alive() for thread in ours)
    page.close()


def test_port_is_free_after_closing() -> None:
    """The same port can be served again at once, so that the screens come back."""
    with WallPage() as page:
        port = _port(page)
    with WallPage(port=port) as again, _following(again) as events:
        assert _face(events) == Face()


def test_url_before_the_start() -> None:
    """A page that is not being served has no address."""
    with pytest.raises(AssistantError, match="start it first"):
        _ = WallPage().url


@pytest.mark.parametrize(("host", "port"), [("127.0.0.1", 70000), ("192.0.2.1", 0)])
def test_an_address_that_cannot_be(host: str, port: int) -> None:
    """A port or host that cannot be served is told of in one line, and nothing is left open."""
    with pytest.raises(AssistantError, match="cannot be served"):
        WallPage(port=port, host=host).start()


def test_a_port_that_is_taken(page: WallPage) -> None:
    """A port that another program has is told of, not shared."""
    with pytest.raises(AssistantError, match="choose another port"):
        WallPage(port=_port(page)).start()
