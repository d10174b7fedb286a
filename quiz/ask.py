"""Line mode: the same questions, a line in, a line out, for screen readers, slow links and pipes.

Nothing is printed here: lines go out through `say`, as data for scripts and as text for people.
"""

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from engine.errors import EngineError
from engine.sound import write_wav
from quiz.errors import AnswerError, QuizError
from quiz.excerpts import Excerpt
from quiz.grading import Grade, asked_part, grade_choice, grade_line, grade_nothing
from quiz.kinds import KINDS
from quiz.questions import Next, Question
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
    Silence,
    begin,
    step,
)
from quiz.wording import (
    degrees_text,
    feedback_lines,
    key_words,
    notes_text,
    option_words,
    question_sentence,
    verdict_sentence,
    why_words,
)
from quiz.workbench import Workbench

AGAIN, SLOWER, GIVE_UP, QUIT = "again", "slower", "?", "quit"
"""Words that are no answers."""

HOW = (
    f"Answer with a number, degrees or note names; {AGAIN} or {SLOWER} to hear it, "
    f"{GIVE_UP} if you don't know, {QUIT} to stop."
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

    def run(self, lines: Iterator[str], count: int) -> int:
        """Ask `count` questions of the lines that come in; ends early when they end.

        Gives the number of questions that were answered.
        """
        coach = self._bench.coach
        state, effects = begin(count, coach.next(), time.monotonic())
        self._say(Said({"event": "hello", "count": count}, HOW))
        self._ask(state.current, state.number, count)
        self._carry_out(effects)
        coach.look_ahead()
        for line in lines:
            word = line.strip()
            if word == QUIT:
                break
            event = self._event(state.current.question, word)
            if event is None:
                continue
            self._note_end_of_playing()
            if self._ends_at is not None and time.monotonic() >= self._ends_at:
                state, _ = step(state, PlayingEnded(self._ends_at))
            state, effects = step(state, event)
            self._carry_out(effects)
            if state.phase is Phase.FEEDBACK:
                self._tell(state.current.question, state.grade, word)
                following = None if state.last else coach.next()
                self._ends_at = None
                state, effects = step(state, Continued(time.monotonic(), following))
                if state.phase is Phase.OVER:
                    break
                self._ask(state.current, state.number, count)
                self._carry_out(effects)
                coach.look_ahead()
        right = sum(grade.score == 1 for grade in state.results)
        self._say(
            Said(
                {"event": "end", "answered": len(state.results), "right": right},
                f"{len(state.results)} answered, {right} right.",
            )
        )
        return len(state.results)

    def _event(self, question: Question, word: str) -> Event | None:
        """What a line means; None, with the reason said, when it is no answer."""
        if word in (AGAIN, SLOWER):
            return Replayed(slower=word == SLOWER)
        try:
            grade = grade_nothing() if word == GIVE_UP else self._grade(question, word)
        except (EngineError, QuizError) as error:
            self._say(Said({"event": "error", "error": str(error)}, str(error)))
            return None
        return Answered(time.monotonic(), "" if word == GIVE_UP else word, grade)

    def _grade(self, question: Question, word: str) -> Grade:
        bench = self._bench
        if not question.options:
            return grade_line(question, word, bench.names, bench.catalogue)
        return grade_choice(question, self._option(question, word), bench.catalogue)

    def _option(self, question: Question, word: str) -> str:
        """The id of the option that a number, an id or a name stands for."""
        if word.isdecimal() and 1 <= int(word) <= len(question.options):
            return question.options[int(word) - 1]
        for option in question.options:
            name = option_words(self._bench.catalogue.find(option))
            if word.casefold() in (option, name.casefold()):
                return option
        shown = "".join(char for char in word[:40] if char.isprintable())
        raise AnswerError(
            f"'{shown}' is no option: give a number from 1 to {len(question.options)}, or a name"
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
        names = [option_words(bench.catalogue.find(option)) for option in question.options]
        label = KINDS[question.kind].label
        lines = [f"{number} of {count}. {label}. {sentence} ({why_words(current)})"]
        lines += [f"  {place}  {name}" for place, name in enumerate(names, start=1)]
        self._say(
            Said(
                {
                    "event": "question",
                    "number": number,
                    "of": count,
                    "kind": question.kind.value,
                    "sentence": sentence,
                    "key": str(question.key),
                    "tempo": question.tempo,
                    "feel": question.feel,
                    "form": question.form,
                    "bar": question.bar,
                    "why": current.why,
                    "answer_in": question.wanted.value,
                    "options": [
                        {"number": place, "id": option, "name": name}
                        for place, (option, name) in enumerate(
                            zip(question.options, names, strict=True), start=1
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
        part = asked_part(question, bench.catalogue)
        remarks = feedback_lines(question, grade, bench.catalogue, bench.names)
        degrees = part.pattern.degrees
        notes = notes_text(degrees, question.key.tonic, bench.names)
        key = key_words(question.key, bench.names)
        kept = "Kept." if not self._kept else self._kept
        self._say(
            Said(
                {
                    "event": "answer",
                    "given": given,
                    "verdict": grade.verdict.value,
                    "score": round(grade.score, 4),
                    "device": part.id,
                    "degrees": [str(degree) for degree in degrees],
                    "notes": notes.split(),
                    "feedback": list(remarks),
                    "kept": not self._kept,
                    "problem": self._kept or None,
                },
                "\n".join(
                    [
                        verdict_sentence(question, grade, bench.catalogue),
                        *remarks,
                        f"In {key}: {degrees_text(degrees)} = {notes}",
                        kept,
                    ]
                ),
            )
        )
