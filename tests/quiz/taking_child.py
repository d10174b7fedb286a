"""A process that takes in one answer through the system's sound input, a JSON line at a time.

It has a clock for a sound output; what is counted is not heard. The machine's clock is one for all
processes, so whoever plays can be told when beat 0 is.
"""

import json
import sys
import time

from quiz.grading.replies import grade_reply
from quiz.playing.instrument import SoundInstrument
from quiz.playing.live_take import LiveTake
from quiz.playing.taking import Stage
from quiz.questions.value import from_parameters
from quiz.sound.player import ClockPlayer
from quiz.sound.studio import Studio
from tests.quiz.asking import CATALOGUE, ENGLISH


def say(**data: object) -> None:
    sys.stdout.write(json.dumps(data) + "\n")
    sys.stdout.flush()


def main(parameters: str) -> None:
    question = from_parameters(parameters)
    studio = Studio(CATALOGUE, None, reverb=False)
    instrument = SoundInstrument(None)
    take = LiveTake(question, CATALOGUE, instrument, ClockPlayer(None), studio)
    take.begin()
    located, live = False, 0
    while take.running:
        take.tick()
        if not located and len(take._starts) > 5:
            located = True
            say(start=take._state.start)
        if take.stage is Stage.PLAYING:
            live = max(live, len(take.degrees))
        time.sleep(0.01)
    given = take.given or ""
    grade = grade_reply(question, given, ENGLISH, CATALOGUE) if given else None
    say(
        given=given,
        told=take.told,
        tuning=take.tuning_words,
        live=live,
        verdict=grade.verdict.value if grade else None,
        said=grade.said if grade else None,
        open=instrument._input is not None,
    )
    studio.close()
    instrument.close()


if __name__ == "__main__":
    main(sys.argv[1])
