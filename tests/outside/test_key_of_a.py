"""Figures written out in A by hand.

Common practice, no source: a player wrote the notes out; the engine has to arrive at the same ones.
The pitches are checked with music21's scientific pitch names.
"""

import pytest
from music21 import pitch

from engine.catalogue import builtin_catalogue
from engine.feels import Feel
from engine.figure import figure, paths
from engine.forms import find_form
from engine.line import write_line
from engine.neck import FOUR_STRING, USUAL_NECK
from engine.plan import plan_choruses
from engine.theory import Key, Note

A = Key(Note("A"))


@pytest.mark.parametrize(
    ("name", "notes"),
    [
        # common practice, no source
        ("climb", "A C# D D#"),
        ("fall", "A G F# F"),
        ("dip", "E F E E E A"),
        ("late-five", "A D D# E A"),
        ("climb+plain-five", "A C# D D# E E E E A"),
        ("fall+plain-five", "A G F# F E E E E A"),
        ("walk-up-one-four", "A B C C# D"),
        ("walk-up-four-one", "D F# G G# A"),
        ("walk-up-one-five", "A C# D D# E"),
        ("walk-up-five-one", "E F# G G# A"),
        ("climb-flat-third+plain-five", "A C D D# E E E E A"),
        ("climb+dip", "A C# D D# E F E E E A"),
        ("climb+walk-up-from-four", "A C# D D# E D D# E A"),
        ("scale-climb+flat-six-five", "A B C# D F F E E A"),
        ("stay+late-five", "A A A A A D D# E A"),
        ("long-climb", "A B C C# D D# E E A"),
        ("one-six-two-five", "A A F# F# B B E E A"),
        ("three-six-two-five", "C# C# F# F# B B E E A"),
        ("one-four-one-five", "A A D D A A E E A"),
        ("scale-up-one-four", "A A B C# D"),
        ("scale-up-five-one", "E E F# G# A"),
        ("scale-down-four-one", "D D C# B A"),
        ("walk-down-four-one", "D C# C B A"),
        ("walk-down-five-four", "E E E D# D"),
        ("half-below-into-four", "C# D"),
        ("half-above-into-four", "Eb D"),
        ("fifth-into-four", "A D"),
        ("whole-above-into-four", "E D"),
        ("whole-below-into-four", "C D"),
        ("double-below", "G G# A"),
        ("double-above", "B Bb A"),
        ("sharp-four-bar", "D D D D D# D# D# D# E"),
        ("climb-half-above", "A C# D D# E Bb A"),
        ("fall-five-one", "A G F# F E E A"),
        ("run-up", "A A A A E F# G# A"),
        ("four-to-one", "A A D D A"),
        ("flat-six-five-one", "A A A A F E A"),
        ("stop-half-above", "A A A Bb A"),
        ("stop-half-below", "A A A G# A"),
        ("two-beat", "A E"),
        ("boogie", "A C# E F# G F# E C#"),
        ("box", "A A A A G G E E"),
        ("shuffle-line", "A C# E F# A F# E C#"),
        # the chain 1 7 b7 6 b6 5: R. Hutchinson, Music Theory for the 21st-Century Classroom, 21.7
        ("chromatic-fall", "A G# G F# F E E E A"),
        # from memory
        ("flat-three-flat-two", "A A C C B B Bb Bb A"),
        ("raised-one", "A A A# A# B B E E A"),
        ("enclosure-whole", "E C# D"),
        ("blues-run-down", "A G E Eb D C A"),
        ("chromatic-fall-ending", "E D# D C# C B Bb A"),
    ],
)
def test_a_figure_in_a_has_the_notes_a_player_writes(name: str, notes: str) -> None:
    drawn = figure(builtin_catalogue().find(name), A)
    assert notes == " ".join(str(note.note) for note in drawn.notes)


@pytest.mark.parametrize(
    ("name", "pitches"),
    [
        ("walk-up-one-four", ["A1", "B1", "C2", "C#2", "D2"]),
        ("climb", ["A1", "C#2", "D2", "D#2"]),
        ("fall", ["A2", "G2", "F#2", "F2"]),
        ("climb+dip", ["A1", "C#2", "D2", "D#2", "E2", "F2", "E2", "E2", "E2", "A1"]),
    ],
)
def test_a_figure_in_a_sounds_from_the_open_a_up(name: str, pitches: list[str]) -> None:
    drawn = figure(builtin_catalogue().find(name), A)
    assert [pitch.Pitch(text).midi for text in pitches] == list(drawn.pitches)


def test_the_walk_up_of_bar_4_lies_on_the_neck_where_players_find_it() -> None:
    # common practice, no source: E string fret 5, A string frets 2 3 4, then 5
    best = paths(figure(builtin_catalogue().find("walk-up-one-four"), A), USUAL_NECK, best=1)[0]
    named = [f"{FOUR_STRING.strings[place.string][0]}{place.fret}" for place in best.positions]
    assert ["E5", "A2", "A3", "A4", "A5"] == named


@pytest.mark.parametrize(
    ("name", "bar", "notes"),
    [
        ("climb+dip", 11, "A C# D D# E F E E E A"),
        ("fall+plain-five", 11, "A G F# F E E E E A"),
        ("stay+late-five", 11, "A A A A A D D# E A"),
        ("walk-up-one-four", 4, "A B C C# D"),
    ],
)
def test_the_line_plays_the_same_notes_in_the_tune(name: str, bar: int, notes: str) -> None:
    catalogue = builtin_catalogue()
    plan = plan_choruses(
        find_form("twelve-bar"),
        A,
        Feel.SHUFFLE,
        120,
        catalogue.find("two-beat"),
        [(0, bar, catalogue.find(name))],
    )
    line = [note for note in write_line(plan, seed=1) if note.device == name]
    assert notes == " ".join(str(note.note) for note in line)
