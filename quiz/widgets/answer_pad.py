"""Where an answer is given: a list to choose from, or a line to type.

Both take plain keys without being text inputs, so the keys that replay and slow down stay free.
"""

import unicodedata
from collections.abc import Sequence

from rich.text import Text
from textual import events
from textual.binding import Binding
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from engine.notation import LONGEST_ANSWER


class Choices(OptionList):
    """Numbered options; a digit picks one at once."""

    class Picked(Message):
        """An option was picked."""

        def __init__(self, index: int) -> None:
            super().__init__()
            self.index = index
            """0 for the first option."""

    def offer(self, words: Sequence[str]) -> None:
        """Show options in place of what was there."""
        self.clear_options()
        self.add_options(
            [Option(Text(f"{_number(place)}  {word}")) for place, word in enumerate(words)]
        )
        self.highlighted = 0 if words else None

    def on_key(self, event: events.Key) -> None:
        """A digit or letter that stands before an option picks it."""
        for place in range(self.option_count):
            if event.character == _number(place):
                event.stop()
                self.post_message(self.Picked(place))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter or a click."""
        event.stop()
        self.post_message(self.Picked(event.option_index))


class Ticks(OptionList):
    """Numbered options, any number of which can be ticked; Enter gives the answer."""

    BINDINGS = [
        Binding("enter", "submit", "Answer", id="ticks.answer"),
        Binding("space", "select", "Tick", id="ticks.tick", tooltip="Tick this option, or not"),
    ]

    class Given(Message):
        """The ticks are finished."""

        def __init__(self, indices: tuple[int, ...]) -> None:
            super().__init__()
            self.indices = indices
            """0 for the first option; empty for none."""

    def __init__(self, sign: str, id: str | None = None) -> None:
        """`sign` stands before what is ticked."""
        super().__init__(id=id, markup=False)
        self._sign = sign
        self._words: tuple[str, ...] = ()
        self._ticked: set[int] = set()

    def offer(self, words: Sequence[str]) -> None:
        """Show options in place of what was there, none ticked."""
        self._words, self._ticked = tuple(words), set()
        self.clear_options()
        self.add_options([Option(self._line(place)) for place in range(len(words))])
        self.highlighted = 0 if words else None

    def on_key(self, event: events.Key) -> None:
        """The digit that stands before an option ticks it."""
        for place in range(self.option_count):
            if event.character == _number(place):
                event.stop()
                self._toggle(place)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Space or a click."""
        event.stop()
        self._toggle(event.option_index)

    def action_submit(self) -> None:
        """Give the ticks as the answer."""
        self.post_message(self.Given(tuple(sorted(self._ticked))))

    def _toggle(self, place: int) -> None:
        self._ticked ^= {place}
        self.replace_option_prompt_at_index(place, self._line(place))

    def _line(self, place: int) -> Text:
        sign = self._sign if place in self._ticked else " "
        return Text(f"[{sign}] {_number(place)}  {self._words[place]}")


def _number(place: int) -> str:
    """1 to 9, then letters that are not used as keys elsewhere."""
    return "123456789abcdefgh"[place] if place < 17 else " "


class AnswerLine(Widget, can_focus=True):
    """A line of degrees or note names, typed with plain keys."""

    BINDINGS = [
        Binding("enter", "submit", "Answer", id="answer"),
        Binding("backspace", "rub_out", "Rub out", show=False),
        Binding("ctrl+u", "clear", "Clear", show=False),
    ]

    text: reactive[str] = reactive("")

    class Given(Message):
        """The line is finished."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    def render(self) -> Text:
        """The line with a block where the next character comes."""
        cursor = "_" if self.has_focus else ""
        return Text.assemble(("> ", "bold"), self.text, (cursor, "blink"), no_wrap=True)

    def on_key(self, event: events.Key) -> None:
        """A printable character goes into the line; ? stands in no answer and asks for help.

        Backspace is taken here too: a binding has its turn only later, behind what is typed fast.
        """
        if event.key == "backspace":
            event.stop()
            self.action_rub_out()
        elif event.character and event.is_printable and event.character != "?":
            event.stop()
            self._add(event.character)

    def on_paste(self, event: events.Paste) -> None:
        """Pasted text, control characters left out."""
        event.stop()
        self._add(event.text)

    def action_submit(self) -> None:
        """Give the line as the answer."""
        self.post_message(self.Given(self.text))

    def action_rub_out(self) -> None:
        """Remove the last character."""
        self.text = self.text[:-1]

    def action_clear(self) -> None:
        """Remove everything."""
        self.text = ""

    def _add(self, text: str) -> None:
        kept = "".join(
            " " if char.isspace() else char
            for char in text
            if char.isspace() or unicodedata.category(char)[0] != "C"
        )
        self.text = (self.text + kept)[: LONGEST_ANSWER + 1]
