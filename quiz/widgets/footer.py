"""The footer: what the keys do here, the way out first, since a long line is cut at the right."""

from textual.app import ComposeResult
from textual.widget import Widget
from textual.widgets import Footer
from textual.widgets._footer import FooterKey  # the library exports it nowhere else

WAYS_OUT = ("escape", "ctrl+q")
"""The key that leads back; on a screen that nothing is behind, the one that ends the program."""


class KeyFooter(Footer):
    """The keys of a screen in one line; the one to leave by is always to be seen."""

    def __init__(self) -> None:
        super().__init__(show_command_palette=False, compact=True)

    def compose(self) -> ComposeResult:
        """As the library does, but for the order."""
        keys = list(super().compose())
        way_out = next((key for way in WAYS_OUT for key in keys if _key(key) == way), None)
        yield from sorted(keys, key=lambda key: key is not way_out)


def _key(widget: Widget) -> str:
    return widget.key if isinstance(widget, FooterKey) else ""
