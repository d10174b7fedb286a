"""`lastbar devices`, `lastbar spell`, `lastbar hear`."""

from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import MusicInputError
from quiz.commands.given import key_of, load_own, named
from quiz.commands.output import BAD, OK, fail, found, say, say_data, warn
from quiz.locations import Locations, locate

if TYPE_CHECKING:
    from argparse import Namespace

    from engine.catalogue import Catalogue, Device
    from engine.forms import Form
    from engine.neck import Fingering, Tuning
    from quiz.questions.hearing import Hearing

FORM = "form"
"""What `devices --family` says for the forms."""


def run_devices(options: "Namespace") -> int:
    """`lastbar devices`."""
    if options.check is not None:
        return _check_file(options)
    catalogue, family = load_own(options.catalogue), options.family
    rows = [device for device in catalogue.devices if family in (None, device.family.value)]
    forms = catalogue.forms if family == FORM or (family is None and options.json) else ()
    if options.json:
        data = {"devices": list(map(_device_data, rows)), "forms": list(map(_form_data, forms))}
        say_data(data)
        return OK
    for device in rows:
        bars = ",".join(map(str, device.bars))
        say(f"{device.id:<28}{device.family.value:<8} bar {bars:<6} {device.pattern.text}")
        say(f"{'':<28}{device.name}. {device.says}")
    for form in forms:
        say(f"{form.id:<28}{FORM:<8} {len(form):>2} bars  {' | '.join(form.chart)}")
        say(f"{'':<28}{form.name}. {form.tell}")
    return OK


def _device_data(device: "Device") -> dict[str, object]:
    return {
        "id": device.id,
        "name": device.name,
        "family": device.family.value,
        "bars": list(device.bars),
        "degrees": device.pattern.text,
        "line": str(device.pattern),
        "serves": str(device.change) if device.change else None,
        "says": device.says,
        "source": device.source,
    }


def _form_data(form: "Form") -> dict[str, object]:
    return {
        "id": form.id,
        "name": form.name,
        "bars": list(form.chart),
        "minor": form.minor,
        "tell": form.tell,
        "source": form.source,
    }


def _check_file(options: "Namespace") -> int:
    """`lastbar devices --check FILE`: exit code 1 when something is wrong with the file."""
    from quiz.own_catalogue import counts, load_catalogue, with_file

    before = load_catalogue(named(options.catalogue))
    (file,) = named([options.check])
    loaded = with_file(before, file)
    good, problems = counts(loaded, file), loaded.problems[len(before.problems) :]
    warn(problems)
    if options.json:
        data: dict[str, object] = {
            "file": str(file),
            "devices": good.devices,
            "base_patterns": good.base_patterns,
            "forms": good.forms,
            "problems": list(problems),
        }
        say_data(data)
    else:
        say(f"Good in {file}: {good}.")
    return BAD if problems else OK


def run_spell(options: "Namespace") -> int:
    """`lastbar spell`."""
    from dataclasses import replace

    from engine.figure import figure, paths
    from engine.frets import format_position
    from engine.neck import find_tuning
    from engine.notation import NoteNames, format_note
    from quiz.settings.values import load

    settings = load(locate().settings).settings
    device = found(load_own(options.catalogue).find, options.device)
    key = key_of(options.key)
    shape = figure(device, key)
    tuning = find_tuning(options.tuning or settings.tuning, settings.tunings)
    frets = options.frets or settings.frets
    neck = replace(settings.neck, tuning=tuning, frets=frets)
    names = NoteNames(settings.note_names)
    ways = paths(shape, neck, options.paths or 1)
    data: dict[str, object] = {
        "device": device.id,
        "key": str(key),
        "degrees": [str(note.degree) for note in shape.notes],
        "notes": [str(note.note) for note in shape.notes],
        "midi": list(shape.pitches),
        "positions": _positions_data(ways[0], tuning),
    }
    if options.paths is not None:
        data["paths"] = [_path_data(way, tuning) for way in ways]
    if options.json:
        say_data(data)
        return OK
    say(f"{device.name} in {key}")
    rows = (
        ("degrees", [str(note.degree) for note in shape.notes]),
        ("notes", [format_note(note.note, names) for note in shape.notes]),
        ("midi", [str(pitch) for pitch in shape.pitches]),
        *(("neck", [format_position(place, tuning) for place in way.positions]) for way in ways),
    )
    width = max(5, *(len(word) for _, words in rows for word in words)) + 1
    for label, words in rows:
        say(f"{label:<9}{''.join(f'{word:<{width}}' for word in words)}".rstrip())
    if len(ways) > 1:
        for place, way in enumerate(ways, start=1):
            frets, reaches = way.movement, way.stretches
            say(
                f"path {place}: {frets} fret{'s' * (frets != 1)} of hand movement, "
                f"{reaches} stretch{'es' * (reaches != 1)}"
            )
    if any(way.stretches for way in ways):
        from quiz.display.cautions import HANDS

        say(HANDS)
    return OK


def _positions_data(way: "Fingering", tuning: "Tuning") -> list[dict[str, object]]:
    return [{"string": tuning.names[place.string], "fret": place.fret} for place in way.positions]


def _path_data(way: "Fingering", tuning: "Tuning") -> dict[str, object]:
    """A way to play a figure, with what it costs part by part."""
    parts = {name: round(cost, 4) for name, cost in way.parts._asdict().items()}
    return {
        "positions": _positions_data(way, tuning),
        "hands": list(way.hands),
        "movement": way.movement,
        "stretches": way.stretches,
        "cost": round(way.cost, 4),
        "parts": parts,
    }


def run_hear(options: "Namespace") -> int:
    """`lastbar hear`: a device is played or written, a recording is named."""
    if (options.device is None) is (options.file is None):
        raise MusicInputError("give a DEVICE to be played or --file FILE to be named, one of them")
    if options.file is not None:
        from quiz.commands.recording import run_hear_file

        return run_hear_file(options)
    if options.json:
        raise MusicInputError("--json prints what was heard in a file: give it with --file")
    if options.key is None:
        raise MusicInputError("no key was given: give one, such as --key F")
    return _hear_device(options)


def _hear_device(options: "Namespace") -> int:
    from engine.feels import find_feel
    from engine.textures import find_texture
    from engine.timing import checked_tempo
    from quiz.questions.hearing import Hearing, usual_tempo
    from quiz.settings.values import load

    catalogue, locations = load_own(options.catalogue), locate()
    device = found(catalogue.find, options.device)
    feel = find_feel(options.feel)
    tempo = usual_tempo(feel) if options.tempo is None else checked_tempo(options.tempo)
    settings = load(locations.settings).settings
    hearing = Hearing(
        device.id,
        key_of(options.key),
        tempo,
        feel,
        find_texture(options.texture),
        settings.comping,
        options.seed,
    )
    if options.out is not None:
        return _write(hearing, options.out, catalogue, locations)
    return _play(hearing, catalogue, locations)


def _write(hearing: "Hearing", target: Path, catalogue: "Catalogue", locations: Locations) -> int:
    from engine.midi import write_midi
    from engine.sound import write_wav
    from quiz.settings.values import load
    from quiz.workbench import open_studio

    ending = target.suffix.lower()
    if ending not in (".wav", ".mid"):
        raise MusicInputError(f"'{target.name}': give a file name that ends in .wav or .mid")
    _, score = hearing.passage(catalogue)
    try:
        if ending == ".mid":
            write_midi(score, target)
        else:
            studio = open_studio(catalogue, load(locations.settings).settings)
            write_wav(studio.render(score), target)
            studio.close()
            warn([studio.problem] if studio.problem else [])
    except OSError as error:
        raise MusicInputError(
            f"{target} cannot be written ({error.strerror}): give a folder that exists and can "
            "be written"
        ) from error
    say(str(target))
    return OK


def _play(hearing: "Hearing", catalogue: "Catalogue", locations: Locations) -> int:
    import time

    from quiz.settings.values import load
    from quiz.sound.player import open_player
    from quiz.sound.quiet import move_native_noise
    from quiz.workbench import open_studio

    move_native_noise(locations.log)
    settings = load(locations.settings).settings
    player = open_player(settings.output_device or None)
    if player.silent:
        return fail(f"{player.silent}; --out FILE.wav or FILE.mid writes it instead", BAD)
    studio = open_studio(catalogue, settings)
    try:
        player.play(studio.prepare(hearing).result().clip)
        warn([studio.problem] if studio.problem else [])
        while player.position() is not None:
            time.sleep(0.05)
    finally:
        player.close()
        studio.close()
    return OK
