"""The neck: a figure's path drawn on it, lit while it sounds; and a pad for giving places."""

from collections.abc import Collection, Iterable

from rich.segment import Segment
from textual import events
from textual.binding import Binding
from textual.geometry import Size
from textual.message import Message
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

from engine.errors import MusicInputError
from engine.fretboard import Position
from engine.frets import format_positions, parse_positions
from engine.neck import USUAL_NECK, Neck
from engine.notation import LONGEST_ANSWER, NoteNames
from quiz.display.signs import Signs
from quiz.neck.drawing import (
    Mark,
    NeckView,
    Piece,
    Window,
    frets_that_fit,
    legend,
    window_over,
    window_with,
)


class NeckDrawing(Widget):
    """The part of the neck where a path lies."""

    COMPONENT_CLASSES = {
        "neck--name",
        "neck--number",
        "neck--inlay",
        "neck--string",
        "neck--place",
        "neck--lit",
        "neck--own",
        "neck--wrong",
        "neck--cursor",
    }

    lit: reactive[Position | None] = reactive(None)
    """The place that sounds now."""

    def __init__(self, signs: Signs, left_handed: bool = False, id: str | None = None) -> None:
        super().__init__(id=id)
        self._signs = signs
        self._left_handed = left_handed
        self._neck = USUAL_NECK
        self._marks: dict[Position, Mark] = {}

    def show(
        self,
        neck: Neck,
        path: Iterable[Position],
        own: Iterable[Position] = (),
        wrong: Collection[Position] = (),
    ) -> None:
        """Draw a path, and where the player was, rightly or not."""
        self._neck = neck
        self._marks = dict.fromkeys(own, Mark.OWN) | dict.fromkeys(path, Mark.PLACE)
        self._marks |= dict.fromkeys(wrong, Mark.WRONG)
        self.lit = None
        self.refresh(layout=True)

    @property
    def view(self) -> NeckView:
        """What is to be seen in the room there is."""
        return NeckView(self._neck, self._window(), self._left_handed)

    @property
    def marks(self) -> dict[Position, Mark]:
        """What stands where."""
        return self._marks if self.lit is None else self._marks | {self.lit: Mark.LIT}

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """The frets' numbers, the strings, and a line that explains the signs."""
        return self.view.height + 1

    def render_line(self, y: int) -> Strip:
        """A row of the neck, or the line below it."""
        view = self.view
        if y < view.height:
            pieces = view.rows(self.marks, self._signs, self._cursor())[y]
        else:
            pieces = (Piece(self._below() if y == view.height else "", "name"),)
        segments = [self._segment(piece) for piece in pieces]
        return Strip(segments).adjust_cell_length(self.size.width, self.rich_style)

    def _segment(self, piece: Piece) -> Segment:
        style = self.get_component_rich_style(f"neck--{piece.style}")
        if piece.cursor:
            style += self.get_component_rich_style("neck--cursor")
        return Segment(piece.text, style)

    @property
    def _room(self) -> int:
        return frets_that_fit(self._neck, self.size.width)

    def _window(self) -> Window:
        return window_over((place.fret for place in self._marks), self._neck, self._room)

    def _cursor(self) -> Position | None:
        return None

    def _below(self) -> str:
        return legend(self.marks, self._signs)


class NeckPad(NeckDrawing, can_focus=True):
    """A neck on which places are given, one after the other: with the arrow keys and the space bar,
    with the mouse, or by typing string and fret.

    What is typed belongs to a place that is not finished; space, comma or Enter ends it. Without
    it, space gives the place under the cursor, and Enter gives the whole line as the answer.
    """

    BINDINGS = [
        Binding("enter", "submit", "Answer", id="neck.answer"),
        Binding("space,comma", "put", "Note", id="neck.put", tooltip="Play this place next"),
        Binding("right", "along(1)", "Right", show=False),
        Binding("left", "along(-1)", "Left", show=False),
        Binding("up", "across(1)", "String above", show=False),
        Binding("down", "across(-1)", "String below", show=False),
        Binding("backspace", "rub_out", "Take back", id="neck.back", tooltip="Take a note back"),
        Binding("ctrl+u", "clear", "Clear", show=False),
    ]

    line: reactive[tuple[Position, ...]] = reactive(())
    cursor: reactive[Position] = reactive(Position(0, 1))
    typed: reactive[str] = reactive("")
    """A place that is not finished."""

    class Given(Message):
        """The line is finished."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    def __init__(
        self,
        signs: Signs,
        left_handed: bool = False,
        names: NoteNames = NoteNames.ENGLISH,
        id: str | None = None,
    ) -> None:
        """`names` is the language in which strings may be called too."""
        super().__init__(signs, left_handed, id)
        self._names = names
        self._shown = Window(1, 1)

    def ask(self, neck: Neck) -> None:
        """Begin anew on a neck, nothing given."""
        self._neck, self._shown = neck, Window(1, 1)
        self.line, self.cursor, self.typed = (), Position(0, 1), ""
        self.refresh(layout=True)

    @property
    def marks(self) -> dict[Position, Mark]:
        """The places that were given."""
        return dict.fromkeys(self.line, Mark.PLACE)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """The neck, and lines that say what was given."""
        return self.view.height + 3

    def render_line(self, y: int) -> Strip:
        """A row of the neck, or what was given."""
        below = y - self.view.height - 1
        if below < 0:
            return super().render_line(y)
        style = self.get_component_rich_style("neck--place")
        lines = self._given_lines()
        text = lines[below] if below < len(lines) else ""
        return Strip([Segment(text, style)]).adjust_cell_length(self.size.width, style)

    def _given_lines(self) -> list[str]:
        """What was given and what is being typed; the end of it, where there is no room for all."""
        given = format_positions(self.line, self._neck.tuning) or "nothing yet"
        typing = f"   typing: {self.typed}_" if self.typed else ""
        width = max(self.size.width, 1)
        text = f"given: {given}{typing}"
        lines = [text[at : at + width] for at in range(0, len(text), width)]
        return lines[-2:]

    def _window(self) -> Window:
        self._shown = window_with(self._shown, self.cursor.fret, self._neck, self._room)
        return self._shown

    def _cursor(self) -> Position | None:
        return self.cursor if self.has_focus else None

    def _below(self) -> str:
        return ""

    # --- what the player does -------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """A printable character goes on with a place; ? asks for help.

        Keys that end a place or take a character back are taken here too: a binding has its turn
        only later, and who types fast would find them behind what was typed after them.
        """
        char = event.character
        if event.key in ("space", "comma"):
            event.stop()
            self.action_put()
        elif event.key == "backspace":
            event.stop()
            self.action_rub_out()
        elif char and event.is_printable and char not in " ,?":
            event.stop()
            self.typed = (self.typed + char)[:LONGEST_ANSWER]

    def on_paste(self, event: events.Paste) -> None:
        """Pasted text is typed at once."""
        event.stop()
        self.typed = (self.typed + " ".join(event.text.split()))[: LONGEST_ANSWER + 1]

    def on_click(self, event: events.Click) -> None:
        """A click on a place gives it."""
        offset = event.get_content_offset(self)
        place = self.view.position_at(offset.x, offset.y) if offset is not None else None
        if place is not None:
            self.cursor = place
            self._put(place)

    def action_put(self) -> None:
        """Give the place that was typed, or the one under the cursor."""
        if not self.typed:
            self._put(self.cursor)
        elif not self._take_typed() and not self.typed.endswith(" "):
            self.typed += " "  # a name and its fret may stand apart

    def action_submit(self) -> None:
        """Give the line as the answer, with what is being typed."""
        self._take_typed()
        given = format_positions(self.line, self._neck.tuning)
        self.post_message(self.Given(f"{given} {self.typed}".strip()))

    def action_along(self, step: int) -> None:
        """A fret to the right or to the left."""
        self._take_typed()
        fret = self.cursor.fret + (-step if self._left_handed else step)
        self.cursor = Position(self.cursor.string, min(max(fret, 0), self._neck.frets))

    def action_across(self, step: int) -> None:
        """The string above or below."""
        self._take_typed()
        last = len(self._neck.tuning.strings) - 1
        string = min(max(self.cursor.string + step, 0), last)
        self.cursor = Position(string, self.cursor.fret)

    def action_rub_out(self) -> None:
        """Take back the last character, or the last place."""
        if self.typed:
            self.typed = self.typed[:-1]
        else:
            self.line = self.line[:-1]

    def action_clear(self) -> None:
        """Take everything back."""
        self.typed, self.line = "", ()

    def _take_typed(self) -> bool:
        """Give the places that were typed; whether they could be read."""
        if not self.typed.strip():
            self.typed = ""
            return False
        try:
            places = parse_positions(self.typed, self._neck, self._names)
        except MusicInputError:
            return False  # told when the answer is given
        self.typed = ""
        self.cursor = places[-1]
        self.line = (*self.line, *places)
        return True

    def _put(self, place: Position) -> None:
        self._take_typed()
        self.line = (*self.line, place)
