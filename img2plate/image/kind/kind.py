"""The four kinds of picture, and what is told of one."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Kind(Enum):
    """What a picture is; the value is how people call it."""

    OWN_SIZE = "a sprite at its own size"
    ENLARGED = "an enlarged sprite"
    DRAWING = "a drawing"
    """A logo, line art, lettering, a cartoon, an icon larger than a sprite: flat, edges soft."""
    PHOTO = "a photo"

    @property
    def is_sprite(self) -> bool:
        """Whether it has pixels that are to be kept, one bead each."""
        return self in (Kind.OWN_SIZE, Kind.ENLARGED)

    @property
    def source(self) -> str:
        """The word by which a person says that a picture is of this kind."""
        return "sprite" if self.is_sprite else self.name.lower()


@dataclass(frozen=True)
class KindTold:
    """What a picture was taken for, and why."""

    kind: Kind
    reason: str
    """In plain words, to follow the kind and a colon."""
    sure: bool = True
    """Whether it is right at least 99 times in 100."""
    second: Kind | None = None
    """The next likely kind, when it is not sure."""
    option: str = ""
    """What takes the second choice, for the end of "if it is a drawing, give ..."."""

    def __str__(self) -> str:
        """One sentence for people."""
        if self.sure or self.second is None:
            return f"{self.kind.value}: {self.reason}"
        other = f"if it is {self.second.value}, give {self.option}"
        return f"{self.kind.value}, not sure: {self.reason}; {other}"


AS_IT_IS = KindTold(Kind.OWN_SIZE, "each pixel is one cell")
