"""Line mode: the same questions, a line in, a line out, for screen readers, slow links and pipes.

Nothing is printed here: lines go out through `say`, as data for scripts and as text for people.
"""

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from engine.errors import EngineError
from engine.sound import write_wav
from quiz.display.cautions import HANDS
from quiz.display.feedback import feedback_lines, teachers_word
from quiz.display.wording import (
    answer_name,
    degrees_text,
    key_words,
    neck_words,
    notes_text,
    pick_words,
    question_sentence,
    verdict_sentence,
    why_words,
)
from quiz.errors import AnswerError, QuizError
from quiz.grading.lines import Grade, asked_part, grade_nothing
from quiz.grading.marking import read_ticks
from quiz.grading.replies import grade_reply, listed
from quiz.learning.today import left_words
from quiz.neck.notes import neck_notes
from quiz.neck.paths import best_path
from quiz.questions.excerpts import Excerpt
from quiz.questions.kinds import KINDS, By, Kind
from quiz.questions.value import Next, Question
from quiz.session import (
    Answered,
    Continued,
    Effect,
    Event,
    Phase,
    Play,
    PlayingEnded,
    Record,
    Replayed,
    Round,
    Silence,
    TakeBack,
    TakenBack,
    begin,
    step,
)
from quiz.workbench import Workbench

AGAIN, SLOWER, UNDO, GIVE_UP, QUIT = "again", "slower", "undo", "?", "quit"
PLAY = "play"
"""Starts the take where a question is answered by playing."""

LOOK_SECONDS = 0.01
"""Between two looks at a take."""
"""Words that are no answers."""

HOW = (
    f"Answer with a number or several, degrees or note names, string and fret, or {PLAY} where "
    f"it is to be played; {AGAIN} or "
    f"{SLOWER} to hear it, {GIVE_UP} if you don't know, {UNDO} to take back the answer before, "
    f"{QUIT} to stop."
)


@dataclass(frozen=True, slots=True)
class Said:
    """One line that goes out."""

    data: dict[str, object]
    """For scripts."""

    text: str
    """For people; may have several lines."""


Say = Callable[[Said], None]


class LineRound:
    """One round in line mode."""

    def __init__(self, bench: Workbench, say: Say, clips: Path | None) -> None:
        """`clips` is a folder that every clip is written to, for machines without sound."""
        self._bench = bench
        self._say = say
        self._clips = clips
        self._ends_at: float | None = None
        self._kept = ""
        self._answered: Round | None = None  # as it stood at the answer that can be taken back

    def run(self, lines: Iterator[str], count: int) -> int:
        """Ask `count` questions of the lines that come in; ends early when they end.

        Gives the number of questions that were answered.
        """
        state, effects = begin(count, self._bench.coach.next(), time.monotonic())
        words = [AGAIN, SLOWER, UNDO, GIVE_UP, QUIT]
        self._say(Said({"event": "hello", "count": count, "words": words}, HOW))
        self._put(state, effects)
        for line in lines:
            word = line.strip()
            if word == QUIT:
                break
            state = self._undone(state) if word == UNDO else self._taken(state, word)
            if state.phase is Phase.OVER:
                break
        right = sum(grade.score == 1 for grade in state.results)
        coach = self._bench.coach
        if coach.placing:
            found = coach.placement_lines()
            self._say(Said({"event": "placement", "found": found}, "\n".join(found)))
        self._say(
            Said(
                {"event": "end", "answered": len(state.results), "right": right},
                f"{len(state.results)} answered, {right} right.",
            )
        )
        return len(state.results)

    def _put(self, state: Round, effects: tuple[Effect, ...]) -> None:
        """Ask the question that the round stands at."""
        self._ask(state.current, state.number, state.length)
        self._carry_out(effects)
        self._bench.coach.look_ahead()

    def _taken(self, state: Round, word: str) -> Round:
        """The round after a line; an answer leads on to the next question."""
        event = self._event(state, word)
        if event is None:
            return state
        self._note_end_of_playing()
        if self._ends_at is not None and time.monotonic() >= self._ends_at:
            state, _ = step(state, PlayingEnded(self._ends_at))
        state, effects = step(state, event)
        self._carry_out(effects)
        if state.phase is not Phase.FEEDBACK:
            return state
        if isinstance(event, Answered) and word.casefold() == PLAY:
            word = event.given  # what was played in place of the word that started it
        self._tell(state.current.question, state.grade, word)
        self._answered = state
        coach = self._bench.coach
        following = None if state.last or coach.over else coach.next()
        self._ends_at = None
        state, effects = step(state, Continued(time.monotonic(), following))
        if state.phase is Phase.ASKING:
            self._put(state, effects)
        return state

    def _undone(self, state: Round) -> Round:
        """The round with the answer before taken back: its question is open again."""
        answered, self._answered = self._answered, None
        if answered is None:
            self._refuse("there is no answer to take back: answer first")
            return state
        state, effects = step(answered, TakenBack(time.monotonic()))
        self._ends_at = None
        self._carry_out(effects)
        kept = "Taken back." if not self._kept else self._kept
        self._say(
            Said(
                {
                    "event": "undo",
                    "number": state.number,
                    "kept": not self._kept,
                    "problem": self._kept or None,
                },
                kept,
            )
        )
        self._put(state, ())
        return state

    def _event(self, state: Round, word: str) -> Event | None:
        """What a line means; None, with the reason said, when it is no answer."""
        question = state.current.question
        if word in (AGAIN, SLOWER):
            if KINDS[question.kind].heard and not state.may_replay:
                times = "once" if question.playings == 1 else f"{question.playings} times"
                self._refuse(f"it may be heard {times}: answer now")
                return None
            return Replayed(slower=word == SLOWER)
        if word == GIVE_UP:
            return Answered(time.monotonic(), "", grade_nothing())
        try:
            given = self._given(question, word)
            grade = grade_reply(question, given, self._bench.names, self._bench.catalogue)
        except (EngineError, QuizError) as error:
            self._refuse(str(error))
            return None
        return Answered(time.monotonic(), given, grade)

    def _given(self, question: Question, word: str) -> str:
        """The answer as a text. Raises AnswerError or InstrumentError when there is none."""
        if question.picks:
            return self._pick(question, word)
        if KINDS[question.kind].answered is By.PLAYING and word.casefold() == PLAY:
            return self._taken_live(question)
        return word

    def _taken_live(self, question: Question) -> str:
        """Count in and take in what is played.

        Raises InstrumentError when there is no instrument, AnswerError when nothing was played.
        """
        self._bench.player.stop()
        take = self._bench.live_take(question)
        self._say(Said({"event": "take", "tempo": question.tempo}, "Counting in ..."))
        take.begin()
        while take.running:
            take.tick()
            time.sleep(LOOK_SECONDS)
        if take.given is None:
            raise AnswerError(take.told)
        heard = [str(degree) for degree in take.degrees]
        said = " ".join(filter(None, [take.told, take.tuning_words]))
        words = f"Heard: {' '.join(heard)}" + (f"\n{said}" if said else "")
        self._say(
            Said({"event": "heard", "given": take.given, "degrees": heard, "said": said}, words)
        )
        return take.given

    def _refuse(self, why: str) -> None:
        self._say(Said({"event": "error", "error": why}, why))

    def _pick(self, question: Question, word: str) -> str:
        """The pick that a number, an id or a name stands for; of ticks, all their ids."""
        if KINDS[question.kind].answered is By.TICKS:
            return listed(read_ticks(word, question))
        if word.isdecimal() and 1 <= int(word) <= len(question.picks):
            return question.picks[int(word) - 1]
        for pick in question.picks:
            name = pick_words(question, pick, self._bench.catalogue)
            if word.casefold() in (pick, name.casefold()):
                return pick
        shown = "".join(char for char in word[:40] if char.isprintable())
        raise AnswerError(
            f"'{shown}' is no option: give a number from 1 to {len(question.picks)}, or a name"
        )

    def _carry_out(self, effects: tuple[Effect, ...]) -> None:
        for effect in effects:
            match effect:
                case Play(question=question, speed=speed):
                    self._play(question, speed)
                case Silence():
                    self._bench.player.stop()
                case Record():
                    self._kept = self._bench.coach.record(effect)
                case TakeBack():
                    self._kept = self._bench.coach.undo().problem

    def _play(self, question: Question, speed: float) -> None:
        bench = self._bench
        try:
            take = bench.studio.prepare(Excerpt(question, speed=speed)).result()
            if self._clips is not None:
                target = self._clips / f"{question.seed}{'' if speed == 1 else '-slower'}.wav"
                self._clips.mkdir(parents=True, exist_ok=True)
                write_wav(take.clip, target)
                self._say(Said({"event": "clip", "file": str(target)}, f"Sound: {target}"))
        except (EngineError, OSError) as error:
            self._say(Said({"event": "error", "error": str(error)}, str(error)))
            return
        bench.player.play(take.clip)
        if self._ends_at is None:
            self._ends_at = time.monotonic() + take.clip.seconds

    def _note_end_of_playing(self) -> None:
        """Without a sound output nobody has to wait for the end of the clip."""
        if self._bench.player.silent and self._ends_at is not None:
            self._ends_at = min(self._ends_at, time.monotonic())

    def _ask(self, current: Next, number: int, count: int) -> None:
        bench, question = self._bench, current.question
        sentence = question_sentence(question, bench.catalogue, bench.names)
        names = [pick_words(question, pick, bench.catalogue) for pick in question.picks]
        label = KINDS[question.kind].label
        lines = [f"{number} of {count}. {label}. {sentence} ({why_words(current)})"]
        lines += [f"  {place}  {name}" for place, name in enumerate(names, start=1)]
        if question.kind is Kind.FIND:
            lines.append(f"  {neck_words(question)}")
            if bench.coach.is_first(Kind.FIND):
                lines.append(f"  {HANDS}")
        if KINDS[question.kind].answered is By.PLAYING:
            lines += [f"  {PLAY} counts a bar in; then play", f"  {HANDS}"]
        self._say(
            Said(
                {
                    "event": "question",
                    "number": number,
                    "of": count,
                    "kind": question.kind.value,
                    "sentence": sentence,
                    "key": str(question.key) if question.key_given else None,
                    "tempo": question.tempo,
                    "feel": question.feel,
                    "texture": question.texture,
                    "form": None if question.kind is Kind.FORM else question.form,
                    "bar": question.bar,
                    "playings": question.playings or None,
                    "why": current.why,
                    "why_words": why_words(current),
                    "answer_in": question.wanted.value,
                    "guess_rate": round(question.guess_rate, 4),
                    **_neck_data(question),
                    "options": [
                        {"number": place, "id": option, "name": name}
                        for place, (option, name) in enumerate(
                            zip(question.picks, names, strict=True), start=1
                        )
                    ],
                },
                "\n".join(lines),
            )
        )

    def _tell(self, question: Question, grade: Grade | None, given: str) -> None:
        """The verdict, said only after the answer has been kept."""
        assert grade is not None  # there is one in every feedback
        bench = self._bench
        remarks = feedback_lines(question, grade, bench.catalogue, bench.names)
        if question.kind is Kind.FORM:
            remarks = (*remarks, teachers_word(question, bench.catalogue))
        figure, notes = self._figure(question)
        kept = "Kept." if not self._kept else self._kept
        today = bench.coach.today()
        left = "" if bench.coach.placing else left_words(today)
        lines = [verdict_sentence(question, grade, bench.catalogue), *remarks, notes, left, kept]
        self._say(
            Said(
                {
                    "event": "answer",
                    "given": given,
                    "verdict": grade.verdict.value,
                    "score": round(grade.score, 4),
                    "answer": answer_name(question, bench.catalogue),
                    **figure,
                    **_marks_data(grade),
                    "feedback": list(remarks),
                    "kept": not self._kept,
                    "problem": self._kept or None,
                    "left": {"due": today.left, "new": today.new_left, "later": today.later},
                },
                "\n".join(filter(None, lines)),
            )
        )

    def _figure(self, question: Question) -> tuple[dict[str, object], str]:
        """The figure that was asked for, as data and in words; nothing where there is none."""
        if not question.device or question.kind is Kind.FIT:
            return {}, ""  # a whole chorus, or chords that no one figure belongs to
        bench = self._bench
        part = asked_part(question, bench.catalogue)
        degrees = part.pattern.degrees
        notes = notes_text(degrees, question.key.tonic, bench.names)
        data: dict[str, object] = {
            "device": part.id,
            "degrees": [str(degree) for degree in degrees],
            "notes": notes.split(),
        }
        if question.kind is Kind.FIND:
            tuning = question.own_neck.tuning
            pitches = [note.midi for note in neck_notes(question, bench.catalogue)]
            path = best_path(pitches, question.own_neck)
            assert path is not None  # the question was made for this neck
            data["positions"] = [
                {"string": tuning.names[place.string], "fret": place.fret}
                for place in path.positions
            ]
        key = key_words(question.key, bench.names)
        return data, f"In {key}: {degrees_text(degrees)} = {notes}"


def _neck_data(question: Question) -> dict[str, object]:
    """The instrument that a question on the neck is about, and what it tells."""
    if question.neck is None:
        return {}
    return {
        "strings": list(question.neck.tuning.names),
        "frets": question.neck.frets,
        "told": question.told.value,
        "octave_counts": question.octave_counts,
    }


def _marks_data(grade: Grade) -> dict[str, object]:
    """What became of marks and ticks; nothing in kinds without."""
    if grade.marks is None:
        return {}
    return {
        "hits": list(grade.marks.hits),
        "misses": list(grade.marks.misses),
        "false_alarms": list(grade.marks.false_alarms),
    }
