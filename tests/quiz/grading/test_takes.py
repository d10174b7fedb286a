"""What was played, as a text and as a grade."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import MusicInputError
from engine.listening.notes import PlayedNote
from engine.score import Part
from engine.theory import Midi
from engine.timing import TICKS_PER_BEAT, Tick
from quiz.answers import GIVEN_KEPT, Verdict
from quiz.display.feedback import feedback_lines
from quiz.display.wording import question_sentence
from quiz.grading.takes import MOST_NOTES, question_grid, read_played, write_played
from quiz.grading.tried import Retake, played_back, tried_device
from quiz.questions.kinds import Kind
from tests.quiz.asking import CATALOGUE, answered, made, question

CLIMB = question("climb+plain-five", "A", Kind.PLAY)  # 1 3 4 #4 | 5 5 5 5, bars 11 and 12, 100 bpm
RIGHT = "33@0 37@1 38@2 39@3 40@4 40@5 40@6 40@7"


def graded(text: str) -> tuple[Verdict, str]:
    grade = answered(CLIMB, text)
    return grade.verdict, grade.said


def test_the_question_tells_the_key() -> None:
    assert (
        "In A, play what the bass plays in bars 11 and 12, in any octave, after a bar of counting."
        == question_sentence(CLIMB, CATALOGUE)
    )


@pytest.mark.parametrize(
    ("text", "verdict", "said"),
    [
        (RIGHT, Verdict.RIGHT, "Right notes; in time."),
        ("45@0 37@1 50@2 39@3 28@4 40@5 40@6 40@7", Verdict.RIGHT, "Right notes; in time."),
        (f"{RIGHT} 33@8", Verdict.RIGHT, "Right notes; in time."),  # the downbeat arrived at
        # 600 ms a beat: 80 ms are 0.133 beats
        (
            RIGHT.replace("38@2", "38@1.867"),
            Verdict.RIGHT,
            "Right notes; beat 3 came 80 ms early.",
        ),
        (RIGHT.replace("37@1", "36@1"), Verdict.PARTLY, "Beat 2 wants 3; in time."),
        (RIGHT.replace(" 39@3", ""), Verdict.PARTLY, "Beat 4: #4 is missing; in time."),
        ("none", Verdict.WRONG, "Nothing was played."),
    ],
)
def test_notes_order_and_time_are_graded_apart(text: str, verdict: Verdict, said: str) -> None:
    assert (verdict, said) == graded(text)


def test_a_wrong_note_is_told_with_its_bar_and_both_names() -> None:
    lines = feedback_lines(CLIMB, answered(CLIMB, RIGHT.replace("37@1", "36@1")), CATALOGUE)
    assert "bar 11, beat 2: you played b3 (C) where the line has 3 (C#)" in lines


@pytest.mark.parametrize(
    "text", ["", "33", "33@", "@1", "128@0", "33@1.0001", "33@x", "²³@1", "A1@0"]
)
def test_a_text_that_is_no_take_is_refused_with_what_one_looks_like(text: str) -> None:
    with pytest.raises(MusicInputError, match="33@0"):
        read_played(text, CLIMB)


PLAYED = st.lists(
    st.builds(
        PlayedNote,
        onset=st.floats(-1, 40),
        length=st.just(0.2),
        midi=st.integers(0, 127).map(Midi),
    ),
    min_size=1,
    max_size=MOST_NOTES,
)


@given(PLAYED)
def test_a_take_is_read_as_it_was_written_to_a_thousandth_of_a_beat(
    notes: list[PlayedNote],
) -> None:
    notes = sorted(notes, key=lambda note: note.onset)
    text = write_played(notes, question_grid(CLIMB))
    assert len(text) <= GIVEN_KEPT
    read = read_played(text, CLIMB)
    assert sorted(note.midi for note in notes) == sorted(note.midi for note in read)
    apart = [abs(a.onset - b.onset) for a, b in zip(notes, read, strict=True)]
    assert max(apart) <= 0.0005 * question_grid(CLIMB).beat_seconds + 1e-9
    assert text.split() == sorted(text.split(), key=lambda word: float(word.split("@")[1]))


def test_nothing_played_is_a_text_too() -> None:
    assert "none" == write_played((), question_grid(CLIMB))
    assert () == read_played("none", CLIMB)


# --- heard again --------------------------------------------------------------------------------


def bass(retake: Retake) -> list[tuple[int, Tick]]:
    _, score = retake.passage(CATALOGUE)
    track = score.track(Part.BASS)
    assert track is not None
    return [(note.midi, note.start) for note in track.notes]


def test_a_take_is_heard_at_its_own_moments_in_place_of_the_figure() -> None:
    retake = played_back(CLIMB, "33@0 36@1.25 38@2")
    assert retake is not None
    first = (1 + CLIMB.bar - CLIMB.first) * 4 * TICKS_PER_BEAT
    inside = [row for row in bass(retake) if row[1] >= first]
    assert [(33, first), (36, first + 1200), (38, first + 2 * 960)] == inside[:3]
    figure = first + 8 * TICKS_PER_BEAT
    assert not [row for row in inside[3:] if row[1] < figure]
    assert len(bass(retake)) > len(inside)  # what leads up to it is heard as it was


def test_heard_slower_a_take_keeps_its_beats() -> None:
    usual, slower = played_back(CLIMB, RIGHT), played_back(CLIMB, RIGHT, 0.75)
    assert usual is not None
    assert slower is not None
    assert 75 == slower.passage(CATALOGUE)[1].tempo
    straight = replace(CLIMB, feel="straight")
    assert bass(Retake(replace(usual.excerpt, question=straight), usual.notes)) == bass(
        Retake(replace(slower.excerpt, question=straight), slower.notes)
    )


def test_there_is_nothing_to_hear_of_other_kinds_and_of_silence() -> None:
    assert played_back(CLIMB, "none") is None
    assert played_back(CLIMB, "") is None
    assert played_back(made("climb", Kind.WRITE), RIGHT) is None
    assert tried_device(CLIMB, answered(CLIMB, "33@0"), CATALOGUE) is None
