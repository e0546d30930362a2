"""`python -m img2plate`, and the installed command."""

from img2plate.ui.cli import main

if __name__ == "__main__":
    main()
