"""`python -m img2plate`, and the installed command."""

import os

# Matrices here are small: threads that share them out wait for each other, and on a busy machine
# that makes the search for a pixel grid ten times as long. It must be said before numpy comes.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from img2plate.ui.cli import main

if __name__ == "__main__":
    main()
