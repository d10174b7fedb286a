"""A process that listens to the system's sound input and prints what it hears, a JSON line each."""

import json
import sys
import threading

from engine.listening.live import Event, NoteBegan
from quiz.playing.audio_input import AudioInput


def say(**data: object) -> None:
    sys.stdout.write(json.dumps(data) + "\n")
    sys.stdout.flush()


def main(silence: float) -> None:
    over = threading.Event()
    began: list[int] = []

    def told(event: Event) -> None:
        if isinstance(event, NoteBegan):
            began.append(event.midi)
            say(began=event.midi)

    source = AudioInput(told=told, over=lambda _why: over.set(), silence=silence)
    say(ready=source.rate)
    over.wait(60)
    take = source.take()
    source.close()
    say(ended=source.ended, notes=[note.midi for note in take.notes], began=began)


if __name__ == "__main__":
    main(float(sys.argv[1]))
