"""`lastbar sheet`: a device or a chorus on paper."""

from typing import TYPE_CHECKING

from engine.errors import MusicInputError, shown
from quiz.commands.given import key_of, load_own
from quiz.commands.output import OK, found, say, say_data
from quiz.locations import locate

if TYPE_CHECKING:
    from argparse import Namespace

    from engine.catalogue import Catalogue
    from engine.paper.notated import Sheet, SheetBar
    from quiz.exports.sheets import Manner, Passage
    from quiz.settings.values import Settings


def run_sheet(options: "Namespace") -> int:
    """`lastbar sheet`; without --out the tablature is printed."""
    from quiz.exports.paper_files import ENDINGS, check_ending, write_sheet
    from quiz.settings.values import load

    if options.out is not None:
        check_ending(options.out, ENDINGS)
    catalogue, settings = load_own(options.catalogue), load(locate().settings).settings
    manner = _manner(options, settings)
    sheet = _passage(options, manner, catalogue).sheet(manner)
    if options.out is not None:
        write_sheet(sheet, options.out, options.force, options.ascii or settings.ascii)
        say(str(options.out))
    elif options.json:
        say_data(_sheet_data(sheet))
    else:
        _print(sheet, options.ascii or settings.ascii, options.width)
    return OK


def _manner(options: "Namespace", settings: "Settings") -> "Manner":
    from engine.feels import find_feel
    from engine.neck import find_tuning
    from engine.timing import checked_tempo
    from quiz.exports.sheets import Manner
    from quiz.questions.hearing import usual_tempo

    feel = find_feel(options.feel)
    return Manner(
        key_of(options.key),
        feel,
        usual_tempo(feel) if options.tempo is None else checked_tempo(options.tempo),
        options.base,
        options.seed,
        find_tuning(options.tuning or settings.tuning, settings.tunings),
        settings.frets,
    )


def _passage(options: "Namespace", manner: "Manner", catalogue: "Catalogue") -> "Passage":
    from engine.choosing import parse_chorus
    from quiz.exports.sheets import chorus_passage, figure_passage

    if options.device is not None:
        if options.form or options.chorus:
            raise MusicInputError(
                f"{shown(options.device)} and a chorus were given: give a device alone, or --form "
                "and --chorus without one"
            )
        return figure_passage(found(catalogue.find, options.device), manner, catalogue)
    if not (options.form or options.chorus):
        raise MusicInputError(
            "nothing was given to write down: give a device, or --form, or --chorus with devices"
        )
    form = found(catalogue.form, options.form or "twelve-bar-five")
    return chorus_passage(form, parse_chorus(options.chorus, form, catalogue), manner, catalogue)


def _print(sheet: "Sheet", plain: bool, width: int) -> None:
    from engine.paper.tablature import to_tablature
    from quiz.exports.paper_files import drawn_with

    say(to_tablature(sheet, drawn_with(plain or not _draws_lines()), width).rstrip("\n"))


def _draws_lines() -> bool:
    """Whether the output has the characters that strings are drawn with."""
    import sys

    return "utf" in (sys.stdout.encoding or "").lower()


def _sheet_data(sheet: "Sheet") -> dict[str, object]:
    return {
        "title": sheet.title,
        "key": str(sheet.key),
        "feel": sheet.feel.value,
        "tempo": sheet.tempo,
        "tuning": sheet.tuning.id,
        "eighths_in_a_bar": sheet.meter.per_bar,
        "bars": [_bar_data(sheet, bar) for bar in sheet.bars],
    }


def _bar_data(sheet: "Sheet", bar: "SheetBar") -> dict[str, object]:
    strings = sheet.tuning.strings
    return {
        "bar": bar.number,
        "landing": bar.landing,
        "chords": [
            {"beat": row.beat + 1, "chord": row.chord.symbol(sheet.key.tonic)} for row in bar.chords
        ],
        "devices": list(bar.devices),
        "notes": [
            {
                "start": sign.start,
                "length": sign.length,
                "degree": str(sign.sounding.degree),
                "note": str(sign.sounding.note),
                "midi": sign.sounding.midi,
                "string": strings[sign.sounding.position.string][0],
                "fret": sign.sounding.position.fret,
                "held_on": sign.tied_from,
            }
            for sign in bar.signs
            if sign.sounding is not None
        ],
    }
