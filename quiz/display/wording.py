"""What the program says: questions and verdicts in plain words.

Every sentence that a question or an answer needs is made here or, beat by beat, in
`quiz.display.feedback`, so the screens, the line mode and the tests say the same.
"""

from collections.abc import Callable, Mapping, Sequence

from engine.catalogue import Catalogue, Device, Family
from engine.errors import amount
from engine.notation import NoteNames, format_note, format_pitch
from engine.textures import Texture
from engine.theory import Degree, Key, Note, spell
from quiz.answers import Verdict
from quiz.grading.lines import Grade, Marks, asked_part
from quiz.grading.marking import right_bars, right_ticks
from quiz.learning.reach import WHO_PLAYS
from quiz.neck.notes import neck_notes
from quiz.questions.kinds import KINDS, Kind
from quiz.questions.rungs import Told
from quiz.questions.value import VARIED, Next, Question, Wanted, asked_device


def question_sentence(
    question: Question, catalogue: Catalogue, names: NoteNames = NoteNames.ENGLISH
) -> str:
    """The question in one sentence, or two."""
    return _SENTENCES[question.kind](question, catalogue, names)


def _name_sentence(question: Question, catalogue: Catalogue, _names: NoteNames) -> str:
    variant = " It may come as a variant." if question.variants else ""
    return f"Which figure is it {place_words(question, catalogue)}?{variant}"


def _write_sentence(question: Question, catalogue: Catalogue, _names: NoteNames) -> str:
    how = {
        Wanted.DEGREES: "as degrees",
        Wanted.NOTES: "as note names",
        Wanted.EITHER: "as degrees or note names",
    }[question.wanted]
    where = place_words(question, catalogue)
    return f"Write what the bass plays {where}, {how}.{_spelling_rule(question)}"


def _play_sentence(question: Question, catalogue: Catalogue, names: NoteNames) -> str:
    where = place_words(question, catalogue)
    return (
        f"In {key_words(question.key, names)}, play what the bass plays {where}, in any octave, "
        "after a bar of counting."
    )


def _place_sentence(question: Question, catalogue: Catalogue, _names: NoteNames) -> str:
    bars = len(catalogue.form(question.form))
    return f"In which of the {bars} bars does the bass leave its pattern? Mark them all, or none."


def _fit_sentence(question: Question, catalogue: Catalogue, _names: NoteNames) -> str:
    return (
        f"The keys play {place_words(question, catalogue).removeprefix('in ')} without a bass. "
        "Tick every figure that agrees with them."
    )


def _form_sentence(_question: Question, _catalogue: Catalogue, _names: NoteNames) -> str:
    return "Which form is it?"


def heading_words(following: Next, number: int, length: int) -> list[str]:
    """What stands over a question: its kind, its place in the round, how often it may be heard, why
    it is asked, who plays and how fast."""
    question = following.question
    words = [KINDS[question.kind].label, f"{number} of {length}"]
    if question.playings:
        words.append(amount(question.playings, "playing"))
    words.append(why_words(following))
    if KINDS[question.kind].heard:
        who = WHO_PLAYS[Texture(question.texture)]
        words.append("band, no bass" if question.kind is Kind.FIT else who)
        words.append(f"{question.feel}, {question.tempo:g} bpm")
    if question.kind is Kind.FIND:
        words.append(f"a guess hits 1 in {question.own_neck.frets}")
    return words


def why_words(following: Next) -> str:
    """Why a question is asked, as the player reads it."""
    if following.why == "due":
        return f"due: asked {amount(following.days, 'day')} ago"
    return {
        "ahead": "nothing is due: ahead of time",
        "contrast": "the neighbour you mistook it for",
        "placement": "placement: what you know already",
        "presumed": "new, but you seem to know it: to make sure",
    }.get(following.why, following.why)


STAGE_WORDS = {
    "new": "not met yet",
    "shaky": "went wrong last time, or lasts less than a week",
    "steady": "lasts a week or more",
    "solid": "lasts a month or more",
}
"""What each stage of an item means: how long it is likely to be remembered."""


def place_words(question: Question, catalogue: Catalogue) -> str:
    """Where in the form the figure stands: `in bars 11 and 12` or `from bar 4 into bar 5`."""
    device = asked_device(question, catalogue)
    last = question.bar + device.pattern.bars - 1
    if device.family is Family.PICKUP:
        target = last % len(catalogue.form(question.form)) + 1
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


def _neck_sentence(question: Question, catalogue: Catalogue, names: NoteNames) -> str:
    part, key = asked_part(question, catalogue), key_words(question.key, names)
    degrees = list(part.pattern.degrees)
    told = {
        Told.NOTES: f" ({notes_text(degrees, question.key.tonic, names)})",
        Told.DEGREES: f" ({degrees_text(degrees)})",
        Told.NAME: "",
    }[question.told]
    octave = ""
    if question.octave_counts:
        first = neck_notes(question, catalogue)[0]
        octave = f" The octave counts: it starts on {format_pitch(first.midi, first.note)}."
    return (
        f"In {key}, where on the neck is '{part.name}'{told}? Give string and fret of each note."
        f"{octave}"
    )


def neck_words(question: Question) -> str:
    """How an answer on the neck is written, and how it could be guessed."""
    tuning, frets = question.own_neck.tuning, question.own_neck.frets
    return (
        f"strings {', '.join(tuning.names)}; frets 0 (open) to {frets}; such as "
        f"{tuning.names[0]}5 {tuning.names[1]}2; a guess hits 1 note in {frets}"
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


def pick_words(question: Question, pick: str, catalogue: Catalogue) -> str:
    """What can be picked or ticked, as it is offered."""
    name = catalogue.name(pick.removesuffix(VARIED))
    return f"{name}, a variant" if pick.endswith(VARIED) else name


_SENTENCES: Mapping[Kind, Callable[[Question, Catalogue, NoteNames], str]] = {
    Kind.NAME: _name_sentence,
    Kind.WRITE: _write_sentence,
    Kind.SPELL: _spelling_sentence,
    Kind.PLACE: _place_sentence,
    Kind.FIND: _neck_sentence,
    Kind.FIT: _fit_sentence,
    Kind.FORM: _form_sentence,
    Kind.PLAY: _play_sentence,
    Kind.JAM: _name_sentence,
}


def figure_words(device: Device, catalogue: Catalogue) -> str:
    """What a jam calls a figure: a turnaround by its head, unless the head stays home."""
    tail = catalogue.find(device.tail) if device.tail else None
    if tail is None:
        return device.name
    if tail.plain:
        return f"no turnaround: {tail.name}"
    head = catalogue.find(device.head)
    return head.name if head.worth_spelling else device.name


# --- verdicts -----------------------------------------------------------------------------------


def verdict_sentence(question: Question, grade: Grade, catalogue: Catalogue) -> str:
    """The verdict and the right answer in one sentence."""
    answer = answer_name(question, catalogue)
    if grade.verdict is Verdict.RIGHT:
        return f"Right: {answer}."
    if grade.verdict is Verdict.GIVEN_UP:
        return f"It was {answer}."
    word = _capital(grade.verdict.value)
    if grade.marks is not None:
        return f"{word}: {_marks_words(question, grade.marks, catalogue)}."
    if grade.chosen is None:
        return f"{word}: {answer}."
    if question.variants or question.kind is Kind.FORM:
        return f"{word}: it was {answer}, you said {pick_words(question, grade.chosen, catalogue)}."
    picked = catalogue.find(grade.chosen)
    return f"{word}: {_choice_words(question, picked, catalogue)}"


def answer_name(question: Question, catalogue: Catalogue) -> str:
    """The name of what was asked for."""
    match question.kind:
        case Kind.FORM:
            return catalogue.name(question.form)
        case Kind.PLACE:
            return bars_words(right_bars(question, catalogue))
        case Kind.FIT:
            return _names_words(right_ticks(question, catalogue), catalogue)
    if question.varies:
        plain, played = catalogue.name(question.varies), catalogue.name(question.device)
        return f"{plain}, a variant ({played})"
    return asked_part(question, catalogue).name


def bars_words(bars: Sequence[int | str]) -> str:
    """`bar 4`, `bars 4 and 8`, or `no bar at all`."""
    if not bars:
        return "no bar at all"
    return f"bar{'s' if len(bars) > 1 else ''} {_listed(list(map(str, bars)))}"


def _names_words(options: Sequence[str], catalogue: Catalogue) -> str:
    return _listed([catalogue.name(option) for option in options]) or "none of them"


def _listed(words: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def _marks_words(question: Question, marks: Marks, catalogue: Catalogue) -> str:
    def named(those: Sequence[str]) -> str:
        if question.kind is Kind.PLACE:
            return bars_words(those)
        return _names_words(those, catalogue)

    parts = (
        ("found", marks.hits),
        ("missed", marks.misses),
        (
            "a false alarm in" if question.kind is Kind.PLACE else "wrongly ticked",
            marks.false_alarms,
        ),
    )
    return "; ".join(f"{word} {named(those)}" for word, those in parts if those)


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


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
