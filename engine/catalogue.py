"""The catalogue: all devices and forms there are; the built-in ones from `data/devices.toml`."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cache

from engine.device_rows import devices_of
from engine.devices import CHANGES
from engine.devices import TWELVE as TWELVE
from engine.devices import Arrival as Arrival
from engine.devices import Device as Device
from engine.devices import Family as Family
from engine.devices import combine as combine
from engine.devices import doubled as doubled
from engine.devices import goes_with as goes_with
from engine.devices import places as places
from engine.errors import MusicInputError, UnknownName, shown
from engine.fields import Row
from engine.forms import Form, builtin_forms, find_form
from engine.rows import builtin_text, read_rows, refuse


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All devices, in the order of the file, which is the order of learning, and all forms."""

    devices: tuple[Device, ...]
    forms: tuple[Form, ...] = field(default_factory=builtin_forms)

    def family(self, *families: Family) -> tuple[Device, ...]:
        """The rows of the given families."""
        return tuple(device for device in self.devices if device.family in families)

    def form(self, name: str) -> Form:
        """The form of an id.

        Raises MusicInputError when there is none.
        """
        return find_form(name, self.forms)

    def name(self, row: str) -> str:
        """What the screen calls a device or a form; the id itself when the catalogue has neither,
        as it can be of something that was deleted since it was asked."""
        for form in self.forms:
            if form.id == row:
                return form.name
        try:
            return self.find(row).name
        except MusicInputError:
            return row

    def find(self, name: str) -> Device:
        """The device of an id; ids such as `climb+dip` and `dip+doubled` are put together.

        Raises MusicInputError when there is none, or the parts do not go together.
        """
        parts = name.split("+")
        change = CHANGES.get(parts[-1]) if len(parts) > 1 else None
        if change is not None:
            parts.pop()
        if len(parts) > 2 or any(part in CHANGES for part in parts):
            raise UnknownName(
                f"there is no device {shown(name)}: a turnaround is HEAD+TAIL, "
                f"and one of {', '.join(f'+{word}' for word in CHANGES)} may come at the end"
            )
        rows = [self._row(part) for part in parts]
        device = combine(*rows) if len(rows) == 2 else rows[0]
        return device if change is None else change(device)

    def variants(self, device: Device) -> tuple[Device, ...]:
        """Every way to vary a device that can be played by itself: by a row that is a variant of it
        or of its head, doubled, and late. None of them is an answer of its own where the player
        only says that the device was varied."""
        rows = [row for row in self.devices if row.variant_of == device.head]
        if device.tail is not None:
            tail = self._row(device.tail)
            rows = [combine(row, tail) for row in rows if goes_with(row, tail)]
        changed = []
        for change in CHANGES.values():
            try:
                changed.append(change(device))
            except MusicInputError:
                continue  # it has nothing that could be changed this way
        return (*rows, *changed)

    def tails_for(self, head: Device) -> tuple[Device, ...]:
        """The tails that may follow `head`; none when it brings its own."""
        return tuple(tail for tail in self.family(Family.TAIL) if goes_with(head, tail))

    def turnarounds(self) -> tuple[Device, ...]:
        """Every whole turnaround: each head with each tail that goes with it."""
        whole: list[Device] = []
        for head in self.family(Family.HEAD):
            tails = self.tails_for(head)
            whole.extend([combine(head, tail) for tail in tails] or [head])
        return tuple(whole)

    def completed(self, device: Device) -> Device:
        """The device as something that can be played by itself.

        A head gets the first tail that can follow any head, a tail the first head that it goes
        with. Raises MusicInputError when there is none.
        """
        if device.complete:
            return device
        if device.family is Family.HEAD:
            tails = sorted(self.tails_for(device), key=lambda tail: -len(tail.follows))
            pairs = [(device, tail) for tail in tails]
        else:
            heads = [head for head in self.family(Family.HEAD) if goes_with(head, device)]
            pairs = [(head, device) for head in heads]
        if not pairs:
            raise MusicInputError(f"nothing goes with '{device.name}': check leads_to and follows")
        return combine(*pairs[0])

    def _row(self, name: str) -> Device:
        for device in self.devices:
            if device.id == name:
                return device
        raise UnknownName(f"there is no device {shown(name)}: `lastbar devices` lists them all")


def read_catalogue(text: str, file: str) -> Catalogue:
    """The devices of a data file.

    Raises CatalogueError naming entry and field.
    """
    rows = read_rows(text, file, "device")
    return with_devices(Catalogue(()), devices_of(rows, (), {}, refuse))


def with_devices(catalogue: Catalogue, more: Iterable[tuple[Row, Device]]) -> Catalogue:
    """The catalogue with the devices of some rows behind its own."""
    return replace(catalogue, devices=(*catalogue.devices, *(device for _, device in more)))


@cache
def builtin_catalogue() -> Catalogue:
    """The catalogue that comes with the program."""
    return read_catalogue(builtin_text("devices.toml"), "devices.toml")
