"""A PDF that is written in mm from the upper left corner, at true scale, in our look."""

from __future__ import annotations

from pathlib import Path

from img2plate.base.lengths import mm2points
from img2plate.base.printer import USUAL_MARGIN_MM
from img2plate.typeset.look import QUIET
from img2plate.typeset.sheets.words import Words

_NUMBER_OF_PAGES = "pages"


class Sheet(Words):
    """Wraps the PDF writer: units, colours and type in one place.

    With `made`, how what the pages show was made, the title, the page's number and these words
    stand at the foot of each page.
    """

    def __init__(self, path: Path, title: str, made: str | None = None) -> None:
        from reportlab import rl_config
        from reportlab.pdfgen.canvas import Canvas

        # Streams as bytes, not as text: a fifth smaller, and a fifth of a large file's time saved.
        rl_config.useA85 = 0
        # invariant: no date and no random id, so that equal plates give equal bytes.
        super().__init__(Canvas(str(path), invariant=1, pageCompression=1))
        self.canvas.setTitle(title)
        self.canvas.setCreator("img2plate")
        # Left alone, the writer calls the author anonymous; the plate's author is whoever made it.
        self.canvas.setAuthor("")
        self.canvas.setSubject("")
        # Keeps print dialogs from shrinking the page (ISO 32000-1, viewer preferences).
        self.canvas.setViewerPreference("PrintScaling", "None")
        self._path, self._title, self._made, self._pages = path, title, made, 0
        self._width = self._margin = 0.0

    def start(
        self,
        width: float,
        height: float,
        stretch: tuple[float, float] = (1.0, 1.0),
        margin: float = USUAL_MARGIN_MM,
    ) -> None:
        """Begin a page of a size in mm; from here all lengths are mm, y grows downwards.

        With a stretch across and down, paper and all that is drawn are so much larger.
        """
        self._width, self._height, self._margin = width, height, margin
        size = width * stretch[0], height * stretch[1]
        self.canvas.setPageSize((mm2points(size[0]), mm2points(size[1])))
        if stretch != (1.0, 1.0):
            self.canvas.scale(*stretch)

    def bookmark(self, title: str) -> None:
        """Name the page in the reader's list of contents."""
        self.canvas.bookmarkPage(title)
        self.canvas.addOutlineEntry(title, title)

    def end(self) -> None:
        """Finish the page."""
        self._pages += 1
        if self._made is not None:
            self._draw_foot(self._made)
        self.canvas.showPage()

    def _draw_foot(self, made: str) -> None:
        """Whose page this is, which of how many, and how it was made."""
        left, right, y = self._margin, self._width - self._margin, self._height - self._margin - 0.4
        room = (right - left) * 0.45
        self.text(left, y, words := f"page {self._pages} of", 8)
        # How many there are is known at the end: a form that is filled in then, seen on each page.
        left += self.text_width(f"{words} ", 8)
        self.canvas.saveState()
        self.canvas.translate(*self.at(left, y))
        self.canvas.doForm(_NUMBER_OF_PAGES)
        self.canvas.restoreState()
        left += self.text_width("0000", 8)
        title = self.shorten(self._title, 8, room)
        self.text(left, y, title, 8, bold=True)
        left += self.text_width(title, 8, bold=True) + 6
        self.text(right, y, self.shorten(made, 7, right - left), 7, colour=QUIET,
                  align="right")  # fmt: skip

    def save(self) -> None:
        """Write the file."""
        if self._made is not None:
            self._fill_in_pages()
        # Written here: where the disk is full the library would leave its file open.
        self._path.write_bytes(self.canvas.getpdfdata())

    def _fill_in_pages(self) -> None:
        """Say how many pages there are, on all of them."""
        self.canvas.beginForm(_NUMBER_OF_PAGES, 0, -4, 40, 12)
        self._height = 0.0
        self.text(0, 0, str(self._pages), 8)
        self.canvas.endForm()
