"""Questions for the tests: made by the generator, or written out by hand."""

from collections.abc import Iterator

from engine.catalogue import Device, builtin_catalogue
from engine.forms import Form
from engine.line import A1, E1
from engine.notation import NoteNames, parse_key
from engine.theory import Key
from quiz.grading.lines import Grade, grade_line
from quiz.grading.replies import grade_reply
from quiz.learning.material import can_ask, learning_order
from quiz.questions.excerpts import excerpt_bars
from quiz.questions.generator import make_question
from quiz.questions.hearing import usual_place
from quiz.questions.kinds import Kind
from quiz.questions.rungs import LADDERS, rung
from quiz.questions.value import Question, Wanted
from quiz.questions.wishes import Asked, Wishes

CATALOGUE = builtin_catalogue()
ENGLISH = NoteNames.ENGLISH


def device(name: str) -> Device:
    """A device of the catalogue that comes with the program."""
    return CATALOGUE.find(name)


def key(name: str) -> Key:
    """A key by its English name."""
    return parse_key(name)


def question(
    device_id: str,
    in_key: str = "A",
    kind: Kind = Kind.WRITE,
    item: str | None = None,
    options: tuple[str, ...] = (),
    wanted: Wanted = Wanted.EITHER,
    spelling_counts: bool = False,
    base: str = "two-beat",
    seed: int = 1,
) -> Question:
    """A question about a whole device at its usual place, everything else plain."""
    played = device(device_id)
    form, bar = usual_place(played, False, CATALOGUE)
    first, last = excerpt_bars(played, form, bar)
    return Question(
        kind=kind,
        item=item or played.head,
        device=device_id,
        key=key(in_key),
        tempo=100.0,
        feel="shuffle",
        texture="band",
        form=form.id,
        base=base,
        bar=bar,
        first=first,
        last=last,
        low=A1,
        register="low",
        comping="electric-piano",
        seed=seed,
        options=options,
        wanted=wanted,
        spelling_counts=spelling_counts,
    )


def made(
    item: str,
    kind: Kind,
    in_key: str = "A",
    seed: int = 1,
    both_vary: bool = False,
    wishes: Wishes | None = None,
) -> Question:
    """A question of the generator."""
    asked = Asked(item, kind, key(in_key), both_vary)
    return make_question(asked, wishes or Wishes(), CATALOGUE, seed)


def every_item(kind: Kind) -> Iterator[Device]:
    """The devices that can be asked in a kind."""
    return (row for row in every_row(kind) if isinstance(row, Device))


def every_row(kind: Kind) -> Iterator[Device | Form]:
    """The rows that can be asked in a kind, forms among them."""
    return (row for row in learning_order(CATALOGUE) if can_ask(row, kind))


def on_rung(kind: Kind, place: int) -> Wishes:
    """The conditions of a rung, everything else plain; those of a kind without a ladder too."""
    return Wishes().on(rung(kind, place), place) if kind in LADDERS else Wishes()


def chorus(
    *placed: str,
    form: str = "twelve-bar",
    in_key: str = "A",
    item: str = "walk-up-one-four",
    base: str = "two-beat",
    seed: int = 1,
) -> Question:
    """A `place` question about a chorus that holds what is given, as `bar:device`."""
    return _about_a_chorus(Kind.PLACE, item, form, in_key, base, seed, placed, ())


def form_call(form: str, *options: str, in_key: str = "A", seed: int = 1) -> Question:
    """A `form` question; the options are forms."""
    return _about_a_chorus(Kind.FORM, form, form, in_key, "two-beat", seed, (), options)


def _about_a_chorus(
    kind: Kind,
    item: str,
    form: str,
    in_key: str,
    base: str,
    seed: int,
    placed: tuple[str, ...],
    options: tuple[str, ...],
) -> Question:
    played = CATALOGUE.form(form)
    return Question(
        kind=kind,
        item=item,
        device="",
        key=Key(key(in_key).tonic, played.minor),
        tempo=100.0,
        feel="shuffle",
        texture="band",
        form=form,
        base=base,
        bar=1,
        first=1,
        last=len(played),
        low=E1,
        register="low",
        comping="electric-piano",
        seed=seed,
        options=options,
        placed=placed,
    )


def graded(asked: Question, text: str, names: NoteNames = ENGLISH) -> Grade:
    """The grade of a typed line."""
    return grade_line(asked, text, names, CATALOGUE)


def answered(asked: Question, text: str) -> Grade:
    """The grade of an answer of any kind, as it is given."""
    return grade_reply(asked, text, ENGLISH, CATALOGUE)
