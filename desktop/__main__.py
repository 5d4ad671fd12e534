"""``setdown`` and ``python -m desktop``: the command line first, the screen only if wanted."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from desktop.shell.command_line import (
    SUBCOMMANDS,
    options_from,
    parser_with,
    why_not_opened,
    with_files,
    without_files,
)

WRONG = 2
"""Exit code when nothing was opened, as argparse has it."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return the exit code."""
    words, files = without_files(sys.argv[1:] if arguments is None else arguments)
    parsed = parser_with(SUBCOMMANDS, words).parse_args(words)
    run = getattr(parsed, "run", None)
    if parsed.version:
        from importlib.metadata import version  # slow, and only --version needs it

        sys.stdout.write(f"setdown {version('setdown')}\n")
        return 0
    wrong = why_not_opened(files, parsed.library)
    if wrong:
        sys.stderr.write(f"{wrong}\n")
        return WRONG
    try:
        if run is not None:
            code = int(run(parsed))
            if sys.stdout is not None:  # it was not closed beforehand
                sys.stdout.flush()
            return code
        # Imported here: a wrong option or a subcommand should not wait for Qt, nor fail without it.
        from desktop.shell.app import run_window
    except BrokenPipeError:  # whoever reads what is said has read enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # or the end says it again
        return 0
    except ImportError as problem:
        from desktop.shell.qt_loading import CANNOT_START, import_remedy  # only then

        remedy = import_remedy(problem)
        if remedy is None:
            raise
        sys.stderr.write(f"{remedy}\n")
        return CANNOT_START
    return run_window(with_files(options_from(parsed), files))


if __name__ == "__main__":
    sys.exit(main())
