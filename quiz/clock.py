"""The wall clock, in the form in which answers are stamped."""

import time
from datetime import datetime
from typing import NamedTuple

from quiz.answers import practice_day


class Moment(NamedTuple):
    """A moment and where the player's clock stood."""

    at: int
    """Microseconds since 1970 in UTC."""

    utc_offset: int
    """Seconds by which local time is ahead of UTC."""

    @property
    def day(self) -> int:
        """The practice day."""
        return practice_day(self.at, self.utc_offset)


def now() -> Moment:
    """The present moment by the system's clock."""
    at = time.time_ns() // 1000
    offset = datetime.fromtimestamp(at / 1e6).astimezone().utcoffset()
    return Moment(at, int(offset.total_seconds()) if offset else 0)
