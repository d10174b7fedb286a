"""Answering by playing on a real MIDI port, through the whole program."""

import socket
import sys
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import ExitStack, asynccontextmanager, contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Thread

import mido
import pytest
from textual.pilot import Pilot

from engine.listening.notes import Grid
from engine.theory import Key, Note
from quiz.app import LastbarApp
from quiz.ask import LineRound, Said
from quiz.check import findings
from quiz.display.cautions import HANDS
from quiz.errors import QuestionError
from quiz.grading.replies import right_reply
from quiz.learning.material import Only, items_within
from quiz.past import open_past, past_sentences
from quiz.playing.live_take import LiveTake, can_be_played
from quiz.playing.midi_input import MidiInput
from quiz.questions.kinds import Kind
from quiz.questions.value import Question, Wanted
from quiz.screens.home import HomeScreen
from quiz.screens.jam import JamScreen
from quiz.screens.past import PastScreen
from quiz.screens.round import RoundScreen
from quiz.screens.scores import ScoresScreen
from quiz.session import Phase
from quiz.settings.values import Settings
from quiz.widgets.answer_pad import AnswerLine
from quiz.widgets.play_pad import PlayPad
from quiz.workbench import Workbench
from tests.quiz.asking import CATALOGUE, made
from tests.quiz.benches import opened, staged
from tests.quiz.far_instrument import Instrument, free_port
from tests.quiz.histories import an_answer
from tests.quiz.test_app import start, visible, words

IN_F = (Key(Note("F")),)
QUICK = Settings(tempo_low=160, tempo_high=160, feels=("straight",), texture="bass")


PATIENCE = 20.0
"""Seconds after which something that should come is taken to be lost."""


def only(kind: Kind) -> Only:
    return Only(kinds=(kind,), devices=("walk-up-one-four",), keys=IN_F)


@contextmanager
def plugged() -> Iterator[tuple[Instrument, str]]:
    """An instrument that waits to be connected, and the name of its port."""
    port = free_port()
    instrument = Instrument(port)
    try:
        yield instrument, f"network:127.0.0.1:{port}"
    finally:
        instrument.unplug()


def played_on(name: str) -> Settings:
    return replace(QUICK, play_by="midi", midi_input=name)


@dataclass
class Stage_:
    """A question on the screen, and the instrument beside it."""

    bench: Workbench
    app: LastbarApp
    pilot: Pilot[None]
    screen: RoundScreen
    instrument: Instrument

    @property
    def question(self) -> Question:
        return self.screen._state.current.question

    @property
    def pad(self) -> PlayPad:
        return self.screen.query_one(PlayPad)

    @property
    def take(self) -> LiveTake:
        assert self.pad._take is not None
        return self.pad._take

    async def until(self, what: Callable[[], bool], seconds: float = PATIENCE) -> None:
        end = time.monotonic() + seconds
        while not what():
            assert time.monotonic() < end, f"{what} did not come: {visible(self.app)}"
            await self.pilot.pause(0.02)

    async def begun(self, key: str = "space") -> None:
        """Start a take."""
        await self.pilot.press(key)
        await self.until(lambda: self.pad.taking)

    async def play(self, text: str) -> None:
        """Start a take and play it, as its text has it, in time with what is counted."""
        hands = Thread(target=self._strike, args=(text,))
        hands.start()  # of its own time, however busy the screen is
        await self.pilot.press("space")
        await self.until(lambda: not hands.is_alive())

    def _strike(self, text: str) -> None:
        until = time.monotonic() + PATIENCE
        while (start := self.take._state.start) is None or len(self.take._starts) < 3:
            assert time.monotonic() < until
            time.sleep(0.002)
        grid = Grid(start, self.question.tempo)
        for word in text.split():
            midi, _, beat = word.partition("@")
            time.sleep(max(0.0, grid.seconds(float(beat)) - time.monotonic()))
            self.strike(int(midi))

    def strike(self, note: int) -> None:
        """Strike a key and let it up again."""
        self.instrument.send(mido.Message("note_on", note=note, velocity=90))
        time.sleep(0.08)
        self.instrument.send(mido.Message("note_off", note=note))

    async def answered(self) -> None:
        await self.until(lambda: self.screen._state.phase is Phase.FEEDBACK)


@asynccontextmanager
async def asked(
    folder: Path,
    kind: Kind = Kind.PLAY,
    size: tuple[int, int] = (80, 24),
    silence: float = 10.0,
    ascii_only: bool = False,
) -> AsyncIterator[Stage_]:
    with plugged() as (instrument, name):
        settings = replace(played_on(name), ascii=ascii_only)
        async with staged(folder, only(kind), settings, size=size) as (bench, app, pilot):
            bench.take_silence = silence
            bench.fresh_coach()
            instrument.plug_in()
            screen = await start(pilot, bench)
            yield Stage_(bench, app, pilot, screen, instrument)


def _given(bench: Workbench) -> list[str]:
    """What was played, for who looks for the reason."""
    return [f"{answer.given} at {answer.tempo}" for answer in bench.store.answers()]


# --- a figure that is played back ---------------------------------------------------------------


async def test_a_figure_played_in_time_is_right_and_is_opened_and_heard_again(
    tmp_path: Path,
) -> None:
    async with asked(tmp_path) as stage:
        assert "Play it back" in words(stage.app, "#count")
        assert "In F, play what the bass plays" in words(stage.app, "#sentence")
        assert HANDS.split(",")[0] in visible(stage.app)
        await stage.play(right_reply(stage.question, CATALOGUE))
        assert "heard: 1 2 b3" in "\n".join(stage.pad.lines())
        await stage.answered()
        assert "Right: " in words(stage.app, "#verdict"), _given(stage.bench)
        assert "Right notes; in time." in words(stage.app, "#remarks")
        await stage.pilot.press("ctrl+y")
        await stage.until(lambda: stage.bench.player.position() is not None)
        (answer,) = stage.bench.store.answers()
        assert (1.0, "right", 0.02) == (answer.score, answer.verdict, answer.guess_rate)
        past = open_past(answer, CATALOGUE, stage.bench.names)
        assert "" == past.problem
        told = list(past_sentences(past, CATALOGUE, stage.bench.names))
        assert "You answered: 1 2 b3 3" in told
        assert "Right notes; in time." in told
        stage.bench.player.stop()
        stage.app.push_screen(PastScreen(stage.bench, past))
        await stage.pilot.pause()
        await stage.pilot.press("ctrl+y")
        await stage.until(lambda: stage.bench.player.position() is not None)


async def test_one_note_wrong_and_one_late_are_told_apart(tmp_path: Path) -> None:
    async with asked(tmp_path) as stage:
        right = right_reply(stage.question, CATALOGUE).split()
        await stage.play(" ".join([right[0], "42@1", right[2], right[3].split("@")[0] + "@3.4"]))
        await stage.answered()
        remarks = words(stage.app, "#remarks")
        assert "Beat 2 wants 2; beat 4 came 1" in remarks
        assert "ms late." in remarks
        assert "you played b2 (Gb) where the line has 2 (G)" in remarks


async def test_a_take_in_which_nothing_is_played_is_no_answer(tmp_path: Path) -> None:
    async with asked(tmp_path, silence=0.8) as stage:
        await stage.begun()
        await stage.until(lambda: not stage.pad.taking)
        assert "Nothing new was played for 0.8 seconds" in visible(stage.app)
        assert Phase.ASKING is stage.screen._state.phase
        assert 0 == stage.bench.store.count()
        await stage.begun()  # and another one may be started
        await stage.pilot.press("escape")
        assert not stage.pad.taking
        assert stage.app.screen is stage.screen


async def test_an_instrument_that_is_unplugged_in_a_take_can_be_played_on_afterwards(
    tmp_path: Path,
) -> None:
    async with asked(tmp_path) as stage:
        port = int(stage.bench.settings.midi_input.rpartition(":")[2])
        await stage.begun()
        stage.instrument.unplug()
        await stage.until(lambda: not stage.pad.taking)
        assert "plug it in again" in visible(stage.app)
        assert 0 == stage.bench.store.count()
        again = Instrument(port)
        try:
            again.plug_in()
            stage.instrument = again
            await stage.until(lambda: stage.bench.try_instrument() is None)
            await stage.play(right_reply(stage.question, CATALOGUE))
            await stage.answered()
            assert "Right: " in words(stage.app, "#verdict"), _given(stage.bench)
        finally:
            again.unplug()


async def test_sound_that_is_asked_for_ends_a_take_that_does_not_count(tmp_path: Path) -> None:
    async with asked(tmp_path) as stage:
        await stage.begun()
        await stage.pilot.press("ctrl+r")
        assert not stage.pad.taking
        assert Phase.ASKING is stage.screen._state.phase


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_the_pad_finds_room_and_needs_neither_colour_nor_signs(
    tmp_path: Path, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with asked(tmp_path, size=size, ascii_only=True) as stage:
        shown = " ".join(visible(stage.app).split())
        assert "Space starts it: a bar is counted in, then play." in shown
        assert HANDS in shown
        assert "space Start" in shown
        assert visible(stage.app).isascii()
        await stage.begun()
        await stage.until(lambda: stage.pad.lines()[0].startswith(("count-in: 1", "bar", "now")))
        await stage.until(lambda: "Done" in visible(stage.app))


# --- typed lines that are played ----------------------------------------------------------------


@pytest.mark.parametrize(("kind", "silence"), [(Kind.WRITE, 60.0), (Kind.SPELL, 3.0)])
async def test_a_typed_line_may_be_played_freely_until_enter_or_silence(
    tmp_path: Path, kind: Kind, silence: float
) -> None:
    async with asked(tmp_path, kind, silence=silence) as stage:
        while not can_be_played(stage.question):
            await stage.pilot.press("ctrl+g", "enter")
        assert "Play it" in visible(stage.app)
        before = stage.bench.store.count()
        await stage.begun("f4")
        line = Thread(target=lambda: list(map(stage.strike, (41, 43, 44, 45))))
        line.start()
        await stage.until(lambda: stage.pad.lines() == [] or "1 2 b3 3" in stage.pad.lines()[0])
        if kind is Kind.WRITE:
            await stage.pilot.press("enter")
        await stage.answered()
        assert "Right: " in words(stage.app, "#verdict"), _given(stage.bench)
        newest = list(stage.bench.store.answers())[before]
        assert {Kind.WRITE: "1 2 b3 3", Kind.SPELL: "F G Ab A"}[kind] == newest.given
        if kind is Kind.SPELL:
            assert "Nothing new was played for 3 seconds" in words(stage.app, "#notice")


async def test_who_would_rather_type_goes_back_to_typing(tmp_path: Path) -> None:
    async with asked(tmp_path, Kind.WRITE) as stage:
        await stage.begun("f4")
        await stage.until(lambda: "f4 Type it" in visible(stage.app))
        await stage.pilot.press("f4")
        assert not stage.pad.taking
        await stage.pilot.press(*"1 2 b3 3".replace(" ", "_"))
        assert "1_2_b3_3" == stage.screen.query_one(AnswerLine).text


@pytest.mark.parametrize(
    ("question", "may"),
    [
        (made("climb", Kind.PLAY), True),
        (made("climb", Kind.WRITE), True),
        (replace(made("climb", Kind.WRITE), key_given=False, wanted=Wanted.DEGREES), False),
        (replace(made("climb", Kind.WRITE), spelling_counts=True, wanted=Wanted.NOTES), False),
        (replace(made("climb", Kind.SPELL), wanted=Wanted.NOTES), True),
        (replace(made("climb", Kind.SPELL), wanted=Wanted.DEGREES), False),
        (made("climb", Kind.NAME), False),
        (made("climb", Kind.FIND), False),
    ],
)
def test_playing_is_offered_where_it_gives_nothing_away(question: Question, may: bool) -> None:
    assert may is can_be_played(question)


# --- line mode ----------------------------------------------------------------------------------


def test_in_line_mode_play_starts_the_take(tmp_path: Path) -> None:
    with (
        plugged() as (instrument, name),
        opened(tmp_path, only(Kind.PLAY), played_on(name)) as bench,
    ):
        assert bench.try_instrument() is None
        instrument.plug_in()
        bench.coach.look_ahead()
        assert bench.coach._ahead is not None
        question = bench.coach._ahead[1].question
        out: list[Said] = []

        def say(said: Said) -> None:
            out.append(said)
            if said.data["event"] == "take":
                Thread(target=_play_along, args=(bench, instrument, question)).start()

        LineRound(bench, say, None).run(iter(["play"]), 1)
    events = {str(said.data["event"]): said for said in out}
    assert HANDS in events["question"].text
    assert ["1", "2", "b3", "3"] == events["heard"].data["degrees"]
    assert "right" == events["answer"].data["verdict"]
    assert events["heard"].data["given"] == events["answer"].data["given"]


def _play_along(bench: Workbench, instrument: Instrument, question: Question) -> None:
    """Play the figure to the count-in that is heard."""
    while not (position := bench.player.position()):
        time.sleep(0.002)
    first = time.monotonic() - position + 4 * 60 / question.tempo
    for word in right_reply(question, CATALOGUE).split():
        midi, _, beat = word.partition("@")
        at = first + float(beat) * 60 / question.tempo
        time.sleep(max(0.0, at - time.monotonic()))
        instrument.send(mido.Message("note_on", note=int(midi), velocity=90))


# --- nothing to play on -------------------------------------------------------------------------


def asked_kinds(bench: Workbench) -> set[str]:
    return {item.kind for item in bench.coach.items}


@pytest.mark.parametrize(
    "settings",
    [
        QUICK,
        replace(QUICK, play_by="midi", midi_input="no such port"),
        replace(QUICK, play_by="sound", input_device="no such input"),
    ],
)
async def test_without_an_instrument_nothing_asks_to_be_played(
    tmp_path: Path, settings: Settings
) -> None:
    within = Only(devices=("walk-up-one-four",))
    async with staged(tmp_path, within, settings) as (bench, app, pilot):
        told: list[str] = []
        bench.tell = told.extend
        bench.fresh_coach()
        assert "play" not in asked_kinds(bench)
        assert (settings.play_by == "nothing") == (not told)
        assert all("Nothing asks to be played" in line for line in told)
        bench.fresh_coach(replace(within, kinds=(Kind.WRITE,)))
        await start(pilot, bench)
        assert "Play it" not in visible(app)
    row = next(row for row in findings(bench.locations) if row.name == "playing")
    assert not row.works
    assert not row.needed
    expected = {"nothing": "choose midi or sound", "midi": "MIDI", "sound": "no sound input"}
    assert expected[settings.play_by] in row.says


def test_with_an_instrument_a_line_that_moves_is_asked_to_be_played(tmp_path: Path) -> None:
    with plugged() as (_instrument, name):
        within = Only(devices=("walk-up-one-four",))
        with opened(tmp_path, within, played_on(name)) as bench:
            bench.fresh_coach()
            assert "play" in asked_kinds(bench)


def test_check_says_what_midi_instruments_there_are(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        row = next(row for row in findings(bench.locations) if row.name == "MIDI input")
    assert row.works or "plug an instrument in" in row.says or "no MIDI inputs" in row.says


def test_asked_for_alone_it_says_what_is_missing() -> None:
    with pytest.raises(QuestionError, match="choose one in the settings"):
        items_within(Only(kinds=(Kind.PLAY,)), CATALOGUE)
    assert items_within(Only(kinds=(Kind.PLAY,), playing=True), CATALOGUE)


# --- an instrument that does not answer ---------------------------------------------------------


@contextmanager
def mute() -> Iterator[str]:
    """A network port whose other end takes no connection and refuses none: its queue is full."""
    with socket.socket() as listener, ExitStack() as waiting:
        listener.bind(("127.0.0.1", 0))
        listener.listen(0)
        address = listener.getsockname()
        for _ in range(4):
            caller = waiting.enter_context(socket.socket())
            caller.setblocking(False)
            with suppress(BlockingIOError):
                caller.connect(address)
        yield f"network:127.0.0.1:{address[1]}"


@pytest.mark.skipif(sys.platform != "linux", reason="others refuse where the queue is full")
async def test_the_screen_stays_awake_while_an_instrument_does_not_answer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("quiz.playing.midi_input.CONNECT_SECONDS", 1.5)
    within = Only(devices=("walk-up-one-four",))
    with mute() as name:
        async with staged(tmp_path, within, played_on(name)) as (bench, app, pilot):
            began = time.monotonic()
            await pilot.press("r")
            await pilot.pause(0.5)
            assert isinstance(app.screen, HomeScreen)
            assert "Opening the instrument ..." in [told.message for told in app._notifications]
            await pilot.press("r")  # once more changes nothing
            assert time.monotonic() - began < 1.5
            while not isinstance(app.screen, RoundScreen):
                await pilot.pause(0.1)
            assert "play" not in asked_kinds(bench)
            await app.workers.wait_for_complete()
            await pilot.pause()
            assert 2 == len(app.screen_stack)


@pytest.mark.skipif(sys.platform != "linux", reason="others refuse where the queue is full")
async def test_a_jam_waits_for_no_instrument(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("quiz.playing.midi_input.CONNECT_SECONDS", 1.5)
    with mute() as name:
        async with staged(tmp_path, None, played_on(name)) as (bench, app, pilot):
            bench.store.take_in([an_answer(1), an_answer(2, device="fall")])
            began = time.monotonic()
            await pilot.press("j")
            assert time.monotonic() - began < 1  # the screen is awake
            await app.workers.wait_for_complete()
            await pilot.pause()
            assert isinstance(app.screen, JamScreen)
            await pilot.press("escape", "escape")
            began = time.monotonic()
            app.action_open_jam()
            assert time.monotonic() - began < 1  # it is known by now


@pytest.mark.skipif(sys.platform != "linux", reason="others refuse where the queue is full")
async def test_who_goes_elsewhere_while_an_instrument_opens_is_not_called_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("quiz.playing.midi_input.CONNECT_SECONDS", 0.5)
    with mute() as name:
        async with staged(tmp_path, None, played_on(name)) as (_bench, app, pilot):
            await pilot.press("r", "s")
            await app.workers.wait_for_complete()
            await pilot.pause()
            assert isinstance(app.screen, ScoresScreen)


@pytest.mark.skipif(sys.platform != "linux", reason="others refuse where the queue is full")
def test_closing_waits_for_no_instrument_that_has_gone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("quiz.playing.midi_input.RETRY_SECONDS", 0.01)
    with plugged() as (instrument, name):
        listening = MidiInput(name)
        instrument.plug_in()
        instrument.unplug()
        with mute() as other:
            listening._name = other
            while listening.problem is None:
                time.sleep(0.01)
            time.sleep(0.3)
            began = time.monotonic()
            listening.close()
            assert time.monotonic() - began < 1


def test_an_instrument_that_is_chosen_while_another_opens_is_the_one_that_counts(
    tmp_path: Path,
) -> None:
    with plugged() as (instrument, name), opened(tmp_path, None, played_on(name)) as bench:
        assert bench.to_be_opened
        assert bench.try_instrument() is None
        instrument.plug_in()
        assert not bench.to_be_opened
        bench.change(replace(bench.settings, midi_input="no such port"))
        assert bench.to_be_opened
        assert bench.try_instrument() is not None
        assert not bench.playable
