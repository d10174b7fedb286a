"""Marking bars of a form: with the arrow keys and the space bar, with the mouse, or by typing their
numbers."""

from rich.segment import Segment
from textual import events
from textual.binding import Binding
from textual.geometry import Size
from textual.message import Message
from textual.reactive import reactive
from textual.strip import Strip

from engine.forms import Form
from quiz.widgets.form_strip import BARS_IN_A_ROW, FormStrip, Mark


class BarPad(FormStrip, can_focus=True):
    """A form whose bars can be marked.

    A digit belongs to the number that is being typed; space, comma or Enter ends it. Without one,
    space marks the bar under the cursor, and Enter gives the answer.
    """

    BINDINGS = [
        Binding("enter", "submit", "Answer", id="bars.answer"),
        Binding("space,comma", "mark", "Mark", id="bars.mark", tooltip="Mark this bar, or not"),
        Binding("right", "move(1)", "Next bar", show=False),
        Binding("left", "move(-1)", "Bar before", show=False),
        Binding("down", f"move({BARS_IN_A_ROW})", "Line below", show=False),
        Binding("up", f"move(-{BARS_IN_A_ROW})", "Line above", show=False),
        Binding("backspace", "rub_out", "Rub out", show=False),
        Binding("ctrl+u", "clear", "Clear", show=False),
    ]

    COMPONENT_CLASSES = {"bar-pad--cursor", "bar-pad--typed"}

    marked: reactive[frozenset[int]] = reactive(frozenset())
    cursor: reactive[int] = reactive(1)
    typed: reactive[str] = reactive("")
    """The digits of a number that is not finished."""

    class Given(Message):
        """The marks are finished."""

        def __init__(self, bars: tuple[int, ...]) -> None:
            super().__init__()
            self.bars = bars
            """Counted from 1, in order; empty for none."""

    def ask(self, form: Form) -> None:
        """Begin anew with a form, nothing marked."""
        self.set_reactive(BarPad.marked, frozenset())
        self.set_reactive(BarPad.cursor, 1)
        self.set_reactive(BarPad.typed, "")
        self.show(form, frozenset(), frozenset(range(1, len(form) + 1)))

    @property
    def bars(self) -> int:
        """How many bars there are to mark."""
        return len(self._form) if self._form else 0

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """The bars, and a line that says what is marked."""
        return super().get_content_height(container, viewport, width) + 2

    def render_line(self, y: int) -> Strip:
        """A row of bars, or the line below them."""
        rows = -(-self.bars // BARS_IN_A_ROW)
        self._marks = dict.fromkeys(self.marked, Mark.MARKED)
        if y < rows:
            return self._with_cursor(super().render_line(y), y)
        words = self._words() if y == rows + 1 else ""
        style = self.get_component_rich_style("bar-pad--typed")
        return Strip([Segment(words, style)]).adjust_cell_length(self.size.width, style)

    def _words(self) -> str:
        bars = " ".join(str(bar) for bar in sorted(self.marked)) or "none"
        return f"marked: {bars}" + (f"   typing: {self.typed}_" if self.typed else "")

    def _with_cursor(self, strip: Strip, row: int) -> Strip:
        place = self.cursor - 1 - row * BARS_IN_A_ROW
        if not self.has_focus or not 0 <= place < BARS_IN_A_ROW:
            return strip
        width = self.bar_width
        first = place * width
        style = self.get_component_rich_style("bar-pad--cursor")
        here = strip.crop(first, first + width).apply_style(style)
        return Strip.join([strip.crop(0, first), here, strip.crop(first + width)])

    # --- what the player does -------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """A digit goes on with a number.

        What ends a number is taken here too: a binding has its turn only later, behind what is
        typed fast.
        """
        if event.key in ("space", "comma"):
            event.stop()
            self.action_mark()
        elif event.character and event.character.isdecimal() and event.character.isascii():
            event.stop()
            self.typed = (self.typed + event.character)[-2:]

    def on_click(self, event: events.Click) -> None:
        """A click marks a bar, or takes the mark away."""
        bar = event.y * BARS_IN_A_ROW + event.x // self.bar_width + 1
        if event.x // self.bar_width < BARS_IN_A_ROW and 1 <= bar <= self.bars:
            self.cursor = bar
            self._toggle(bar)

    def action_mark(self) -> None:
        """Mark the bar that was typed, or the one under the cursor."""
        if not self._take_typed():
            self._toggle(self.cursor)

    def action_submit(self) -> None:
        """Give the marks as the answer, a number that was being typed among them."""
        self._take_typed()
        self.post_message(self.Given(tuple(sorted(self.marked))))

    def action_move(self, bars: int) -> None:
        """Another bar under the cursor."""
        self._take_typed()
        self.cursor = min(max(self.cursor + bars, 1), self.bars)

    def action_rub_out(self) -> None:
        """Remove the last digit."""
        self.typed = self.typed[:-1]

    def action_clear(self) -> None:
        """Remove all marks."""
        self.typed, self.marked = "", frozenset()

    def _take_typed(self) -> bool:
        """Mark the bar that was typed; whether one was. A number without a bar is dropped."""
        number, self.typed = self.typed, ""
        if number and 1 <= int(number) <= self.bars:
            self.cursor = int(number)
            self._toggle(self.cursor)
        return bool(number)

    def _toggle(self, bar: int) -> None:
        self.marked = self.marked ^ {bar}
