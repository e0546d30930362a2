"""The directive `command`: a page of the reference, from what a click command says of itself.

    ```{command} palette show
    ```

click writes its help through a formatter; this one writes nodes of a page, so that text, headings
and options are those of `--help`, in the same order.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import click
from docutils import nodes
from sphinx.util.docutils import SphinxDirective

from img2plate.ui.cli import cli


class PageFormatter(click.HelpFormatter):
    """Gathers nodes where click would write lines."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.name = name
        self.nodes: list[nodes.Node] = []

    def write_usage(self, prog: str, args: str = "", *_: Any, **__: Any) -> None:
        """How the command is called."""
        self._literal(f"{prog} {args}")

    def write_text(self, text: str) -> None:
        """Paragraphs; those after a line with a backspace character keep their lines."""
        for paragraph in text.split("\n\n"):
            if paragraph.startswith("\b\n"):
                self._literal(paragraph.removeprefix("\b\n"))
            else:
                self.nodes.append(nodes.paragraph("", paragraph))

    @contextmanager
    def section(self, name: str) -> Iterator[None]:
        """A heading over what follows."""
        self.nodes.append(nodes.rubric("", name))
        yield

    def write_dl(self, rows: Sequence[tuple[str, str]], *_: Any, **__: Any) -> None:
        """Options with what they do."""
        items = nodes.definition_list()
        for term, said in rows:
            head = nodes.term("", "", nodes.literal("", term))
            # Options have an address: make.html#make-width
            options = [word.strip(",") for word in term.split() if word.startswith("--")]
            head["ids"] = [f"{self.name}{option[1:]}".replace(" ", "-") for option in options[:1]]
            items += nodes.definition_list_item(
                "", head, nodes.definition("", nodes.paragraph("", said))
            )
        self.nodes.append(items)

    def _literal(self, text: str) -> None:
        self.nodes.append(nodes.literal_block(text, text, language="text"))


class CommandDirective(SphinxDirective):
    """The help of one command of img2plate."""

    required_arguments = 1
    final_argument_whitespace = True

    def run(self) -> list[nodes.Node]:
        """Called by the generator: the nodes in the directive's place."""
        name = self.arguments[0]
        command: click.Command | None = cli
        context = click.Context(cli, info_name="img2plate")
        for word in name.split():
            if not isinstance(command, click.Group):
                raise self.error(f"{name} is no command")
            command = command.get_command(context, word)
            if command is None:
                raise self.error(f"{name} is no command")
            context = click.Context(command, info_name=word, parent=context)
        formatter = PageFormatter(name)
        assert command is not None
        command.format_help(context, formatter)
        return formatter.nodes


def setup(app: Any) -> dict[str, bool]:
    """Called by the generator once."""
    app.add_directive("command", CommandDirective)
    return {"parallel_read_safe": True}
