"""Settings: each with its present value; Enter changes it, and it is kept at once."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from engine.feels import Feel
from engine.neck import LEAST_FRETS, MOST_FRETS, OpenStrings
from engine.notation import NoteNames
from quiz.errors import InstrumentError, SettingsError
from quiz.playing.midi_input import input_names
from quiz.screens.focus import FocusScreen
from quiz.settings.checks import BUILTIN_TUNINGS
from quiz.settings.values import (
    GUITAR_KEYS,
    HORN_KEYS,
    PlayBy,
    Settings,
    favouring,
    own_tunings_text,
    read_own_tunings,
    with_value,
)
from quiz.sound.device import input_devices, output_devices
from quiz.widgets.footer import KeyFooter
from quiz.workbench import Workbench


@dataclass(frozen=True, slots=True)
class Row:
    """One setting as the screen shows it."""

    key: str
    label: str
    choices: tuple[object, ...] = ()
    """What Enter steps through; empty when the value is typed."""

    note: str = ""
    read: Callable[[str], object] | None = None
    """Of a typed value that is no text and no number: what it is read with."""


ALL_FEELS = tuple(feel.value for feel in Feel)
ROWS = (
    Row("tuning", "Instrument", BUILTIN_TUNINGS),
    Row(
        "own_tunings",
        "Own tunings",
        note="a name, a colon, the open strings from the lowest as note names with octaves or MIDI "
        "numbers, such as my-five: B0 E1 A1 D2 G2 (E1 is the low E); several with ; between",
        read=read_own_tunings,
    ),
    Row("frets", "Frets", tuple(range(LEAST_FRETS, MOST_FRETS + 1))),
    Row("left_handed", "Left-handed neck", (False, True)),
    Row("open_strings", "Open strings", tuple(wish.value for wish in OpenStrings)),
    Row("note_names", "Note names", tuple(names.value for names in NoteNames)),
    Row("f_sharp", "F# rather than Gb", (False, True)),
    Row("key_weights", "Keys", (favouring(()), favouring(HORN_KEYS), favouring(GUITAR_KEYS))),
    Row("tempo_low", "Slowest tempo", note="bpm, 50 to 220"),
    Row("tempo_high", "Fastest tempo", note="bpm, 50 to 220"),
    Row("feels", "Feels", (ALL_FEELS, *((feel,) for feel in ALL_FEELS))),
    Row("texture", "Who plays", ("reach", "band", "drums", "bass")),
    Row("comping", "Keys sound", ("electric-piano", "organ")),
    Row("answer_as", "Typed answers in", ("either", "degrees", "notes")),
    Row("spelling_counts", "Spelling counts", (False, True)),
    Row("round_length", "Questions a round", note="1 to 100"),
    Row("daily_questions", "Questions a day", note="the schedule plans with this, 1 to 400"),
    Row("resting", "Rest and put forward", note="families, kinds and keys"),
    Row("contrast", "Ask what was mistaken", (True, False)),
    Row("jam_by_ear", "Jam: keys untold", (False, True)),
    Row("reverb", "Room sound", (True, False)),
    Row("soundfont", "Own SoundFont", note="a file; empty for the built-in sound"),
    Row("output_device", "Sound output", note="empty for the system's default"),
    Row("play_by", "Answer by playing", tuple(by.value for by in PlayBy)),
    Row(
        "midi_input",
        "MIDI input",
        note="empty for the first there is; network:HOST:PORT for one elsewhere",
    ),
    Row("input_device", "Sound input", note="empty for the system's default"),
    Row("ascii", "ASCII signs only", (False, True)),
)


def midi_inputs() -> tuple[str, ...]:
    """The names of the system's MIDI inputs; none where it has no MIDI."""
    try:
        return input_names()
    except InstrumentError:
        return ()  # `lastbar check` says why


OFFERED: dict[str, Callable[[], Sequence[str]]] = {
    "output_device": output_devices,
    "midi_input": midi_inputs,
    "input_device": input_devices,
}
"""What there is to choose from where a name is typed."""


class SettingsScreen(Screen[None]):
    """A list of settings."""

    CSS_PATH = "settings.tcss"
    AUTO_FOCUS = "#settings"
    BINDINGS = [
        Binding(
            "escape",
            "dismiss",
            "Back",
            id="settings.leave",
            tooltip="Back; everything is kept already",
        ),
    ]

    def __init__(self, bench: Workbench) -> None:
        super().__init__()
        self._bench = bench

    def compose(self) -> ComposeResult:
        """The list, and where it is kept."""
        yield Static("Settings", classes="title", markup=False)
        yield OptionList(id="settings", markup=False)
        yield Static(
            Content(f"Enter changes a setting. Kept in {self._bench.locations.settings}"),
            id="legend",
            markup=False,
        )
        yield KeyFooter()

    def on_mount(self) -> None:
        """Show all values."""
        shown = self.query_one(OptionList)
        shown.add_options([Option(self._words(row), id=row.key) for row in ROWS])
        shown.highlighted = 0

    def _words(self, row: Row) -> str:
        settings = self._bench.settings
        if row.key == "resting":
            return f"{row.label:<24}{len(settings.resting)} rest, {len(settings.leading)} forward"
        value = getattr(settings, row.key)
        words = typed_text(row, value) or "-" if row.read else value_words(value)
        return f"{row.label:<24}{words}"

    @on(OptionList.OptionSelected, "#settings")
    def _selected(self, event: OptionList.OptionSelected) -> None:
        row = ROWS[event.option_index]
        value = getattr(self._bench.settings, row.key)
        if row.key == "resting":
            self.app.push_screen(FocusScreen(self._bench), lambda _done: self._show_all())
            return
        if row.choices:
            own = tuple(self._bench.settings.own_tunings) if row.key == "tuning" else ()
            self._set(row, _following((*row.choices, *own), value))
            return
        offered = OFFERED[row.key]() if row.key in OFFERED else ()
        self.app.push_screen(TypedSetting(row, typed_text(row, value), self._typed(row), offered))

    def _typed(self, row: Row) -> Callable[[str], str]:
        def take(text: str) -> str:
            if row.read is not None:
                try:
                    return self._set(row, row.read(text))
                except SettingsError as error:
                    return str(error)
            is_number = isinstance(getattr(Settings(), row.key), int)
            if is_number and not text.strip().lstrip("-").isdigit():
                return f"'{text[:30]}' is no whole number: give {row.note}"
            return self._set(row, int(text) if is_number else text.strip())

        return take

    def _set(self, row: Row, value: object) -> str:
        """Change a setting; gives a line when that is not allowed."""
        try:
            changed = with_value(self._bench.settings, row.key, value)
        except SettingsError as error:
            return str(error)
        problem = self._bench.change(changed)
        if problem:
            self.app.notify(problem, severity="warning", markup=False, timeout=15)
        self._show_all()  # a tempo can move its partner
        return ""

    def _show_all(self) -> None:
        shown = self.query_one("#settings", OptionList)
        for place, row in enumerate(ROWS):
            shown.replace_option_prompt_at_index(place, self._words(row))


class TypedSetting(ModalScreen[None]):
    """One value to type."""

    CSS_PATH = "settings.tcss"
    AUTO_FOCUS = "#value"
    BINDINGS = [Binding("escape", "dismiss", "Leave as it is", id="typed.leave")]

    def __init__(
        self, row: Row, value: str, take: Callable[[str], str], offered: Sequence[str]
    ) -> None:
        super().__init__()
        self._row = row
        self._value = value
        self._take = take
        self._offered = offered

    def compose(self) -> ComposeResult:
        """What it is, the value, and what was wrong with it."""
        yield Static(Content(f"{self._row.label}: {self._row.note}"), markup=False)
        if self._offered:
            yield Static(Content("\n".join(self._offered)), markup=False)
        yield Input(self._value, id="value")
        yield Static(id="problem", markup=False)
        yield KeyFooter()

    @on(Input.Submitted, "#value")
    def _submitted(self, event: Input.Submitted) -> None:
        problem = self._take(event.value)
        if problem:
            self.query_one("#problem", Static).update(Content(problem))
        else:
            self.dismiss()


def typed_text(row: Row, value: object) -> str:
    """A value as it is typed."""
    return own_tunings_text(value) if row.read and isinstance(value, dict) else str(value)


def value_words(value: object) -> str:
    """A value as the list shows it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        favoured = [key for key, weight in value.items() if weight > min(value.values())]
        return f"more {' '.join(favoured)}" if favoured else "all alike"
    if isinstance(value, tuple):
        return "all" if value == ALL_FEELS else ", ".join(map(str, value))
    return str(value) or "-"


def _following(choices: Sequence[object], value: object) -> object:
    """The choice after the present one; the first when the present one is none of them."""
    place = choices.index(value) if value in choices else -1
    return choices[(place + 1) % len(choices)]
