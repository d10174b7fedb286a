"""`lastbar track`: play-along tracks as files, and the plan of what is in them."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import MusicInputError, shown
from quiz.commands.given import key_of, load_own
from quiz.commands.output import OK, found, say, say_data, warn
from quiz.locations import locate

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Sequence

    from engine.catalogue import Catalogue
    from engine.choosing import Chorus
    from engine.forms import Form
    from engine.theory import Key
    from engine.track import ChorusPlace, TrackPlan
    from quiz.exports.tracks import TrackJob
    from quiz.settings.values import Settings

FOURTHS = "fourths"
"""What --key says for all twelve keys, `fourths` or `fourths from F`."""

FROM = "from"

LONG_SECONDS = 10 * 60
"""From here on the cautions are said."""


def run_track(options: "Namespace") -> int:
    """`lastbar track`."""
    from engine.track import seconds
    from quiz.display.cautions import CAUTIONS
    from quiz.settings.values import load

    catalogue, settings = load_own(options.catalogue), load(locate().settings).settings
    plans = _plans(options, settings, catalogue)
    targets = [] if options.plan_only else _targets(options, plans)
    if options.json:
        files: list[Path | None] = [*targets] or [None] * len(plans)
        rows = [_data(plan, file) for plan, file in zip(plans, files, strict=True)]
        say_data({"tracks": rows})
    else:
        say("\n\n".join(_words(plan) for plan in plans))
    if max(map(seconds, plans)) > LONG_SECONDS:
        warn(CAUTIONS)
    if targets:
        _write(_jobs(options, plans, targets, settings, catalogue), quiet=options.json)
    return OK


# --- what was chosen ------------------------------------------------------------------------------


def _plans(options: "Namespace", settings: "Settings", catalogue: "Catalogue") -> list["TrackPlan"]:
    from engine.choosing import parse_tempi
    from engine.feels import find_feel
    from engine.textures import find_texture
    from engine.theory import Key
    from engine.track import BassPart, TrackPlan, planned
    from quiz.exports.sheets import base_of
    from quiz.questions.hearing import usual_tempo
    from quiz.questions.value import COMPING

    form, feel = found(catalogue.form, options.form), find_feel(options.feel)
    tempi = (usual_tempo(feel),) if options.tempo is None else parse_tempi(options.tempo)
    choruses = _choruses(options, form, len(tempi), catalogue)
    return [
        planned(
            TrackPlan(
                form=form,
                key=Key(key.tonic, form.minor),
                feel=feel,
                base=base_of(options.base, feel, catalogue),
                tempi=tempi,
                choruses=choruses,
                bass=BassPart(options.bass),
                texture=find_texture(options.texture),
                comping=COMPING[settings.comping],
                seed=options.seed,
            )
        )
        for key in _keys(options.key, settings)
    ]


def _choruses(
    options: "Namespace", form: "Form", tempi: int, catalogue: "Catalogue"
) -> tuple["Chorus", ...]:
    """The choruses that were listed, or a mix of all devices or those that were named."""
    from engine.choosing import listed, mixed, parse_chorus

    if options.chorus and options.device:
        raise MusicInputError(
            "--chorus and --device were given: list the choruses, or name the devices to mix"
        )
    if options.chorus:
        chosen = [parse_chorus(text, form, catalogue) for text in options.chorus]
        return listed(chosen, options.choruses or len(chosen), tempi)
    only = [found(catalogue.find, name) for name in options.device]
    return mixed(form, catalogue, options.choruses or 4, tempi, options.seed, only)


def _keys(text: str, settings: "Settings") -> list["Key"]:
    """A key, several with commas between, or all twelve round the fourths; each once."""
    from engine.theory import PLAYED_KEYS, as_called

    words = text.split()
    if not words or words[0] != FOURTHS:
        return list(dict.fromkeys(key_of(part.strip()) for part in text.split(",")))
    if len(words) not in (1, 3) or words[1:2] not in ([], [FROM]):
        raise MusicInputError(f"{shown(text)}: give fourths, or fourths from and a key")
    first = key_of(words[2]).tonic.pitch_class if len(words) == 3 else 0
    by_pitch = {key.tonic.pitch_class: as_called(key, settings.f_sharp) for key in PLAYED_KEYS}
    return [by_pitch[(first + 5 * step) % 12] for step in range(12)]  # a fourth is five half steps


def _targets(options: "Namespace", plans: "Sequence[TrackPlan]") -> list[Path]:
    """The file of each track; with several keys the key stands in the name."""
    from quiz.exports.paper_files import check_ending, name_of
    from quiz.exports.tracks import ENDINGS
    from quiz.files import check_free

    if options.out is None:
        raise MusicInputError(
            "no file was given: give --out FILE.wav, .flac or .mid, or --plan-only to see the plan"
        )
    out: Path = options.out
    check_ending(out, ENDINGS)
    several = len(plans) > 1
    targets = [
        out.with_name(f"{out.stem}-{name_of(plan.key)}{out.suffix}") if several else out
        for plan in plans
    ]
    for target in targets:
        check_free(target, options.force)
    return targets


# --- what is written ------------------------------------------------------------------------------


def _jobs(
    options: "Namespace",
    plans: "Sequence[TrackPlan]",
    targets: "Sequence[Path]",
    settings: "Settings",
    catalogue: "Catalogue",
) -> list["TrackJob"]:
    from quiz.exports.tracks import TrackJob
    from quiz.workbench import open_studio

    studio = open_studio(catalogue, settings)
    soundfont, mix = studio.instruments()
    studio.close()
    warn([studio.problem] if studio.problem else [])
    return [
        TrackJob(plan, target.absolute(), soundfont, mix, options.force)
        for plan, target in zip(plans, targets, strict=True)
    ]


def _write(jobs: "Sequence[TrackJob]", quiet: bool) -> None:
    from quiz.exports.tracks import told_to_end, write_track, write_tracks

    progress = _Progress()
    try:
        with told_to_end():
            if len(jobs) == 1:
                write_track(jobs[0], progress.share)
            else:
                write_tracks(jobs, lambda count: progress.files(count, len(jobs)))
    except KeyboardInterrupt:
        progress.end()
        whole = [job.target.name for job in jobs if job.target.exists()]
        warn([f"stopped: no half file is left{'; whole: ' * bool(whole)}{', '.join(whole)}"])
        raise
    finally:
        progress.end()
    for job in [] if quiet else jobs:
        say(str(job.target))


class _Progress:
    """How far it is, on stderr: one line that changes, or in a file a line for each tenth."""

    def __init__(self) -> None:
        self._line = sys.stderr.isatty()
        self._said = ""

    def share(self, done: float) -> None:
        """A share of one file."""
        step = 1 if self._line else 10
        self._say(f"{int(done * 100) // step * step} %")

    def files(self, count: int, of: int) -> None:
        """Whole files."""
        self._say(f"{count} of {of} files")

    def end(self) -> None:
        """Nothing more comes."""
        if self._line and self._said:
            sys.stderr.write("\n")
        self._said = ""

    def _say(self, text: str) -> None:
        if text != self._said:
            self._said = text
            sys.stderr.write(f"\r{text}  " if self._line else f"{text}\n")
            sys.stderr.flush()


# --- the plan -------------------------------------------------------------------------------------


def _words(plan: "TrackPlan") -> str:
    """The plan, a line a chorus: `chorus 3: climb + dip, walk-up in bar 4`."""
    from engine.feels import FEELS
    from engine.track import chorus_places, seconds

    length, count = round(seconds(plan)), len(plan.choruses)
    head = (
        f"{plan.form.name} in {plan.key}, {FEELS[plan.feel].name}, "
        f"{count} chorus{'es' * (count != 1)}, {length // 60}:{length % 60:02d}"
    )
    lines, before = [head], None
    for place in chorus_places(plan):
        if place.tempo != before:
            lines.append(f"{place.tempo:g} beats a minute, one bar of counting")
        before = place.tempo
        lines.append(f"chorus {place.number}: {_chorus_words(plan, place)}")
    return "\n".join(lines)


def _chorus_words(plan: "TrackPlan", place: "ChorusPlace") -> str:
    from engine.catalogue import Family

    # closing figures first: where they stand is known
    rows = sorted(place.devices, key=lambda row: row.device.family is Family.PICKUP)
    named = [
        f"{row.device.name} in bar {row.bar}"
        if row.device.family is Family.PICKUP
        else row.device.name
        for row in rows
    ]
    words = "; ".join(named) or "no device"
    return words if place.bass else f"{words}; you play the bass"


def _data(plan: "TrackPlan", file: Path | None) -> dict[str, object]:
    from engine.track import chorus_places, seconds

    return {
        "file": None if file is None else str(file),
        "form": plan.form.id,
        "key": str(plan.key),
        "feel": plan.feel.value,
        "base": plan.base.id,
        "tempi": list(plan.tempi),
        "bass": plan.bass.value,
        "texture": plan.texture.value,
        "seed": plan.seed,
        "seconds": round(seconds(plan), 3),
        "choruses": [
            {
                "chorus": place.number,
                "tempo": place.tempo,
                "start": round(place.start, 3),
                "bass": place.bass,
                "devices": [
                    {"device": row.device.id, "name": row.device.name, "bar": row.bar}
                    for row in place.devices
                ],
            }
            for place in chorus_places(plan)
        ],
    }
