"""The conductor: one utterance from what was heard to what is on disk, and only then to what is said.

    heard → intents → dialogue.handle → events and reply → journal (on disk) → words → voice

It decides nothing about the work itself; that is the dialogue's. It knows what the dialogue must not:
the clock, the folder of the job, whether something is sounding, and the note being recorded.
"""

from collections.abc import Sequence
from dataclasses import replace

from assistant.dialogue.intents import Intent
from assistant.dialogue.manager import Outcome, handle
from assistant.dialogue.modes import modes_of
from assistant.dialogue.phrasing import Phrasebook
from assistant.errors import AssistantError
from assistant.hearing.grammar import Grammar, combined, load_grammar
from assistant.hearing.pronouncing import grammar_for
from assistant.hearing.recogniser import Recognised, typed
from assistant.job.events import Event, Heard, JobOpened, NoteTranscribed, PositionWorked, Refused, Replied
from assistant.job.events.notes import TYPED
from assistant.job.exchange import started_hash
from assistant.job.fold import fold, replay
from assistant.job.folder import JobFolder
from assistant.job.revision import newer_by
from assistant.job.state import JobState
from assistant.notes.recorder import read_note, recover
from assistant.procedure.route import Route
from assistant.sound import Samples
from assistant.speaking.mouth import Mouth
from assistant.work.calling import Calling
from assistant.work.camera import Camera
from assistant.work.clock import Clock, ahead_min
from assistant.work.keeping import RefusedSound
from assistant.work.note_taking import NoteTaking
from assistant.work.shop import count_uses
from assistant.work.watch import Watcher

AFTER_WORDS_S = 0.5
"""How much silence has passed before words are known to have ended; a note ends before "end note"."""

STOP_WORDS = frozenset({"stop", "quiet"})
"""What ends the voice while it speaks."""


class Conductor:
    """Runs one open job."""

    def __init__(
        self,
        route: Route,
        folder: JobFolder,
        *,
        mouth: Mouth,
        book: Phrasebook,
        clock: Clock,
        watchers: Sequence[Watcher] = (),
        calling: Calling | None = None,
        keeper: RefusedSound | None = None,
        who: str = "",
        machine: str = "",
        camera: Camera | None = None,
    ) -> None:
        self._route = route
        self._folder = folder
        self._mouth = mouth
        self._book = book
        self._clock = clock
        self._watchers = tuple(watchers)
        self._calling = calling or Calling()
        self._keeper = keeper
        self._notes = NoteTaking(folder.sound)
        self._who = who
        self._machine = machine
        self._camera = camera
        self._grammars: dict[str, Grammar] = {}
        self.saying = ""
        self.state: JobState = replay(folder.journal.entries())

    def grammar(self) -> Grammar:
        """Give the grammar that is active now, with the name that it is called by; each is loaded once."""
        return self._calling.grammar(self._plain_grammar())

    def grammar_pressed(self) -> Grammar:
        """Give the grammar that is active now for who holds the key to talk: the name is not needed."""
        return self._calling.grammar(self._plain_grammar(), may_need=False)

    def stop_words(self) -> Grammar:
        """Give what ends the voice while it speaks; the name may come before it, and need not."""
        return self._calling.grammar(load_grammar("speaking"), may_need=False)

    def _plain_grammar(self) -> Grammar:
        modes = modes_of(self._route, self.state)
        name = "-".join(modes)
        if name not in self._grammars:
            self._grammars[name] = combined([grammar_for(self._route, mode) for mode in modes], name)
        return self._grammars[name]

    def begin(self) -> None:
        """Open a new job, or take an open one up where it stood."""
        if self.state.began is None:
            procedure = self._route.procedure
            opened = JobOpened(
                job=self._folder.name,
                procedure=procedure.procedure,
                revision=procedure.revision,
                demonstration=procedure.demonstration,
                route=self._route.name,
                machine=self._machine,
                who=self._who,
                started_hash=started_hash(self._folder),
                utc_offset_min=ahead_min(self._clock.now()),
            )
            self._turn((Intent(name="opened"),), opened)
        else:
            self._turn((Intent(name="returned", slots=self._since()),))

    def _since(self) -> dict[str, str]:
        """Say who takes the job up, and how long a note that was cut off is."""
        recover(self._folder.sound)
        open_note = self.state.open_note
        file = self._folder.sound / (open_note.file if open_note else "")
        seconds = read_note(file).seconds if file.is_file() else 0.0
        return {"who": self._who, "seconds": f"{seconds:.3f}"}

    def hearing(self, words: Sequence[str]) -> None:
        """Let those who look on see what is heard so far; nothing is done on it."""
        for watcher in self._watchers:
            watcher.hearing(" ".join(words))

    def take(self, heard: Recognised) -> None:
        """Work out what was heard: act on it, ask again, or let it be as talk."""
        for watcher in self._watchers:
            watcher.heard(heard)
        if heard.accepted and self._mouth.speaking:
            self._hush(heard)
            return
        asked = heard.asked and not self.keeps_still
        of_name = self._calling.took(replace(heard, asked=asked), self._clock.now())
        if heard.accepted:
            end_words_s = heard.end_s - heard.start_s + AFTER_WORDS_S
            self._turn((*heard.intents, *of_name), _heard(heard), end_words_s=end_words_s)
        elif asked:
            self._turn((*heard.intents, *of_name), self._refused(heard, asked=True))
        elif self.state.open_note is None:  # what is said into a note is in its sound
            self._keep((self._refused(heard, asked=False),))

    def written(self, words: str) -> None:
        """Take a line that was typed into the note that is being made: it is its text, and kept at once."""
        note = self.state.open_note
        assert note is not None, "no note is open"  # noqa: S101
        text = " ".join(filter(None, (note.text, words)))
        self._keep((NoteTranscribed(note=note.number, words=text, engine=TYPED),))

    def pressed(self, words: Sequence[str]) -> Recognised:
        """Take a command from a key, and give it: it needs no name, and it ends what is being said."""
        self.hush()
        heard = typed(words, self._plain_grammar(), engine="key")
        for watcher in self._watchers:
            watcher.heard(heard)
        self._turn(heard.intents, _heard(heard) if heard.accepted else self._refused(heard, asked=True))
        return heard

    def tell(self, intent: Intent) -> bool:
        """Say something that nobody asked for; False, and nothing is said, into the voice or a note."""
        if self._mouth.speaking or self.state.closed or self.state.open_note is not None:
            return False
        self._turn((intent,))
        return True

    def look_at_name(self) -> None:
        """Let time pass for the name that it is called by."""
        for intent in self._calling.look(self._clock.now()):
            self._turn((intent,))

    @property
    def speaking(self) -> bool:
        """Whether something is being said."""
        return self._mouth.speaking

    def hush(self) -> None:
        """Fall silent at once."""
        if self._mouth.speaking:
            self._mouth.hush()

    def _refused(self, heard: Recognised, *, asked: bool) -> Refused:
        file = self._keeper.keep(heard) if self._keeper else ""
        return Refused(words=" ".join(heard.heard), asked_again=asked, file=file)

    def tick(self) -> None:
        """Let the dialogue see that time has passed; nothing happens unless a timer is over.

        A note is not spoken into: what is over is told when the note is.
        """
        if self.state.open_note is not None:
            return
        if any(timer.running and timer.ends <= self._clock.now() for timer in self.state.timers.values()):
            self._turn((Intent(name="tick"),))

    def sound(self, block: Samples) -> None:
        """Take a block of what the microphone hears, for the note that is being recorded or will be."""
        if self._notes.take(block):
            seconds = self._notes.seconds
            self._notes.end_silent()
            self._turn((Intent(name="note-over", slots={"seconds": f"{seconds:.3f}"}),))

    def close(self) -> None:
        """End the note that is being recorded, if one is; the journal is closed by the folder."""
        self._notes.end(0.0)

    @property
    def keeps_still(self) -> bool:
        """While a note is recorded, or work is paused, what is not understood is not for the assistant."""
        return self.state.open_note is not None or self.state.paused

    def _hush(self, heard: Recognised) -> None:
        """Stop the voice: while it speaks only the stop words count, and they end it and nothing else."""
        if any(intent.name in STOP_WORDS for intent in heard.intents):
            self._mouth.hush()
            self._keep((_heard(heard),))

    def _turn(
        self,
        intents: Sequence[Intent],
        first: Heard | Refused | JobOpened | None = None,
        *,
        end_words_s: float = 0.0,
    ) -> None:
        meant = tuple(map(self._seen, intents))
        route = self._route
        outcome = handle(route, self.state, meant, self._clock.now(), heard=first)
        words = self._book.sentences(outcome.reply)
        self.saying = words or self.saying  # a tone has no words, and the last ones may still echo
        said = (Replied(words=words, passing=outcome.reply.passing),) if words else ()
        self._keep((*outcome.events, *said))
        self._act(outcome, end_words_s)
        for watcher in self._watchers:
            watcher.said(words, outcome.reply)
        self._speak(outcome)
        if self._route is not route:
            self._turn((Intent(name="revised"),))

    def _seen(self, intent: Intent) -> Intent:
        """Take the picture that an intent asks for, where there is a camera, and give what became of it."""
        if intent.name != "picture" or self._camera is None:
            return intent
        try:
            file = self._camera.take(self._folder.pictures, len(self.state.pictures) + 1)
        except AssistantError:
            return Intent(name="picture-failed", slots={"why": "failed"})
        return Intent(name="picture-taken", slots={"file": file})

    def _keep(self, events: Sequence[Event]) -> None:
        """Put events on disk, all of them or none, and only then believe them."""
        entries = (
            self._folder.journal.append(self.state.turn + 1, self._clock.now(), events) if events else ()
        )
        for entry in entries:
            self.state = fold(self.state, entry)
            if (newer := newer_by(self._route, entry.event)) is not self._route:
                self._route = newer
                self._grammars.clear()
            if isinstance(entry.event, PositionWorked) and entry.event.wrench:
                count_uses(entry.event.wrench, today=entry.at.date())
        for watcher in self._watchers:
            watcher.recorded(entries)

    def _act(self, outcome: Outcome, end_words_s: float) -> None:
        """Do what the reply asks of the doors."""
        for effect in outcome.reply.effects:
            if effect == "begin-note":
                self._notes.begin(len(self.state.notes))
            elif effect == "end-note":
                self._notes.end(end_words_s)
            elif effect == "hush":
                self._mouth.hush()

    def _speak(self, outcome: Outcome) -> None:
        reply = outcome.reply
        self._mouth.say(
            self._book.pieces(reply),
            tone=reply.tone,
            loudness=self.state.loudness,
            pace=self.state.pace,
            sound=self._folder.sound,
        )


def _heard(heard: Recognised) -> Heard:
    return Heard(
        words=" ".join(heard.heard),
        intents=tuple(intent.name for intent in heard.intents),
        engine=heard.engine,
        confidence=heard.confidence,
    )
