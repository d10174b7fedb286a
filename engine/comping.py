"""The keys: a chord that gives the key, then voice-led chords without roots, out of the bass's way.

Which chords, voicings and rhythms are played depends on the plan's chords, feel and endings and on
the seed. The bass only takes away: a voice is left out, or let go, where it would lie under the
bass or rub against it by a half step. So two lines over the same chords are accompanied alike but
for what they force. Every bar draws from generators of its own.

Which notes a chord has, and which voicing is near, is in `engine.voicings`.
"""

import random
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from engine.chords import Chord
from engine.drums import Stops, draw_main, find_stops, jitter, pair_of
from engine.feels import bar_tick, eighth_tick
from engine.plan import COUNT_IN_BARS, Plan
from engine.score import Instrument, NoteEvent, Part, Track
from engine.styles import Cell, Hit, Style, draw_style
from engine.theory import OCTAVE, Midi, nearest_tonic
from engine.timing import BEATS_PER_BAR, TICKS_PER_BAR, TICKS_PER_BEAT, Tick
from engine.voicings import Voicing, nearest, voicings

KEYS_CHANNEL = 1
LOWEST_KEY_ROOT = Midi(43)
"""The root of the key-giving chord is at or just above G2, where a piano is still clear."""

STAB = Tick(300)
GAP = Tick(TICKS_PER_BEAT // 24)
"""Between a chord and the next: the hand has to come up."""

SHORTEST = Tick(TICKS_PER_BEAT // 16)
"""A voice that would sound for less than this is left out."""

PLAIN_VELOCITY, STOP_VELOCITY, LANDING_VELOCITY = 80, 92, 88
VELOCITY_SPREAD = 4
TOP_LIFT = 3
"""How much louder the top voice is."""

CHANGE_OF_COLOUR = 0.3
"""How likely a bar that stays on its chord moves to another voicing of it."""


@dataclass(frozen=True, slots=True)
class _Strike:
    """A chord at a moment, before its voices are chosen."""

    start: Tick
    end: Tick
    chord: Chord
    velocity: int
    bar: int
    """Index into the bars of the plan."""


def comping_track(
    plan: Plan,
    bass: Sequence[NoteEvent],
    instrument: Instrument,
    seed: int,
    key_chord: bool = True,
) -> Track:
    """The keys of a plan over a bass line: the key-giving chord if wanted, comping, stops and
    landing."""
    style = draw_style(plan.feel, seed)
    strikes = _strikes(plan, style, seed)
    under = _by_bar(bass)
    notes = list(_key_chord(plan)) if key_chord else []
    for strike, voicing in zip(strikes, _voiced(plan, strikes, style, seed), strict=True):
        notes.extend(_sounding(plan, strike, voicing, under))
    ordered = tuple(sorted(notes, key=lambda note: (note.start, note.midi)))
    return Track(Part.KEYS, instrument, KEYS_CHANNEL, ordered)


def _key_chord(plan: Plan) -> Iterator[NoteEvent]:
    """The tonic seventh chord, root lowest, spread so that every voice is clear."""
    root = nearest_tonic(plan.key, LOWEST_KEY_ROOT)
    third = 3 if plan.form.minor or plan.key.minor else 4
    length = Tick(bar_tick(COUNT_IN_BARS) - TICKS_PER_BEAT // 2)
    for above in (0, 10, OCTAVE + third, OCTAVE + 7):
        yield NoteEvent(Tick(0), length, Midi(root + above), LANDING_VELOCITY)


# --- when ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Place:
    """A hit at a place of the plan; beats are counted from the start of the music."""

    cell: Cell
    chord: Chord
    velocity: int
    until: Cell | None = None
    push: bool = False
    last: bool = False
    """It rings to the end."""

    @property
    def beat(self) -> int:
        """The beat whose chord it plays."""
        return self.cell.beat + self.push


def _strikes(plan: Plan, style: Style, seed: int) -> list[_Strike]:
    """Every chord of the plan at its moment, each let go before the next."""
    chances = [random.Random(f"{seed}:keys-touch:{bar}") for bar in range(len(plan.bars))]
    strikes = [
        _strike(plan, place, chances[place.cell.beat // BEATS_PER_BAR])
        for place in _places(plan, style, seed)
    ]
    limits = [Tick(strike.start - GAP) for strike in strikes[1:]] + [plan.length]
    return [
        replace(strike, end=min(strike.end, limit))
        for strike, limit in zip(strikes, limits, strict=True)
    ]


def _strike(plan: Plan, place: _Place, chance: random.Random) -> _Strike:
    start = _tick(plan, place.cell) + jitter(plan, chance)
    spread = chance.randint(-VELOCITY_SPREAD, VELOCITY_SPREAD)
    return _Strike(
        start=Tick(start),
        end=_end(plan, place, Tick(start)),
        chord=place.chord,
        velocity=place.velocity + spread,
        bar=place.cell.beat // BEATS_PER_BAR,
    )


def _tick(plan: Plan, cell: Cell) -> Tick:
    return Tick(bar_tick(COUNT_IN_BARS) + cell.tick(plan.feel, plan.tempo))


def _end(plan: Plan, place: _Place, start: Tick) -> Tick:
    """Where the chord stops by itself: as written, and never behind the next change of chord."""
    if place.last:
        return plan.length
    written = _tick(plan, place.until) if place.until is not None else Tick(start + STAB)
    beat = place.beat
    while beat < _beats(plan) and _chord_at(plan, beat) == place.chord:
        beat += 1
    return min(written, Tick(_tick(plan, Cell(beat)) - GAP))


def _beats(plan: Plan) -> int:
    return len(plan.bars) * BEATS_PER_BAR


def _chord_at(plan: Plan, beat: int) -> Chord:
    return plan.chord(*divmod(beat, BEATS_PER_BAR))


def _places(plan: Plan, style: Style, seed: int) -> list[_Place]:
    stops = find_stops(plan)
    places: list[_Place] = []
    for bar, planned in enumerate(plan.bars):
        if not planned.landing:
            places.extend(_bar(plan, bar, style, seed, _pushed(places, bar)))
    if stops is None:
        return _before_landing(plan, places)
    return [place for place in places if place.beat < stops.first] + _stopped(plan, stops)


def _pushed(places: Sequence[_Place], bar: int) -> bool:
    """Whether the downbeat of the bar was played already, by a push out of the bar before."""
    return bool(places) and places[-1].push and places[-1].beat == bar * BEATS_PER_BAR


def _before_landing(plan: Plan, places: list[_Place]) -> list[_Place]:
    """The hits and the landing chord, if there is one; no push gives the landing away early."""
    last = len(plan.bars) - 1
    if not plan.bars[last].landing:
        return [place for place in places if place.beat < _beats(plan)]
    beat = last * BEATS_PER_BAR
    landing = _Place(Cell(beat), plan.bars[last].chords[0], LANDING_VELOCITY, last=True)
    return [*(place for place in places if place.beat < beat), landing]


def _stopped(plan: Plan, stops: Stops) -> list[_Place]:
    """Hits with the line at the stops of an ending; the last one is the chord of the landing."""
    cells = [Cell(spot.beat, int(spot.offbeat), 2) for spot in stops.spots]
    places = [
        _Place(cell, _chord_at(plan, cell.beat), STOP_VELOCITY, following)
        for cell, following in pairwise(cells)
    ]
    # the line is home and rings on into the landing, whatever the form's last bar says
    home = plan.bars[-1].chords[0]
    return [*places, _Place(cells[-1], home, LANDING_VELOCITY, last=True)]


def _bar(plan: Plan, bar: int, style: Style, seed: int, pushed: bool) -> list[_Place]:
    """The hits of a bar, with one for each change of chord that has none of its own."""
    first = bar * BEATS_PER_BAR
    changes = _changes(plan, bar)
    if len(changes) > 2:  # too quick for a rhythm of its own: a chord on each change
        places = [_on_beat(plan, beat) for beat in changes]
    else:
        places = [_placed(plan, hit, first) for hit in _rhythm(plan, bar, style, seed)]
    if pushed:
        places = [place for place in places if place.cell[:2] != (first, 0)]
    for beat, until in pairwise([*changes, first + BEATS_PER_BAR]):
        heard = any(beat <= place.beat < until for place in places)
        known = beat == first and (pushed or _same_as_before(plan, beat))
        if not heard and not known:
            places.append(_on_beat(plan, beat))
    return sorted(places, key=lambda place: place.cell.tick(plan.feel, plan.tempo))


def _changes(plan: Plan, bar: int) -> list[int]:
    """The beats of a bar, from the start of the music, on which a stretch of one chord begins."""
    first = bar * BEATS_PER_BAR
    return [
        beat
        for beat in range(first, first + BEATS_PER_BAR)
        if beat == first or not _same_as_before(plan, beat)
    ]


def _same_as_before(plan: Plan, beat: int) -> bool:
    return beat > 0 and _chord_at(plan, beat) == _chord_at(plan, beat - 1)


def _rhythm(plan: Plan, bar: int, style: Style, seed: int) -> Iterator[Hit]:
    """The hits that the style's rhythm has in this bar, beats counted from the bar's first."""
    pair, place = pair_of(plan, bar)
    rhythm = draw_main(style.comping, f"{seed}:comping:{pair}")
    first = place % rhythm.bars * BEATS_PER_BAR
    for hit in rhythm.hits:
        if first <= hit.cell.beat < first + BEATS_PER_BAR:
            yield replace(
                hit,
                cell=_shifted(hit.cell, -first),
                until=hit.until and _shifted(hit.until, -first),
            )


def _placed(plan: Plan, hit: Hit, first: int) -> _Place:
    cell = _shifted(hit.cell, first)
    until = hit.until and _shifted(hit.until, first)
    # a push out of the last bar has no chord to go to; it is dropped later
    target = min(cell.beat + hit.push, _beats(plan) - 1)
    return _Place(cell, _chord_at(plan, target), hit.velocity, until, hit.push)


def _on_beat(plan: Plan, beat: int) -> _Place:
    return _Place(Cell(beat), _chord_at(plan, beat), PLAIN_VELOCITY, Cell(beat + 1))


def _shifted(cell: Cell, beats: int) -> Cell:
    return cell._replace(beat=cell.beat + beats)


# --- which notes --------------------------------------------------------------------------------


def _voiced(plan: Plan, strikes: Iterable[_Strike], style: Style, seed: int) -> Iterator[Voicing]:
    """A voicing for each strike: the nearest, and the same one while the chord stays.

    Now and then a bar that stays on its chord moves to the next nearest, so that it is alive.
    """
    before: tuple[_Strike, Voicing] | None = None
    for strike in strikes:
        options = voicings(strike.chord, plan.key.tonic.pitch_class, plan.form.minor, style.voices)
        if before is None:
            voicing = nearest(None, options)
        elif before[0].chord != strike.chord:
            voicing = nearest(before[1], options)
        elif before[0].bar != strike.bar and _recoloured(strike.bar, seed) and len(options) > 1:
            voicing = nearest(before[1], [other for other in options if other != before[1]])
        else:
            voicing = before[1]
        yield voicing
        before = strike, voicing


def _recoloured(bar: int, seed: int) -> bool:
    return random.Random(f"{seed}:colour:{bar}").random() < CHANGE_OF_COLOUR


# --- out of the way of the bass -----------------------------------------------------------------


def _by_bar(bass: Iterable[NoteEvent]) -> dict[int, list[NoteEvent]]:
    """The bass notes that sound in each bar of the score."""
    bars: dict[int, list[NoteEvent]] = defaultdict(list)
    for note in bass:
        for bar in _bars_of(note.start, note.end):
            bars[bar].append(note)
    return bars


def _bars_of(start: Tick, end: Tick) -> range:
    return range(start // TICKS_PER_BAR, (end - 1) // TICKS_PER_BAR + 1)


def _sounding(
    plan: Plan, strike: _Strike, voicing: Voicing, under: dict[int, list[NoteEvent]]
) -> list[NoteEvent]:
    """The voices of a strike that are clear of the bass, each for as long as it is."""
    bass = [
        note
        for bar in _bars_of(strike.start, strike.end)
        for note in under.get(bar, ())
        if note.start < strike.end and strike.start < note.end
    ]
    above = _above(strike, voicing, bass)
    while len(above) < 2:  # a bass this high: the hand moves up an octave
        voicing = tuple(Midi(voice + OCTAVE) for voice in voicing)
        above = _above(strike, voicing, bass)
    ends = _unrubbed(plan, strike, above, bass)
    return [
        NoteEvent(
            strike.start,
            Tick(end - strike.start),
            voice,
            strike.velocity + (TOP_LIFT if voice == max(ends) else 0),
        )
        for voice, end in ends.items()
    ]


def _above(strike: _Strike, voicing: Voicing, bass: Sequence[NoteEvent]) -> dict[Midi, Tick]:
    """The voices that start above the bass, with the tick where the bass comes up to them."""
    ends = {
        voice: min([strike.end, *(note.start for note in bass if note.midi >= voice)])
        for voice in voicing
    }
    return {voice: end for voice, end in ends.items() if end - strike.start >= SHORTEST}


def _unrubbed(
    plan: Plan, strike: _Strike, above: dict[Midi, Tick], bass: Sequence[NoteEvent]
) -> dict[Midi, Tick]:
    """The voices with the ticks where they are let go so as not to rub against the bass.

    A rub is a half step, octaves aside, for more than a moment against a note longer than an
    eighth, unless both belong to the chord. Two voices stay in any case, those first that stand a
    major seventh over the bass: it is milder than a minor ninth.
    """
    long = eighth_tick(plan.feel, plan.tempo)
    home = strike.chord.pitch_classes(plan.key.tonic)
    rubs = [
        (voice, note)
        for voice in above
        for note in bass
        if note.length > long
        and (voice - note.midi) % OCTAVE in (1, OCTAVE - 1)
        and not {voice % OCTAVE, note.midi % OCTAVE} <= home
        and min(above[voice], note.end) - max(strike.start, note.start) >= SHORTEST
    ]
    ends = dict(above)
    for voice, note in rubs:
        ends[voice] = min(ends[voice], note.start)
    kept = {voice for voice, end in ends.items() if end - strike.start >= SHORTEST}
    ninths = {voice for voice, note in rubs if (voice - note.midi) % OCTAVE == 1}
    mildest = sorted(above.keys() - kept, key=lambda voice: (voice in ninths, voice))
    restored = mildest[: max(0, 2 - len(kept))]
    return {
        voice: ends[voice] if voice in kept else above[voice]
        for voice in above
        if voice in kept or voice in restored
    }
