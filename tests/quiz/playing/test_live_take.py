"""A take in the making, on a clock that the test turns."""

from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace

import pytest

from engine.listening.notes import Grid, PlayedNote, Take
from engine.score import Part
from engine.theory import Cents, Midi
from quiz.answers import Verdict
from quiz.errors import InstrumentError
from quiz.playing.live_take import CountIn, LiveTake
from quiz.playing.taking import NOTHING_HEARD, Stage
from quiz.questions.kinds import Kind
from quiz.questions.value import Question, Wanted
from quiz.sound.player import ClockPlayer
from quiz.sound.studio import Studio
from tests.quiz.asking import CATALOGUE, answered, question

CLIMB = replace(question("climb+plain-five", "A", Kind.PLAY), feel="straight")  # 600 ms a beat
LINE = (33, 37, 38, 39, 40, 40, 40, 40)
BEAT = 0.6


class Watch:
    """A clock that goes when it is told to."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


class Roll:
    """An instrument that plays what stands on a roll, at moments of the watch."""

    def __init__(self, watch: Watch, cents: float = 0.0) -> None:
        self.problem: str | None = None
        self.ready = True
        self.tuning = Cents(cents)
        self.struck: list[tuple[float, int]] = []
        self.listening = False
        self._watch = watch
        self._began = 0.0

    def begin(self) -> float:
        if self.problem:
            raise InstrumentError(self.problem)
        self.listening, self._began = True, self._watch()
        return self._began

    def heard(self) -> tuple[PlayedNote, ...]:
        return tuple(
            PlayedNote(at - self._began, 0.3, Midi(midi))
            for at, midi in self.struck
            if at <= self._watch()
        )

    def take(self, grid: Grid | None = None) -> Take:
        return Take(self.heard(), self._watch() - self._began, self.tuning)

    def rest(self) -> None:
        self.listening = False

    def close(self) -> None:
        """There is nothing to give back."""


class FarSpeaker(ClockPlayer):
    """A sound output whose sound is heard `late` seconds after it was handed over."""

    def __init__(self, watch: Watch, late: float) -> None:
        super().__init__(None, watch)
        self._late = late

    def position(self) -> float | None:
        heard = super().position()
        return None if heard is None else max(0.0, heard - self._late)


@pytest.fixture(scope="module")
def studio() -> Iterator[Studio]:
    with closing(Studio(CATALOGUE, None, reverb=False)) as opened:
        yield opened


class Desk:
    """A take with everything around it."""

    def __init__(
        self, studio: Studio, asked: Question = CLIMB, late: float = 0.0, cents: float = 0.0
    ) -> None:
        self.watch = Watch()
        self.roll = Roll(self.watch, cents)
        self.player = FarSpeaker(self.watch, late)
        studio.prepare(CountIn(CLIMB)).result()  # so that the watch need not wait for it
        self.take = LiveTake(asked, CATALOGUE, self.roll, self.player, studio, clock=self.watch)

    def go(self, seconds: float) -> None:
        """Let time pass, looking all the while."""
        for _ in range(round(seconds / 0.02)):
            self.watch.now += 0.02
            self.take.tick()

    def play(self, first: float, beat: float = BEAT) -> None:
        """Put the figure on the roll, its first note at a moment of the watch."""
        self.roll.struck = [(first + place * beat, midi) for place, midi in enumerate(LINE)]


@pytest.mark.parametrize("late", [0.0, 0.15, 0.4])
def test_what_the_sound_output_takes_to_sound_does_not_count(studio: Studio, late: float) -> None:
    desk = Desk(studio, late=late)
    desk.take.begin()
    desk.take.tick()  # the count-in is handed over now, and heard `late` seconds later
    desk.play(desk.watch.now + late + 4 * BEAT)
    desk.go(20)
    assert Stage.DONE is desk.take.stage
    assert desk.take.given is not None
    first = float(desk.take.given.split()[0].removeprefix("33@"))
    assert abs(first * BEAT) < 0.025  # a look at the clock
    assert Verdict.RIGHT is answered(CLIMB, desk.take.given).verdict


def test_the_count_in_waits_until_sound_comes_in(studio: Studio) -> None:
    desk = Desk(studio)
    desk.roll.ready = False
    desk.take.begin()
    desk.go(1.0)
    assert desk.player.position() is None
    assert Stage.COUNT_IN is desk.take.stage
    desk.roll.ready = True
    desk.go(0.1)
    assert desk.player.position() is not None


def test_what_is_played_into_the_count_in_is_no_part_of_the_take(studio: Studio) -> None:
    desk = Desk(studio)
    desk.take.begin()
    desk.take.tick()
    start = desk.watch.now + 4 * BEAT
    desk.play(start)
    desk.roll.struck = [(start - 2 * BEAT, 45), (start - BEAT, 47), *desk.roll.struck]
    desk.go(20)
    assert desk.take.given is not None
    assert Verdict.RIGHT is answered(CLIMB, desk.take.given).verdict


def test_it_is_over_a_bar_after_the_figure_and_lets_the_instrument_go(studio: Studio) -> None:
    desk = Desk(studio)
    desk.take.begin()
    desk.take.tick()
    desk.play(desk.watch.now + 4 * BEAT)
    desk.go((4 + 12) * BEAT - 0.1)
    assert desk.take.running
    assert desk.roll.listening
    desk.go(0.2)
    assert not desk.take.running
    assert not desk.roll.listening


@pytest.mark.parametrize(
    ("cents", "said"),
    [
        (3.0, ""),
        (-22.0, "Your instrument is 22 cents flat: that has been taken off."),
        (38.0, "Your instrument is 38 cents sharp: that has been taken off. Tune it:"),
    ],
)
def test_how_the_instrument_is_tuned_is_said(studio: Studio, cents: float, said: str) -> None:
    desk = Desk(studio, cents=cents)
    desk.take.begin()
    desk.take.tick()
    desk.play(desk.watch.now + 4 * BEAT)
    desk.go(20)
    assert desk.take.tuning_words.startswith(said)
    assert bool(said) == bool(desk.take.tuning_words)


def test_notes_that_turn_out_to_be_none_are_no_answer(studio: Studio) -> None:
    desk = Desk(studio)
    desk.take.begin()
    desk.take.tick()
    desk.play(desk.watch.now + 4 * BEAT)
    desk.go(5)
    assert desk.take.degrees
    desk.roll.struck = []  # judged afresh, there was nothing
    desk.take.finish()
    desk.go(20)
    assert (Stage.WAITING, None, NOTHING_HEARD) == (
        desk.take.stage,
        desk.take.given,
        desk.take.told,
    )


def test_an_instrument_that_is_not_there_is_told_and_asked_for_again(studio: Studio) -> None:
    desk = Desk(studio)
    desk.roll.problem = "the instrument is gone: plug it in"
    desk.take.begin()
    assert (Stage.WAITING, "the instrument is gone: plug it in") == (
        desk.take.stage,
        desk.take.told,
    )
    desk.roll.problem = None
    desk.take.begin()
    assert Stage.COUNT_IN is desk.take.stage


@pytest.mark.parametrize(
    ("wanted", "given"),
    [(Wanted.NOTES, "A C# D D# E"), (Wanted.DEGREES, "1 3 4 #4 5"), (Wanted.EITHER, "1 3 4 #4 5")],
)
def test_a_free_line_is_written_as_it_is_wanted(studio: Studio, wanted: Wanted, given: str) -> None:
    asked = replace(CLIMB, kind=Kind.WRITE, wanted=wanted)
    desk = Desk(studio, asked)
    desk.take.begin()
    assert Stage.PLAYING is desk.take.stage  # nothing is counted in
    desk.roll.struck = [(desk.watch.now + 1 + place, midi) for place, midi in enumerate(LINE[:5])]
    desk.go(7)
    desk.take.finish()
    assert given == desk.take.given


def test_only_the_sticks_count_in_and_for_one_bar() -> None:
    plan, score = CountIn(CLIMB).passage(CATALOGUE)
    assert () == plan.bars
    assert [Part.DRUMS] == [track.part for track in score.tracks]
    assert 4 == len({note.start for note in score.tracks[0].notes})
    assert score.length == 4 * 960
