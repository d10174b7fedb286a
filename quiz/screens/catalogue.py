"""The catalogue: every device, seen and heard in any key, tempo, feel and texture."""

from dataclasses import replace

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from engine.catalogue import Device, Family
from engine.errors import EngineError
from engine.feels import FEELS, Feel
from engine.forms import Form
from engine.textures import Texture
from engine.theory import PLAYED_KEYS, as_called
from quiz.display.cautions import HANDS
from quiz.display.drawing import ROWS, drawn
from quiz.display.wording import key_words
from quiz.learning.focus import DEVICE, STANCE_WORDS, Focus, Stance, about
from quiz.learning.material import Row, find_row, kinds_of
from quiz.learning.memory import Item
from quiz.learning.reach import WHO_PLAYS
from quiz.neck.light import Light, lit
from quiz.neck.shown import figure_path, hearing_lights
from quiz.questions.hearing import Hearing, usual_place, usual_tempo
from quiz.questions.kinds import KINDS, By
from quiz.screens.export import ExportScreen
from quiz.screens.sounding import FOLLOW_SECONDS, Sounding
from quiz.settings.values import Pin
from quiz.widgets.figure_steps import FigureSteps, Tread
from quiz.widgets.footer import KeyFooter
from quiz.widgets.form_strip import FormStrip
from quiz.widgets.neck import NeckDrawing
from quiz.widgets.notice import Notice
from quiz.workbench import Workbench

TEMPO_STEP = 4.0
FAMILY_NAMES = {
    Family.HEAD: "Heads (bar 11)",
    Family.TAIL: "Tails (bar 12)",
    Family.PICKUP: "Pickups",
    Family.ENDING: "Endings",
    Family.BASE: "Base patterns",
}


class CatalogueScreen(Screen[None]):
    """A list of devices at the left, the one that is lit at the right."""

    CSS_PATH = [
        "catalogue.tcss",
        "../widgets/form_strip.tcss",
        "../widgets/figure_steps.tcss",
        "../widgets/neck.tcss",
    ]
    AUTO_FOCUS = "#devices"
    BINDINGS = [
        Binding("enter", "hear", "Hear", id="catalogue.hear", show=False),
        Binding("ctrl+r", "hear", "Hear", id="catalogue.replay", tooltip="Hear this device"),
        Binding("ctrl+t", "stop", "Stop", id="catalogue.stop", tooltip="Stop the sound"),
        Binding("k", "key(1)", "Key", id="catalogue.key", tooltip="The next key"),
        Binding("K", "key(-1)", "Key back", show=False),
        Binding(
            "plus",
            "tempo(1)",
            "Tempo",
            id="catalogue.faster",
            key_display="+/-",
            tooltip="4 bpm faster, or slower",
        ),
        Binding("minus", "tempo(-1)", "Slower", id="catalogue.slower", show=False),
        Binding("f", "feel", "Feel", id="catalogue.feel", tooltip="The next feel"),
        Binding(
            "t",
            "texture",
            "Who",
            id="catalogue.texture",
            tooltip="Bass alone, with drums, or the whole band",
        ),
        Binding(
            "p",
            "pin",
            "Pin",
            id="catalogue.pin",
            tooltip="Ask this device always at this tempo, and with these players; or let it go on",
        ),
        Binding(
            "r",
            "rest",
            "Rest",
            id="catalogue.rest",
            tooltip="Never ask this until you wake it; or wake it",
        ),
        Binding(
            "w",
            "forward",
            "First",
            id="catalogue.forward",
            tooltip="Ask this first and more often; or as usual again",
        ),
        Binding(
            "x",
            "export",
            "To a file",
            id="catalogue.export",
            tooltip="Write what is shown into a file: tablature, notes, sound or MIDI",
        ),
        Binding("escape", "leave", "Back", id="catalogue.leave", tooltip="Back to the home screen"),
    ]

    def __init__(self, bench: Workbench) -> None:
        super().__init__()
        self._bench = bench
        self._sounding = Sounding(self, bench)
        self._lights: tuple[Light, ...] = ()
        self._heard: Hearing | None = None
        self._keys = tuple(as_called(key, bench.settings.f_sharp) for key in PLAYED_KEYS)
        first = bench.catalogue.devices[0].id
        self._hearing = Hearing(
            first,
            self._keys[0],
            usual_tempo(Feel.SHUFFLE),
            Feel.SHUFFLE,
            bench.settings.set_texture or Texture.BAND,
            bench.settings.comping,
        )

    def compose(self) -> ComposeResult:
        """List and details."""
        options: list[Option] = []
        for family, name in FAMILY_NAMES.items():
            options.append(Option(name, disabled=True))
            options.extend(
                Option(f" {device.name}", id=device.id)
                for device in self._bench.catalogue.family(family)
            )
        options.append(Option("Forms", disabled=True))
        options.extend(Option(f" {form.name}", id=form.id) for form in self._bench.catalogue.forms)
        with Horizontal():
            yield OptionList(*options, id="devices", markup=False)
            with VerticalScroll(id="details"):  # Tab leads there: it can be longer than the screen
                yield Static(id="how", markup=False)
                yield Static(id="about", markup=False)
                yield FigureSteps(self._bench.signs, id="steps")
                yield NeckDrawing(self._bench.signs, self._bench.settings.left_handed, id="neck")
                yield Static(id="hands", markup=False)
                yield FormStrip(self._bench.signs, id="strip")
                yield Static(id="reach", markup=False)
                yield Static(id="source", markup=False)
        yield Notice(id="notice")
        yield KeyFooter()

    def on_mount(self) -> None:
        """Light the first device."""
        self.set_interval(FOLLOW_SECONDS, self._follow)
        self.query_one("#devices", OptionList).highlighted = 1
        self._show()

    @on(OptionList.OptionHighlighted, "#devices")
    def _lit(self, event: OptionList.OptionHighlighted) -> None:
        if event.option.id:
            self._hearing = replace(self._hearing, device=event.option.id)
            self._show()

    @on(OptionList.OptionSelected, "#devices")
    def _selected(self) -> None:
        self.action_hear()

    def _show(self) -> None:
        bench, hearing = self._bench, self._hearing
        device = find_row(hearing.device, bench.catalogue)
        self.query_one("#how", Static).update(
            Content(
                f"{device.name} in {key_words(hearing.key, bench.names)}, "
                f"{FEELS[hearing.feel].name} at {hearing.tempo:g}, {hearing.texture.value}"
            )
        )
        self.query_one("#reach", Static).update(Content(self._reach_words(device)))
        self.query_one(FigureSteps).display = isinstance(device, Device)
        self._show_neck(device)
        if isinstance(device, Device):
            self._show_device(device)
        else:
            self._show_form(device)
        self.query_one("#source", Static).update(Content(f"Known from: {device.source}"))
        self.query_one(Notice).say("")

    def _reach_words(self, row: Row) -> str:
        """How far the player has come with it, a line for each kind."""
        bench = self._bench
        lines = [
            f"{KINDS[kind].label}: {_known_words(bench, Item(row.id, kind.value))}"
            for kind in kinds_of(row)
            if KINDS[kind].answered is not By.PLAYING or bench.playable
        ]
        if not lines:
            return ""
        stance = _focus_of(bench).stance(about(DEVICE, row.id))
        title = "How you stand" if stance is Stance.USUAL else f"How you stand: {stance.value}"
        return "\n".join([title, *lines])

    def _show_form(self, form: Form) -> None:
        self.query_one("#about", Static).update(Content(form.tell))
        every = frozenset(range(1, len(form) + 1))
        self.query_one(FormStrip).show(form, frozenset(), every)

    def _show_device(self, device: Device) -> None:
        bench, hearing = self._bench, self._hearing
        self.query_one("#about", Static).update(Content(f"{device.says}\n{_lives(device)}"))
        notes = drawn(device, hearing.key, bench.names, bench.neck)
        self.query_one(FigureSteps).show(
            [Tread(note.spot, note.height, note.labels) for note in notes], ROWS
        )
        form, bars = self._bench.catalogue.form("twelve-bar-five"), frozenset(device.bars)
        if device.family is not Family.BASE:
            whole = self._bench.catalogue.completed(device)
            form, start = usual_place(whole, False, self._bench.catalogue)
            first = start if device.family is not Family.TAIL else len(form)
            bars = frozenset(range(first, first + device.pattern.bars))
        self.query_one(FormStrip).show(form, bars, frozenset(range(1, len(form) + 1)))

    def _show_neck(self, row: Row) -> None:
        """The figure on the neck, with a caution where it needs a stretch."""
        bench, neck = self._bench, self.query_one(NeckDrawing)
        shown = figure_path(row, self._hearing.key, bench.neck) if isinstance(row, Device) else None
        neck.display = shown is not None
        if shown is not None:
            neck.show(bench.neck, shown.positions)
        hands = self.query_one("#hands", Static)
        hands.display = shown is not None and shown.stretches > 0
        hands.update(Content(HANDS))

    def _change(self, hearing: Hearing) -> None:
        """Other circumstances; what sounds is replaced at once."""
        self._hearing = hearing
        self._show()
        if self._sounding.playing:
            self.action_hear()

    def action_hear(self) -> None:
        """Hear the device that is lit."""
        try:
            self._lights = hearing_lights(self._hearing, self._bench.neck, self._bench.catalogue)
            self._heard = self._hearing
            self._sounding.play(self._hearing)
        except EngineError as error:
            self.query_one(Notice).say(str(error))

    @on(Sounding.Ready)
    def _ready(self, message: Sounding.Ready) -> None:
        self.query_one(Notice).say(self._sounding.take_in(message))

    def action_stop(self) -> None:
        """Stop the sound."""
        self._sounding.stop()

    def action_key(self, step: int) -> None:
        """The next or the last key."""
        place = (self._keys.index(self._hearing.key) + step) % len(self._keys)
        self._change(replace(self._hearing, key=self._keys[place]))

    def action_tempo(self, direction: int) -> None:
        """Faster or slower, within what the feel bears."""
        facts = FEELS[self._hearing.feel]
        tempo = self._hearing.tempo + direction * TEMPO_STEP
        self._change(replace(self._hearing, tempo=min(max(tempo, facts.slowest), facts.fastest)))

    def action_feel(self) -> None:
        """The next feel, at its usual tempo."""
        feels = list(Feel)
        feel = feels[(feels.index(self._hearing.feel) + 1) % len(feels)]
        self._change(replace(self._hearing, feel=feel, tempo=usual_tempo(feel)))

    def action_texture(self) -> None:
        """Bass, bass and drums, or the band."""
        textures = list(Texture)
        texture = textures[(textures.index(self._hearing.texture) + 1) % len(textures)]
        self._change(replace(self._hearing, texture=texture))

    def action_pin(self) -> None:
        """Pin the device to what is set here; let it go on by the reach when it is pinned."""
        bench, hearing = self._bench, self._hearing
        row = find_row(hearing.device, bench.catalogue)
        if not kinds_of(row):
            self.query_one(Notice).say(f"Nobody asks about {row.name}, so there is nothing to pin.")
            return
        pins = dict(bench.settings.pins)
        if pins.pop(row.id, None) is None:
            pins[row.id] = Pin(hearing.texture.value, round(hearing.tempo))
        problem = bench.change(replace(bench.settings, pins=pins))
        self._show()
        self.query_one(Notice).say(problem or _pin_words(row, pins.get(row.id)))

    def action_rest(self) -> None:
        """Let the device rest; wake it when it does."""
        self._turn(Stance.RESTS)

    def action_forward(self) -> None:
        """Put the device forward; let it come as usual when it is."""
        self._turn(Stance.FORWARD)

    def _turn(self, stance: Stance) -> None:
        """Let the device stand so; as usual when it does already."""
        bench = self._bench
        row = find_row(self._hearing.device, bench.catalogue)
        if not kinds_of(row):
            self.query_one(Notice).say(
                f"Nobody asks about {row.name}, so there is nothing to change."
            )
            return
        focus, entry = _focus_of(bench), about(DEVICE, row.id)
        if focus.stance(entry) is stance:
            stance = Stance.USUAL
        changed = focus.with_stance(entry, stance)
        settings = replace(bench.settings, resting=changed.resting, leading=changed.leading)
        problem = bench.change(settings)
        self._show()
        self.query_one(Notice).say(problem or f"{row.name}: {STANCE_WORDS[stance]}.")

    def action_export(self) -> None:
        """Choose a kind of file to write what is shown into."""
        self.app.push_screen(ExportScreen(self._bench, self._hearing))

    def action_leave(self) -> None:
        """Back."""
        self._sounding.stop()
        self.dismiss()

    def _follow(self) -> None:
        self._sounding.has_ended()
        self.query_one(FormStrip).sounding = self._sounding.where()
        # another device may have been chosen since
        lights = self._lights if self._heard == self._hearing else ()
        self.query_one(NeckDrawing).lit = lit(lights, self._sounding.tick())


def _focus_of(bench: Workbench) -> Focus:
    return Focus(bench.settings.resting, bench.settings.leading)


def _known_words(bench: Workbench, item: Item) -> str:
    """The stage of an item, and its reach where its kind has a ladder."""
    return ", ".join(filter(None, (bench.coach.stage(item), bench.coach.reach(item))))


def _pin_words(row: Row, pin: Pin | None) -> str:
    if pin is None:
        return f"{row.name} goes on by your reach."
    # a form is told by its chords, so the whole band plays it
    who = WHO_PLAYS[Texture.BAND if isinstance(row, Form) else Texture(pin.texture)]
    return f"Pinned: {row.name} is asked at {pin.tempo} bpm, {who}."


def _lives(device: Device) -> str:
    """Where a device lives in the twelve-bar form."""
    bars = " or ".join(map(str, device.bars))
    if device.family is Family.BASE:
        return "Between devices, in any bar."
    if device.change is not None:
        return f"In bar {bars} of twelve, before the change {device.change}."
    return f"From bar {bars} of twelve."
