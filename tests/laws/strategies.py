"""What the property tests draw from: music at random, and texts chosen to be awkward."""

from hypothesis import strategies as st

from engine.catalogue import Device, Family, builtin_catalogue, doubled, places
from engine.feels import Feel
from engine.forms import Form, builtin_forms
from engine.line import Compass
from engine.notation import NoteNames
from engine.pattern import Mark, Pattern, parse_pattern
from engine.plan import Plan, excerpt, plan_choruses
from engine.theory import LETTERS, PLAYED_KEYS, TONICS, Degree, Key, Midi, Note
from engine.timing import FASTEST, SLOWEST

TRADE_DEGREES = tuple(
    Degree(number, alter)
    for number, alter in (
        (1, 0),
        (2, -1),
        (2, 0),
        (3, -1),
        (3, 0),
        (4, 0),
        (4, 1),
        (5, -1),
        (5, 0),
        (6, -1),
        (6, 0),
        (7, -1),
        (7, 0),
        (8, 0),
    )
)
"""1 b2 2 b3 3 4 #4 b5 5 b6 6 b7 7 8: the degrees that charts and teachers use."""

AWKWARD_TEXTS = (
    "",
    " ",
    "\t\n",
    "-",
    "|",
    ",",
    "'",
    "b",
    "bb",
    "B",
    "b b",
    "bbb",
    "bbbb",
    "#",
    "##1",
    "b9",
    "0",
    "9",
    "10",
    "1 b",
    "1 A",
    "R",
    "root",
    "r 3 4",
    "h",
    "H",
    "Heses",
    "Bes",
    "es",
    "as",
    "♭",
    "♯",
    "𝄫",
    "𝄪3",
    "E♮",
    "é",
    "re\u0301",
    "RÉ",
    "ſ",
    "aſ",
    "mİ",
    "sı",
    "\u212a",  # signs that match s, i and k when case is ignored
    "٣",
    "１",
    "Ⅳ",
    "²",  # digits that are no ASCII digits
    "\x00",
    "\x1b[2J",
    "1\r2",
    "1\u202e2",
    "\ud800",
    "\u2028",
    "a\u0301\u0301\u0301",
    "🎸",
    "1 🎸 3",
    "[/]",
    "[bold]1[/bold]",
    "G7[b13]",
    "%s",
    "{0}",
    "../..",
    "NaN",
    "1e9",
    "1" * 200,
    "1" * 201,
    "b" * 199 + "z",
    "Ab" * 99 + "?",
    "#" * 180,
    " " * 500,
    "x" * 100_000,
)
"""Texts that once broke a parser, or look as if they could."""

SEEDS = st.integers(0, 2**32)
TEMPI = st.integers(round(SLOWEST * 10), round(FASTEST * 10)).map(lambda tenths: tenths / 10)

notes = st.builds(Note, st.sampled_from(LETTERS), st.integers(-2, 2))
tonics = st.sampled_from(TONICS)
degrees = st.builds(Degree, st.integers(1, 8), st.integers(-2, 2))
trade_degrees = st.sampled_from(TRADE_DEGREES)
played_keys = st.sampled_from(PLAYED_KEYS)

awkward_texts = st.one_of(
    st.sampled_from(AWKWARD_TEXTS),
    st.text(max_size=60),
    st.text(st.sampled_from("1234567890bB#♭♯𝄫𝄪 ,-|'ACEFGhHsSiIeErRdomlaſİıx()*~+"), max_size=40),
)

TYPED_DEGREES = ("1", "b3", "♭7", "#4", "♯4", "R", "root", "ROOT", "8'", "5’", "bb7", "𝄫7", "B6")
TYPED_NOTES = {
    NoteNames.ENGLISH: ("A", "a", "b", "B", "Bb", "bb", "b♭", "F♯", "fx", "C##", "E♮", "a2", "G''"),
    NoteNames.GERMAN: ("A", "h", "B", "b", "Es", "AS", "ases", "fis", "F#", "E♭", "Heses", "Cisis"),
    NoteNames.SOLFEGE: ("la", "SIB", "Si♭", "ti", "Do#", "ré", "RÉ", "sol♯", "Mibb", "fa'"),
}


@st.composite
def typed_lines(draw: st.DrawFn) -> tuple[str, NoteNames, int]:
    """A line as somebody may type it, the language it is in, and how many notes it has."""
    names = draw(st.sampled_from(NoteNames))
    pool = draw(st.sampled_from((TYPED_DEGREES, TYPED_NOTES[names])))
    line = draw(st.lists(st.sampled_from(pool), min_size=1, max_size=16))
    between = draw(st.sampled_from((" ", ", ", "  ", " - ", "|", ";", "\n", " — ")))
    ends = draw(st.sampled_from(("", " ", "\t", " |", ", ")))
    return ends + between.join(line) + ends, names, len(line)


CATALOGUE = builtin_catalogue()
PLAYABLE = (*CATALOGUE.turnarounds(), *CATALOGUE.family(Family.PICKUP, Family.ENDING))
"""Every device that can be placed in a form, not doubled."""

BASES = CATALOGUE.family(Family.BASE)
PLAIN_BASES = tuple(
    base
    for base in BASES
    if all(step.what is not Mark.LEAD for way in base.alternatives for step in way.steps)
)
"""The base patterns without a leading note."""


def with_doubled(device: Device) -> st.SearchStrategy[Device]:
    """The device, and doubled where it has quarters to double."""
    if device.pattern == device.pattern.doubled():
        return st.just(device)
    return st.sampled_from((device, doubled(device)))


playable = st.sampled_from(PLAYABLE).flatmap(with_doubled)


@st.composite
def pattern_texts(draw: st.DrawFn) -> str:
    """A pattern of one to three bars as a catalogue could write it."""
    tone = st.tuples(degrees.map(str), st.sampled_from(("", "", ",", "'", ",,"))).map("".join)
    token = st.one_of(tone, tone, st.sampled_from([mark.value for mark in Mark]))
    beat = st.one_of(token, token, st.tuples(token, token).map(lambda two: f"({' '.join(two)})"))
    first = draw(tone)
    beats = draw(
        st.integers(1, 3).flatmap(lambda bars: st.lists(beat, min_size=4 * bars, max_size=4 * bars))
    )
    beats[0] = first
    bars = [" ".join(beats[start : start + 4]) for start in range(0, len(beats), 4)]
    arrival = draw(st.one_of(st.none(), tone))
    return " | ".join(bars if arrival is None else [*bars, arrival])


patterns: st.SearchStrategy[Pattern] = pattern_texts().map(parse_pattern)


@st.composite
def placements(draw: st.DrawFn, form: Form) -> list[tuple[int, int, Device]]:
    """Up to three devices at places of their own in one chorus, apart from each other."""
    chosen: list[tuple[int, int, Device]] = []
    free = 1
    for device in draw(st.lists(playable, max_size=3)):
        allowed = [bar for bar in places(device, form) if bar >= free]
        if allowed:
            bar = draw(st.sampled_from(allowed))
            chosen.append((0, bar, device))
            free = bar + device.pattern.bars
    return chosen


@st.composite
def plans(draw: st.DrawFn, bases: tuple[Device, ...] = BASES) -> Plan:
    """One chorus of any form, in any key, feel and tempo, with devices."""
    form = draw(st.sampled_from(builtin_forms()))
    return plan_choruses(
        form,
        Key(draw(played_keys).tonic, form.minor),
        draw(st.sampled_from(Feel)),
        draw(TEMPI),
        draw(st.sampled_from(bases)),
        draw(placements(form)),
    )


@st.composite
def short_plans(draw: st.DrawFn, bars: int = 3, bases: tuple[Device, ...] = BASES) -> Plan:
    """An excerpt of at most `bars` bars and a landing."""
    whole = draw(plans(bases))
    last = draw(st.integers(0, len(whole.bars) - 2))
    return excerpt(whole, max(0, last - draw(st.integers(0, bars - 1))), last)


compasses = st.builds(
    lambda low, width: Compass(Midi(low), Midi(low + width), low + width / 2),
    st.integers(23, 40),
    st.integers(24, 36),
)
"""From two to three octaves: wide enough for every device in every key, mostly."""
