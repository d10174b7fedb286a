"""`lastbar hear --file`: what was played in a recording."""

from typing import TYPE_CHECKING

from engine.errors import MusicInputError
from quiz.commands.given import key_of, load_own, there
from quiz.commands.output import OK, say, say_data

if TYPE_CHECKING:
    from argparse import Namespace

    from engine.catalogue import Catalogue
    from engine.listening.naming import Match, Naming
    from engine.listening.notes import Take
    from engine.theory import Key

ALSO_SHOWN = 4
"""Other names that the text lists; the data holds all."""

ALONE = "It is compared with one figure alone: leave out what comes before and after it."


def run_hear_file(options: "Namespace") -> int:
    """`lastbar hear --file FILE`."""
    from engine.listening.naming import name_line
    from engine.listening.takes import hear_take
    from engine.timing import checked_tempo
    from quiz.playing.recordings import read_recording

    if options.out is not None:
        raise MusicInputError("--out writes what is played: leave it out with --file")
    tempo = None if options.tempo is None else checked_tempo(options.tempo)
    key = None if options.key is None else key_of(options.key)
    catalogue, recording = load_own(options.catalogue), read_recording(there(options.file))
    take = hear_take(recording.samples, recording.rate)
    naming = name_line(take.notes, catalogue, key, tempo)
    if options.json:
        say_data(_data(take, naming, key, catalogue) | {"file": str(options.file)})
    else:
        for line in _lines(take, naming, key, catalogue):
            say(line)
    return OK


def _told_key(naming: "Naming", key: "Key | None") -> "Key | None":
    """The key that degrees are counted in: the stated one, or that of the figure."""
    from engine.listening.naming import Standing

    if key is not None or naming.nearest is None or naming.standing is Standing.NONE:
        return key
    return naming.nearest.key


def _data(
    take: "Take", naming: "Naming", key: "Key | None", catalogue: "Catalogue"
) -> dict[str, object]:
    told = _told_key(naming, key)
    nearest = naming.nearest
    return {
        "seconds": round(take.seconds, 3),
        "tuning_cents": take.tuning,
        "key": None if told is None else str(told),
        "key_stated": key is not None,
        "verdict": naming.standing.value,
        "nearest": None if nearest is None else _match_data(nearest, catalogue),
        "also": [_match_data(match, catalogue) for match in naming.also],
        "notes": [
            {
                "onset": round(note.onset, 3),
                "length": round(note.length, 3),
                "midi": note.midi,
                "cents": note.cents,
                "confidence": round(note.confidence, 3),
                "note": name,
                "degree": degree,
            }
            for note, name, degree in zip(take.notes, *_names(take, told), strict=True)
        ],
    }


def _match_data(match: "Match", catalogue: "Catalogue") -> dict[str, object]:
    from engine.listening.naming import find_name

    return {
        "device": match.device,
        "name": find_name(match, catalogue),
        "key": str(match.key),
        "distance": match.distance,
        "change": match.change,
        "tempo": match.tempo,
        "differs": list(match.differs),
    }


def _names(take: "Take", key: "Key | None") -> tuple[list[str], list[str | None]]:
    """The notes by name, spelled in the key where there is one, and their degrees."""
    from engine.listening.naming import degree_above
    from engine.notation import NoteNames, format_note
    from engine.theory import Key, Note, spell
    from quiz.locations import locate
    from quiz.settings.values import load

    language = NoteNames(load(locate().settings).settings.note_names)
    home = key or Key(Note("C"))
    degrees = [degree_above(note.above(home)) for note in take.notes]
    names = [format_note(spell(degree, home.tonic), language) for degree in degrees]
    return names, [None if key is None else str(degree) for degree in degrees]


def _lines(take: "Take", naming: "Naming", key: "Key | None", catalogue: "Catalogue") -> list[str]:
    told = _told_key(naming, key)
    names, degrees = _names(take, told)
    count = len(take.notes)
    lines = [f"{count} note{'s' * (count != 1)} in {take.seconds:.1f} s{_tuning_words(take)}"]
    rows = [("notes", names)]
    if told is not None:
        rows.append(("degrees", [str(degree) for degree in degrees]))
    lines += [
        f"{label:<9}{''.join(f'{word:<5}' for word in words)}".rstrip() for label, words in rows
    ]
    if told is not None:
        lines.append(f"key      {told}{'' if key else ' (not stated: the best guess)'}")
    return [*lines, *_verdict_lines(take, naming, key, catalogue)]


def _tuning_words(take: "Take") -> str:
    away = round(take.tuning)
    if abs(away) < 5 or not take.notes:
        return ""
    side = "flat" if away < 0 else "sharp"
    return f"; the instrument is {abs(away)} cents {side}, which was taken into account"


def _verdict_lines(
    take: "Take", naming: "Naming", key: "Key | None", catalogue: "Catalogue"
) -> list[str]:
    from engine.listening.naming import SPARSEST, Standing, find_name

    nearest = naming.nearest
    if nearest is None and len(take.notes) < SPARSEST:
        return ["None of these: there are too few notes for a figure."]
    if nearest is None:
        return ["None of these, and none is near.", ALONE]
    where = f"{find_name(nearest, catalogue)} in {nearest.key} ({nearest.device})"
    far = f"distance {nearest.distance:.2f}, about {nearest.tempo:.0f} beats a minute"
    if naming.standing is Standing.NONE:
        return [f"None of these. The nearest: {where}, distance {nearest.distance:.2f}.", ALONE]
    first = f"{where}: {far}."
    if naming.standing is Standing.VARIANT:
        first = f"A variant of {first}"
    lines = [first[:1].upper() + first[1:]]
    lines += [f"  {difference}" for difference in nearest.differs]
    if naming.also:
        others = [
            find_name(one, catalogue) + ("" if key else f" in {one.key}") for one in naming.also
        ]
        more = len(others) - ALSO_SHOWN
        said = "; ".join(others[:ALSO_SHOWN]) + (f"; {more} more" if more > 0 else "")
        lines.append(f"As near: {said}. A recording alone does not say which.")
    return lines
