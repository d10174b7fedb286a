"""What the program says: questions, verdicts and feedback in plain words.

Every sentence that a question or an answer needs is made here, so the screens, the line mode and
the tests say the same.
"""

from collections.abc import Sequence

from engine.catalogue import Catalogue, Device, Family
from engine.forms import find_form
from engine.line import Compass, write_line
from engine.notation import NoteNames, format_note
from engine.pattern import Spot
from engine.theory import Degree, Key, Midi, Note, spell
from engine.timing import BEATS_PER_BAR
from quiz.answers import Verdict
from quiz.excerpts import question_plan
from quiz.grading import Error, Grade, Pair, asked_part
from quiz.kinds import Kind
from quiz.questions import Next, Question, Wanted, asked_device

COMMON_NAME = {
    # How charts write notes whose right spelling has a double accidental, or is Cb, Fb, B#, E#.
    # [common practice, no source]
    "Cb": "B",
    "Fb": "E",
    "B#": "C",
    "E#": "F",
    "Abb": "G",
    "Bbb": "A",
    "Cbb": "Bb",
    "Dbb": "C",
    "Ebb": "D",
    "Fbb": "Eb",
    "Gbb": "F",
    "A##": "B",
    "B##": "C#",
    "C##": "D",
    "D##": "E",
    "E##": "F#",
    "F##": "G",
    "G##": "A",
}


def question_sentence(
    question: Question, catalogue: Catalogue, names: NoteNames = NoteNames.ENGLISH
) -> str:
    """The question in one sentence."""
    if question.kind is Kind.SPELL:
        return _spelling_sentence(question, catalogue, names)
    where = place_words(question, catalogue)
    if question.kind is Kind.NAME:
        return f"Which figure is it {where}?"
    how = {
        Wanted.DEGREES: "as degrees",
        Wanted.NOTES: "as note names",
        Wanted.EITHER: "as degrees or note names",
    }[question.wanted]
    return f"Write what the bass plays {where}, {how}.{_spelling_rule(question)}"


def why_words(following: Next) -> str:
    """Why a question is asked, as the player reads it."""
    if following.why == "due":
        return f"due: {following.days} day{'' if following.days == 1 else 's'}"
    return {
        "ahead": "nothing is due: ahead of time",
        "contrast": "the neighbour you mistook it for",
    }.get(following.why, following.why)


def place_words(question: Question, catalogue: Catalogue) -> str:
    """Where in the form the figure stands: `in bars 11 and 12` or `from bar 4 into bar 5`."""
    device = asked_device(question, catalogue)
    last = question.bar + device.pattern.bars - 1
    if device.family is Family.PICKUP:
        target = last % len(find_form(question.form)) + 1
        return f"from bar {question.bar} into bar {target}"
    if last == question.bar:
        return f"in bar {last}"
    return f"in bars {question.bar} {'and' if last == question.bar + 1 else 'to'} {last}"


def _spelling_sentence(question: Question, catalogue: Catalogue, names: NoteNames) -> str:
    part = asked_part(question, catalogue)
    degrees = list(part.pattern.degrees)
    key = key_words(question.key, names)
    if question.wanted is Wanted.DEGREES:
        line = notes_text(degrees, question.key.tonic, names)
        return f"In {key}, which degrees are {line}? ({part.name})"
    return (
        f"In {key}, spell {degrees_text(degrees)} as note names. ({part.name})"
        f"{_spelling_rule(question)}"
    )


def _spelling_rule(question: Question) -> str:
    counts = question.spelling_counts and question.wanted is not Wanted.DEGREES
    return " Spelling counts." if counts else ""


def key_words(key: Key, names: NoteNames = NoteNames.ENGLISH) -> str:
    """`Bb` or `C minor` in the player's language of note names."""
    tonic = format_note(key.tonic, names)
    return f"{tonic} minor" if key.minor else tonic


def degrees_text(degrees: Sequence[Degree]) -> str:
    """`1 3 4 #4`."""
    return " ".join(map(str, degrees))


def notes_text(degrees: Sequence[Degree], tonic: Note, names: NoteNames = NoteNames.ENGLISH) -> str:
    """The degrees as notes of the key: `A C# D D#`."""
    return " ".join(format_note(spell(degree, tonic), names) for degree in degrees)


def option_words(device: Device) -> str:
    """An option as it is offered."""
    return device.name


# --- verdicts -----------------------------------------------------------------------------------


def verdict_sentence(question: Question, grade: Grade, catalogue: Catalogue) -> str:
    """The verdict and the right answer in one sentence."""
    answer = answer_name(question, catalogue)
    if grade.verdict is Verdict.RIGHT:
        return f"Right: {answer}."
    if grade.verdict is Verdict.GIVEN_UP:
        return f"It was {answer}."
    if grade.chosen is None:
        return f"{_capital(grade.verdict.value)}: {answer}."
    picked = catalogue.find(grade.chosen)
    return f"{_capital(grade.verdict.value)}: {_choice_words(question, picked, catalogue)}"


def answer_name(question: Question, catalogue: Catalogue) -> str:
    """The name of what was asked for."""
    return asked_part(question, catalogue).name


def _choice_words(question: Question, picked: Device, catalogue: Catalogue) -> str:
    played = asked_device(question, catalogue)
    if picked.tail and played.tail and picked.head == played.head:
        return (
            f"the {catalogue.find(played.head).name} it was, but bar "
            f"{question.bar + 1} was '{catalogue.find(played.tail).name}', "
            f"not '{catalogue.find(picked.tail).name}'."
        )
    tails = {catalogue.find(option).tail for option in question.options} - {None}
    if picked.tail and picked.tail == played.tail:
        half = f"bar {question.bar + 1} is right, but bar {question.bar}"
        return (
            f"{half if len(tails) > 1 else 'it'} was '{catalogue.find(played.head).name}', "
            f"not '{catalogue.find(picked.head).name}'."
        )
    return f"it was '{played.name}', you said '{picked.name}'."


def feedback_lines(
    question: Question, grade: Grade, catalogue: Catalogue, names: NoteNames = NoteNames.ENGLISH
) -> tuple[str, ...]:
    """What happened at which beat, a line each; for a wrong choice, where the two part ways."""
    if grade.chosen is not None and grade.chosen != question.device:
        return _difference_lines(question, catalogue.find(grade.chosen), catalogue)
    # a spelled tail is counted from its own bar, the second of the turnaround
    alone = asked_part(question, catalogue).family is Family.TAIL
    start = question.bar + 1 if alone else question.bar
    lines = [_pair_words(pair, question, start, names) for pair in grade.pairs]
    return tuple(line for line in lines if line)


def _pair_words(pair: Pair, question: Question, start: int, names: NoteNames) -> str:
    tonic = question.key.tonic
    where = _where(pair.spot, question, start) if pair.spot else ""
    if pair.error is Error.MISSING and pair.expected:
        return f"{where}: {_both(pair.expected, tonic, names)} is missing"
    if pair.error is Error.EXTRA and pair.written:
        return f"{_both(pair.written, tonic, names)} is one note too many"
    if pair.error is Error.WRONG and pair.expected and pair.written:
        return (
            f"{where}: you wrote {_both(pair.written, tonic, names)} "
            f"where the line has {_both(pair.expected, tonic, names)}"
        )
    if pair.respelled is not None and pair.expected:
        return respelling_words(pair.expected, pair.respelled, question.key, names)
    return ""


def respelling_words(
    expected: Degree, written: Note, key: Key, names: NoteNames = NoteNames.ENGLISH
) -> str:
    """The remark on a right pitch by another name."""
    right = spell(expected, key.tonic)
    remark = f"right; in this key it is written {format_note(right, names)}"
    if COMMON_NAME.get(str(right)) == str(written):
        remark += f", charts often say {format_note(written, names)}"
    return f"{format_note(written, names)}: {remark}"


def _difference_lines(question: Question, picked: Device, catalogue: Catalogue) -> tuple[str, ...]:
    """The beats at which the picked device and the one that was played differ."""
    played = asked_device(question, catalogue)
    if played.times != picked.times:
        return (
            f"the bars were played {_times(played.times)}; the figure you named plays them "
            f"{_times(picked.times)}",
        )
    mine, theirs = (_struck(question, device, catalogue) for device in (picked, played))
    lines: list[str] = []
    for spot in sorted(mine.keys() | theirs.keys()):
        yours, right = mine.get(spot), theirs.get(spot)
        if (yours and yours.pitch_class) != (right and right.pitch_class):
            lines.append(f"{_where(spot, question, question.bar)}: {_heard_words(yours, right)}")
    return tuple(lines)


def _struck(question: Question, device: Device, catalogue: Catalogue) -> dict[Spot, Degree]:
    """What is struck from the start of the device on, the base pattern around it included."""
    anywhere = Compass(Midi(0), Midi(127))  # only the degrees matter here
    line = write_line(question_plan(question, catalogue, device), question.seed, anywhere)
    before = (question.bar - question.first) * BEATS_PER_BAR
    return {
        Spot(note.bar * BEATS_PER_BAR + note.spot.beat - before, note.spot.offbeat): note.degree
        for note in line
        if note.bar * BEATS_PER_BAR >= before
    }


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _heard_words(yours: Degree | None, right: Degree | None) -> str:
    if right is None:
        return f"nothing new was struck; {yours} belongs to the figure you named"
    if yours is None:
        return f"{right} was struck; the figure you named has nothing new there"
    return f"{right} was played; the figure you named has {yours}"


def _where(spot: Spot, question: Question, start: int) -> str:
    """The place in the form, of a spot counted from bar `start`."""
    bar = start + spot.beat // BEATS_PER_BAR
    return f"bar {(bar - 1) % len(find_form(question.form)) + 1}, {spot}"


def _both(degree: Degree, tonic: Note, names: NoteNames) -> str:
    return f"{degree} ({format_note(spell(degree, tonic), names)})"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
