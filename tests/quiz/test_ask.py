"""Line mode in every kind: a line in, a line out."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from quiz.ask import LineRound, Said
from quiz.display.cautions import HANDS
from quiz.grading.replies import right_reply
from quiz.learning.material import Only
from quiz.questions.kinds import KINDS, ROUND_KINDS, Kind
from quiz.questions.value import Question, from_parameters
from quiz.settings.values import Settings
from quiz.workbench import Workbench
from tests.quiz.asking import CATALOGUE
from tests.quiz.benches import opened
from tests.quiz.test_round_kinds import IN_A, ITEMS, at_rung


def only(kind: Kind) -> Only:
    return Only(kinds=(kind,), devices=(ITEMS[kind],), keys=IN_A, playing=True)


def coming(bench: Workbench) -> Question:
    """The question that will be asked first."""
    bench.coach.look_ahead()
    ahead = bench.coach._ahead
    assert ahead is not None
    return ahead[1].question


def said(bench: Workbench, lines: Sequence[str], count: int = 1) -> list[Said]:
    """Everything that goes out while these lines come in."""
    out: list[Said] = []
    LineRound(bench, out.append, None).run(iter(lines), count)
    return out


def of(event: str, out: Sequence[Said]) -> list[Said]:
    return [one for one in out if one.data["event"] == event]


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_the_right_answer_is_told_right_and_kept(tmp_path: Path, kind: Kind) -> None:
    with opened(tmp_path, only(kind)) as bench:
        question = coming(bench)
        out = said(bench, [right_reply(question, bench.catalogue)])
        (asked,), (answer,) = of("question", out), of("answer", out)
        (kept,) = bench.store.answers()
    assert kind.value == asked.data["kind"]
    assert ("right", 1.0, True) == (
        answer.data["verdict"],
        answer.data["score"],
        answer.data["kept"],
    )
    assert answer.text.startswith("Right: ")
    assert answer.text.endswith("Kept.")
    assert ("right", question) == (kept.verdict, from_parameters(kept.question))
    assert {"event": "end", "answered": 1, "right": 1} == out[-1].data


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_who_gives_up_is_told_the_answer(tmp_path: Path, kind: Kind) -> None:
    with opened(tmp_path, only(kind)) as bench:
        (answer,) = of("answer", said(bench, ["?"]))
    assert "given up" == answer.data["verdict"]
    assert answer.text.startswith(f"It was {answer.data['answer']}.")


RUBBISH = ("", "z" * 1000, "\x00\x07", "\N{GUITAR}", "[b]", "9" * 30, "1\u202e2", "\udcff")


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_rubbish_gets_a_printable_line_and_the_question_stays(tmp_path: Path, kind: Kind) -> None:
    with opened(tmp_path, only(kind), silent="no sound") as bench:
        out = said(bench, RUBBISH)
        assert 0 == bench.store.count()
    errors = of("error", out)
    assert len(RUBBISH) == len(errors)
    assert all(error.text and error.text.isprintable() for error in errors)
    assert {"event": "end", "answered": 0, "right": 0} == out[-1].data


def test_a_choice_is_made_by_number_by_id_or_by_name(tmp_path: Path) -> None:
    for turn in range(3):
        with opened(tmp_path / str(turn), only(Kind.FORM)) as bench:
            question = coming(bench)
            number = str(question.options.index("quick-change") + 1)
            line = (number, "quick-change", "Quick Change")[turn]
            (answer,) = of("answer", said(bench, [line]))
            assert "right" == answer.data["verdict"]


def test_a_form_is_told_with_what_gives_it_away(tmp_path: Path) -> None:
    with opened(tmp_path, only(Kind.FORM)) as bench:
        out = said(bench, ["quick-change"])
    (asked,), (answer,) = of("question", out), of("answer", out)
    assert asked.data["form"] is None
    assert "What gives it away: Bar 2 already goes to the four" in answer.text
    assert "quick change" == answer.data["answer"]


def test_bars_are_typed_and_told_bar_by_bar(tmp_path: Path) -> None:
    with opened(tmp_path, only(Kind.PLACE)) as bench:
        right = right_reply(coming(bench), bench.catalogue).split()
        free = next(str(bar) for bar in range(1, 9) if str(bar) not in right)
        (answer,) = of("answer", said(bench, [f"{right[0]}, {free}"]))
    assert [right[0]] == answer.data["hits"]
    assert right[1:] == answer.data["misses"]
    assert [free] == answer.data["false_alarms"]
    assert f"a false alarm in bar {free}" in answer.text


def test_no_bar_is_an_answer_too(tmp_path: Path) -> None:
    nothing = Only(kinds=(Kind.PLACE,), devices=("stay-on-one",))
    with opened(tmp_path, nothing) as bench:
        (answer,) = of("answer", said(bench, ["none"]))
    assert ("right", "no bar at all") == (answer.data["verdict"], answer.data["answer"])


def test_figures_are_ticked_by_their_numbers_and_kept_by_their_ids(tmp_path: Path) -> None:
    with opened(tmp_path, only(Kind.FIT)) as bench:
        question = coming(bench)
        right = right_reply(question, bench.catalogue).split()
        numbers = " ".join(str(question.options.index(one) + 1) for one in right)
        (answer,) = of("answer", said(bench, [numbers]))
        (kept,) = bench.store.answers()
    assert "right" == answer.data["verdict"]
    assert right == answer.data["hits"]
    assert " ".join(right) == kept.given
    lines = answer.data["feedback"]
    assert isinstance(lines, list)
    assert len(question.options) == len(lines)


def test_a_line_of_places_is_told_with_the_path_that_asks_less_of_the_hand(
    tmp_path: Path,
) -> None:
    with opened(tmp_path, only(Kind.FIND)) as bench:
        out = said(bench, ["again", "E25", "E5 E9 E10 E11"])
        (kept,) = bench.store.answers()
    (asked,), (error,), (answer,) = of("question", out), of("error", out), of("answer", out)
    assert (0.05, ["E", "A", "D", "G"], 20, "degrees", False) == tuple(
        asked.data[name] for name in ("guess_rate", "strings", "frets", "told", "octave_counts")
    )
    assert "strings E, A, D, G; frets 0 (open) to 20; such as E5 A2" in asked.text
    assert HANDS in asked.text  # the first question on the neck
    assert error.text.startswith("'E25' is beyond the neck")
    assert ("right", 1) == (answer.data["verdict"], kept.playings)
    frets = [("E", 5), ("A", 4), ("A", 5), ("A", 6)]
    assert [{"string": name, "fret": fret} for name, fret in frets] == answer.data["positions"]
    assert "that saves 3 frets of hand movement" in answer.text


def test_nothing_said_before_the_answer_gives_it_away(tmp_path: Path) -> None:
    for kind in ROUND_KINDS:
        with opened(tmp_path / kind.value, only(kind)) as bench:
            question = coming(bench)
            (asked,) = of("question", said(bench, []))
        named = {name for name in asked.data if name not in ("options", "sentence")}
        values = [asked.data[name] for name in named]
        assert question.device not in values or not question.device
        assert not {"item", "device", "placed", "varies", "seed"} & named
        if not question.options and kind not in (Kind.SPELL, Kind.FIND):
            name = CATALOGUE.name(question.item)
            assert name not in asked.text


@pytest.mark.parametrize("kind", [Kind.PLACE, Kind.FIT, Kind.FORM, Kind.NAME, Kind.WRITE])
def test_the_key_is_said_only_where_a_chord_gives_it(tmp_path: Path, kind: Kind) -> None:
    for rung, told in ((0, True), (9, False)):
        with opened(tmp_path / str(rung), only(kind)) as bench:
            at_rung(bench, kind, rung)
            (asked,) = of("question", said(bench, []))
        assert told == (asked.data["key"] is not None)
        assert told == (asked.data["playings"] is None)


def test_a_question_may_be_heard_only_as_often_as_it_says(tmp_path: Path) -> None:
    with opened(tmp_path, only(Kind.PLACE)) as bench:
        at_rung(bench, Kind.PLACE, 4)  # two playings
        out = said(bench, ["again", "again", "slower", "none"])
        (kept,) = bench.store.answers()
    told = [one.text for one in of("error", out)]
    assert ["it may be heard 2 times: answer now"] * 2 == told
    assert (2, False) == (kept.playings, kept.slowed)


def test_a_single_playing_is_called_once(tmp_path: Path) -> None:
    with opened(tmp_path, only(Kind.FORM)) as bench:
        at_rung(bench, Kind.FORM, 4)
        (error,) = of("error", said(bench, ["again"]))
    assert "it may be heard once: answer now" == error.text


def test_a_variant_is_picked_as_one(tmp_path: Path) -> None:
    with opened(tmp_path, only(Kind.NAME)) as bench:
        at_rung(bench, Kind.NAME, 5)
        question = coming(bench)
        assert question.variants
        out = said(bench, [str(question.picks.index(question.right) + 1)])
    (asked,), (answer,) = of("question", out), of("answer", out)
    assert "It may come as a variant." in asked.text
    assert "right" == answer.data["verdict"]
    options = asked.data["options"]
    assert isinstance(options, list)
    assert 2 * len(question.options) == len(options)


def test_a_round_of_all_kinds_runs_to_its_end(tmp_path: Path) -> None:
    with opened(tmp_path, Only(playing=True), Settings(daily_questions=400)) as bench:
        out = said(bench, ["?"] * 30, count=30)
        kinds = {one.data["kind"] for one in of("question", out)}
        assert 30 == bench.store.count()
    assert {kind.value for kind in ROUND_KINDS} == kinds
    labels = {KINDS[Kind(str(kind))].label for kind in kinds}
    assert all(any(label in one.text for one in of("question", out)) for label in labels)


def test_what_is_left_and_why_it_is_asked_is_said(tmp_path: Path) -> None:
    with opened(tmp_path, Only(kinds=(Kind.SPELL,))) as bench:
        out = said(bench, ["?"] * 13, count=13)
    asked, told = of("question", out), of("answer", out)
    assert "(new)" in asked[0].text
    assert "Left today: 11 new." in told[0].text
    assert {"due": 0, "new": 11, "later": 0} == told[0].data["left"]
    assert "Nothing is due any more today" in told[11].text
    assert "nothing is due: ahead of time" in asked[12].text


def test_a_placement_goes_to_its_end_and_says_what_it_found(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        bench.place()
        lines = ["?"] * 24
        out = said(bench, lines, count=bench.coach.probes_left)
        answers = list(bench.store.answers())
        (found,) = of("placement", out)
        assert "heads not yet" in found.text
        assert 10 < len(answers) <= 24
        assert {"placement"} == {answer.why for answer in answers}
        assert bench.coach.over


def test_a_placement_that_is_stopped_goes_on_where_it_was(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        bench.place()
        out = said(bench, ["?", "?", "quit"], count=24)
        assert of("placement", out)
        assert 22 == bench.coach.probes_left
        asked = {(answer.device, answer.kind) for answer in bench.store.answers()}
        bench.place()
        question = bench.coach.next().question
        assert (question.item, question.kind.value) not in asked


def test_an_unanswered_question_leaves_no_trace(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        said(bench, ["again", "quit"], count=3)
        assert 0 == bench.store.count()
        assert 0 == bench.coach.today().asked


# --- taking an answer back ----------------------------------------------------------------------


def test_an_answer_is_taken_back_and_its_question_asked_again(tmp_path: Path) -> None:
    with opened(tmp_path, only(Kind.SPELL)) as bench:
        question = coming(bench)
        right = right_reply(question, bench.catalogue)
        out = said(bench, ["?", "undo", right], count=2)
        (kept,) = bench.store.answers()
        assert 2 == len(list(bench.store.every_answer()))
    events = [one.data["event"] for one in out]
    told = ["hello", "question", "answer", "question", "undo", "question", "answer", "question"]
    assert [*told, "end"] == events
    first, _, again, _ = of("question", out)
    assert (first.data, first.text) == (again.data, again.text)
    (undo,) = of("undo", out)
    assert {"event": "undo", "number": 1, "kept": True, "problem": None} == undo.data
    assert "Taken back." == undo.text
    assert ("right", question) == (kept.verdict, from_parameters(kept.question))
    assert {"event": "end", "answered": 1, "right": 1} == out[-1].data


def test_only_one_answer_can_be_taken_back_and_only_after_it_was_given(tmp_path: Path) -> None:
    with opened(tmp_path, only(Kind.SPELL)) as bench:
        out = said(bench, ["undo", "?", "undo", "undo", "?"], count=3)
        assert 1 == bench.store.count()
    assert ["there is no answer to take back: answer first"] * 2 == [
        error.text for error in of("error", out)
    ]
    assert 1 == len(of("undo", out))


def test_what_was_taken_back_stays_so_after_another_start(tmp_path: Path) -> None:
    with opened(tmp_path, only(Kind.SPELL)) as bench:
        said(bench, ["?", "undo"], count=2)
        assert 0 == bench.coach.today().asked
    with opened(tmp_path, only(Kind.SPELL)) as bench:
        assert (0, 0) == (bench.store.count(), bench.coach.today().asked)
        assert {} == bench.store.practice().states


def test_the_first_line_names_the_words_that_are_no_answers(tmp_path: Path) -> None:
    with opened(tmp_path, only(Kind.SPELL)) as bench:
        (hello,) = of("hello", said(bench, []))
    words = hello.data["words"]
    assert isinstance(words, list)
    assert "undo" in words
    assert all(word in hello.text for word in words)
