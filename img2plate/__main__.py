"""`python -m img2plate`, and the installed command."""

import os
import sys

# Matrices here are small: threads that share them out wait for each other, and on a busy machine
# that makes the search for a pixel grid ten times as long. It must be said before numpy comes.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def main() -> None:
    """Run the command line; Ctrl-C while it is loaded ends it as at any later moment."""
    try:
        from img2plate.ui.cli import main as run

        run()
    except KeyboardInterrupt:
        print("img2plate: stopped; nothing is left half-written", file=sys.stderr)
        sys.exit(130)


if __name__ == "__main__":
    main()
