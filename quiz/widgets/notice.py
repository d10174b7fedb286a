"""A line that stands on a screen for as long as there is something to say."""

from textual.content import Content
from textual.widgets import Static


class Notice(Static):
    """One line, which takes no room while it is empty."""

    def __init__(self, text: str = "", id: str | None = None) -> None:
        super().__init__(id=id, markup=False)
        self.say(text)

    def say(self, text: str) -> None:
        """Show `text` in place of what stood here; empty text clears it."""
        self.update(Content(text))
        self.display = bool(text)
