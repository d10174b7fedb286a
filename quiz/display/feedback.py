"""What is said about an answer beat by beat and bar by bar, a line each, whatever the kind."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import groupby

from engine.agreement import Clash, ClashKind
from engine.catalogue import Catalogue, Device, Family
from engine.errors import amount
from engine.forms import Form
from engine.fretboard import sounding
from engine.frets import format_position
from engine.line import Compass, write_line
from engine.notation import NoteNames, format_note
from engine.pattern import Spot
from engine.theory import OCTAVE, Degree, Key, Midi, Note, spell, usual_degree
from engine.timing import BEATS_PER_BAR
from quiz.answers import Verdict
from quiz.display.wording import bars_words
from quiz.grading.lines import Error, Grade, Marks, Pair, asked_part
from quiz.grading.marking import right_bars
from quiz.neck.notes import beats_before, neck_notes
from quiz.neck.paths import path_lines
from quiz.questions.excerpts import Accompaniment, question_plan
from quiz.questions.kinds import Kind
from quiz.questions.neighbours import changed_beats
from quiz.questions.value import Question, asked_device, placements

MOST_DIFFERENCES = 6
"""Lines about where two forms part ways."""

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


def feedback_lines(
    question: Question, grade: Grade, catalogue: Catalogue, names: NoteNames = NoteNames.ENGLISH
) -> tuple[str, ...]:
    """What happened where; for a wrong choice, where the two part ways."""
    return tuple(_LINES.get(question.kind, _figure_lines)(question, grade, catalogue, names))


def teachers_word(question: Question, catalogue: Catalogue) -> str:
    """The sentence a teacher would say about what was asked; empty where there is none to say."""
    if question.kind is Kind.FORM:
        return f"What gives it away: {catalogue.form(question.form).tell}"
    if question.kind is Kind.PLACE:
        return ""
    return asked_device(question, catalogue).says


# --- one figure ---------------------------------------------------------------------------------


def _figure_lines(
    question: Question, grade: Grade, catalogue: Catalogue, names: NoteNames
) -> Sequence[str]:
    if grade.chosen is not None and grade.chosen != question.right:
        if grade.chosen_option == question.right:
            return ("every beat was the figure's own: it came as it is",)
        return _difference_lines(question, catalogue.find(grade.chosen_option), catalogue)
    # a spelled tail is counted from its own bar, the second of the turnaround
    alone = asked_part(question, catalogue).family is Family.TAIL
    start = question.bar + 1 if alone else question.bar
    lines = [_pair_words(pair, question, start, names, catalogue) for pair in grade.pairs]
    return [line for line in lines if line]


def _pair_words(
    pair: Pair, question: Question, start: int, names: NoteNames, catalogue: Catalogue
) -> str:
    tonic = question.key.tonic
    where = _where(pair.spot, question, start, catalogue) if pair.spot else ""
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
            where = _where(spot, question, question.bar, catalogue)
            lines.append(f"{where}: {_heard_words(yours, right)}")
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


def _where(spot: Spot, question: Question, start: int, catalogue: Catalogue) -> str:
    """The place in the form, of a spot counted from bar `start`."""
    bar = start + spot.beat // BEATS_PER_BAR
    return f"bar {(bar - 1) % len(catalogue.form(question.form)) + 1}, {spot}"


def _both(degree: Degree, tonic: Note, names: NoteNames) -> str:
    return f"{degree} ({format_note(spell(degree, tonic), names)})"


# --- on the neck --------------------------------------------------------------------------------


def _neck_lines(
    question: Question, grade: Grade, catalogue: Catalogue, names: NoteNames
) -> Iterator[str]:
    part = asked_part(question, catalogue)
    start = question.bar + beats_before(part) // BEATS_PER_BAR
    for pair in grade.pairs:
        if pair.error is not None:
            yield _place_words(pair, question, start, names, catalogue)
    if grade.verdict is Verdict.RIGHT and not question.octave_counts:
        heights = {note.spot: note.midi for note in neck_notes(question, catalogue)}
        if any(
            heights[pair.spot] != sounding(pair.place, question.own_neck.tuning)
            for pair in grade.pairs
            if pair.spot is not None and pair.place is not None
        ):
            yield "in another octave than the figure usually stands, which is free here"
    yield from path_lines(question, grade, catalogue)


def _place_words(
    pair: Pair, question: Question, start: int, names: NoteNames, catalogue: Catalogue
) -> str:
    tonic, tuning = question.key.tonic, question.own_neck.tuning
    where = _where(pair.spot, question, start, catalogue) if pair.spot else ""
    if pair.place is None or pair.written is None:
        assert pair.expected is not None  # what nobody played and nobody asked for is no pair
        return f"{where}: {_both(pair.expected, tonic, names)} is missing"
    played = f"{format_position(pair.place, tuning)}, a {_both(pair.written, tonic, names)}"
    if pair.expected is None:
        return f"{played}, is one note too many"
    if pair.expected == pair.written:  # the octave counts
        return f"{where}: {played}, is in another octave than the figure"
    return f"{where}: you played {played}, where the figure has " + _both(
        pair.expected, tonic, names
    )


# --- played -------------------------------------------------------------------------------------


def _play_lines(
    question: Question, grade: Grade, catalogue: Catalogue, names: NoteNames
) -> Iterator[str]:
    """Notes, order and time in a sentence; then the notes that were others, where the form has
    them."""
    if grade.said:
        yield grade.said
    tonic = question.key.tonic
    for pair in grade.pairs:
        if pair.error is Error.WRONG and pair.spot and pair.expected and pair.written:
            yield (
                f"{_where(pair.spot, question, question.bar, catalogue)}: you played "
                f"{_both(pair.written, tonic, names)} where the line has "
                f"{_both(pair.expected, tonic, names)}"
            )
        elif pair.error is not None:
            yield _pair_words(pair, question, question.bar, names, catalogue)


# --- a whole chorus -----------------------------------------------------------------------------


def _place_lines(
    question: Question, grade: Grade, catalogue: Catalogue, _names: NoteNames
) -> Iterator[str]:
    for bar, name in placements(question):
        device = catalogue.find(name)
        bars = [bar + offset for offset in range(device.pattern.bars)]
        yield f"{bars_words(bars)}: {device.name}, {device.pattern.text}"
    marks = grade.marks or Marks()
    if marks.false_alarms and placements(question):
        yield f"{bars_words(marks.false_alarms)}: the base pattern went on"
    if not right_bars(question, catalogue):
        yield "the base pattern went on from the first bar to the last"


def _form_lines(
    question: Question, grade: Grade, catalogue: Catalogue, _names: NoteNames
) -> Iterator[str]:
    if grade.chosen in (None, question.right):
        return
    played, picked = catalogue.form(question.form), catalogue.form(grade.chosen_option)
    beats = changed_beats(played, picked)
    bars = [bar for bar, _ in groupby(beat // BEATS_PER_BAR for beat in beats)]
    for bar in bars[:MOST_DIFFERENCES]:
        yield f"bar {bar + 1}: {_parting_words(played, picked, bar)}"
    if len(bars) > MOST_DIFFERENCES:
        yield _more(len(bars) - MOST_DIFFERENCES, "bar").lstrip(", ")


def _parting_words(played: Form, picked: Form, bar: int) -> str:
    """How two forms differ in a bar, which one of them may not have."""
    if bar >= len(played):
        return f"the form had begun anew; the one you named has {_bar_words(picked, bar)}"
    if bar >= len(picked):
        return f"{_bar_words(played, bar)} was played; the form you named has begun anew"
    mine, yours = _bar_words(played, bar), _bar_words(picked, bar)
    return f"{mine} was played; the form you named has {yours}"


def _bar_words(form: Form, bar: int) -> str:
    """The chords of a bar, `I7` or `IIm7 V7`."""
    return " ".join(str(chord) for chord, _ in groupby(form.bars[bar]))


# --- figures over the band ----------------------------------------------------------------------


def _fit_lines(
    question: Question, _grade: Grade, catalogue: Catalogue, names: NoteNames
) -> Iterator[str]:
    band = Accompaniment.of(question, catalogue)
    for option in question.options:
        device = catalogue.find(option)
        clashes = band.clashes(device)
        if not clashes:
            yield f"{device.name}: agrees"
            continue
        where = _where(Spot(clashes[0].beat), question, question.bar, catalogue)
        more = _more(len(clashes) - 1, "beat")
        yield f"{device.name}: {where}: {_clash_words(clashes[0], device, question, names)}{more}"


def _more(count: int, what: str) -> str:
    """`, and 2 beats more`; empty for none."""
    return f", and {amount(count, what)} more" if count > 0 else ""


def _clash_words(clash: Clash, device: Device, question: Question, names: NoteNames) -> str:
    tonic = question.key.tonic
    bass = _both(_degree(clash.bass, tonic, device.pattern.degrees), tonic, names)
    against = _both(_degree(clash.against, tonic), tonic, names)
    if clash.kind is ClashKind.RUB:
        return f"{bass} rubs against {against} in the keys"
    return f"{bass} is foreign to the chord, whose nearest note is {against}"


def _degree(pitch_class: int, tonic: Note, own: Sequence[Degree] = ()) -> Degree:
    """What a pitch class is called over a tonic: as `own` degrees have it, else as usual."""
    above = (pitch_class - tonic.pitch_class) % OCTAVE
    return next((one for one in own if one.pitch_class == above), usual_degree(above))


_LINES: Mapping[Kind, Callable[[Question, Grade, Catalogue, NoteNames], Iterator[str]]] = {
    Kind.PLACE: _place_lines,
    Kind.FIND: _neck_lines,
    Kind.FIT: _fit_lines,
    Kind.FORM: _form_lines,
    Kind.PLAY: _play_lines,
}
"""Kinds that say something else than `_figure_lines`."""
