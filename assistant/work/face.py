"""What the page on the wall shows, made of what goes on in a job."""

from collections.abc import Sequence

from assistant.dialogue.reply import Reply
from assistant.hearing.recogniser import Recognised
from assistant.job.closeout import open_items
from assistant.job.events import Entry
from assistant.job.fold import fold
from assistant.job.revision import newer_by
from assistant.job.state import JobState
from assistant.job.way import open_steps
from assistant.page.face import Face
from assistant.page.wall import WallPage
from assistant.procedure.route import Route
from assistant.work.clock import Clock


class PageWatcher:
    """Keeps the page on the wall up to date."""

    def __init__(self, page: WallPage, route: Route, clock: Clock) -> None:
        self._page = page
        self._route = route
        self._clock = clock
        self._state = JobState()
        self._heard = ""
        self._said = ""

    def hearing(self, words: str) -> None:
        """Show what is heard so far beside what stands there."""
        self._page.show(self._face(self._said, hearing=words))

    def heard(self, heard: Recognised) -> None:
        """Remember what was heard, to be shown with the answer."""
        self._heard = " ".join(heard.heard) if heard.accepted else ""
        if not heard.asked and not heard.accepted:  # nothing will be said to it
            self._page.show(self._face(self._said))

    def recorded(self, entries: Sequence[Entry]) -> None:
        """Follow the state."""
        for entry in entries:
            self._state = fold(self._state, entry)
            self._route = newer_by(self._route, entry.event)

    def said(self, words: str, _reply: Reply) -> None:
        """Show the answer, and where things stand."""
        self._said = words
        self._page.show(self._face(words))

    def _face(self, words: str, *, hearing: str = "") -> Face:
        state, route = self._state, self._route
        step = route.step(state.at or route.steps[0].step)
        running = [timer for timer in state.timers.values() if timer.running]
        return Face(
            step=step.say,
            number=route.place(step.step) + 1,
            steps_left=len(open_steps(route, state)),
            said=words,
            heard=self._heard,
            hearing=hearing,
            act=_next_act(route, state),
            left=len(open_items(route, state)),
            timer_left=min((timer.left_s(self._clock.now()) for timer in running), default=None),
            question=words if state.question else "",
        )


def _next_act(route: Route, state: JobState) -> str:
    """Give the next position and its value, where something is being tightened."""
    step = route.step(state.at or route.steps[0].step)
    if step.tighten is None:
        return ""
    done = state.acts.get(step.tighten.group, frozenset())
    left = [act for number, act in route.acts(step) if number not in done]
    return f"{left[0].position}: {left[0].value or left[0].kind}" if left else ""
