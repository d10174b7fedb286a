"""The command line: reads arguments and hands them to `quiz.commands`.

Exit codes: 0 all went well; 1 wrong use or bad input; 2 not found. Errors are one line on stderr
that says what to do.
"""

import os
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from engine.errors import EngineError, UnknownName
from quiz.commands import program
from quiz.commands.output import BAD, NOT_FOUND, OK, NotFound, fail
from quiz.errors import QuizError, StoreDamaged

if TYPE_CHECKING:
    from argparse import Namespace


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the program; gives the exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a locale that lacks a sign gets a ? instead
            stream.reconfigure(errors="replace")
    given = sys.argv[1:] if arguments is None else list(arguments)
    try:
        if not given:
            return program.run_app()  # the program itself does not wait for the parser
        from quiz.arguments import parsed

        options = parsed(given)
        run: Callable[[Namespace], int] = options.run
        return run(options)
    except (NotFound, UnknownName) as error:
        return fail(str(error), NOT_FOUND)
    except StoreDamaged as error:
        return fail(
            f"{error}. It is left as it is: `lastbar keep restore` sets it aside and "
            "takes the newest backup, `lastbar keep fresh` sets it aside and starts "
            "anew",
            BAD,
        )
    except (EngineError, QuizError) as error:
        return fail(str(error), BAD)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK
    except KeyboardInterrupt:
        return BAD


if __name__ == "__main__":
    raise SystemExit(main())
