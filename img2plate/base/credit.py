"""Whose work a plate is, and what others may do with it."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, replace

from img2plate.base.errors import OptionError
from img2plate.base.licences import find_licence

MOST_LETTERS = 200
"""Of a title or a name."""
_TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Marks that turn the direction of what follows them (UAX 9): they would reach past a name."""


@dataclass(frozen=True)
class Credit:
    """What a work says of itself. Each may be empty."""

    title: str = ""
    author: str = ""
    licence: str = ""
    """An identifier of SPDX's list; in a plate document that another program wrote, any words."""

    def checked(self) -> Credit:
        """The same as a person may state it.

        Raises OptionError for texts that are too long, and a licence that nobody knows.
        """
        for field in ("title", "author"):
            if (length := len(plain_line(getattr(self, field)))) > MOST_LETTERS:
                raise OptionError(
                    f"has {length:,} letters", field=field, remedy=f"write at most {MOST_LETTERS}"
                )
        known = find_licence(self.licence).id if self.licence.strip() else ""
        return Credit(plain_line(self.title), plain_line(self.author), known)

    def cleaned(self) -> Credit:
        """The same as it may be shown, wherever it comes from."""
        return Credit(*(plain_line(text)[:MOST_LETTERS] for text in self.words))

    def over(self, other: Credit) -> Credit:
        """This one, and what it leaves out as the other says."""
        given = {name: text for name, text in vars(self).items() if text}
        return replace(other, **given)

    @property
    def signature(self) -> str:
        """Author and licence in a line: "Maja Holm, CC-BY-4.0"; what is empty is left out."""
        return ", ".join(filter(None, (self.author, self.licence)))

    @property
    def words(self) -> tuple[str, str, str]:
        """Title, author and licence."""
        return self.title, self.author, self.licence


def plain_line(text: str) -> str:
    """Text in one line: no line ends, no control characters, no marks that turn its direction."""
    kept = (
        " " if letter.isspace() else letter
        for letter in text
        if letter.isspace()
        or not (letter in _TURNING or unicodedata.category(letter) in ("Cc", "Cs", "Cn", "Co"))
    )
    return " ".join("".join(kept).split())
