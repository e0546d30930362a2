"""What a pattern is in the vocabulary of schema.org (HowTo), for programs that read pages."""

from __future__ import annotations

import json
from typing import Any

from markupsafe import Markup

from img2plate.typeset.publish.pattern import Pattern


def how_to(pattern: Pattern, address: str) -> Markup:
    """JSON-LD, safe to stand in a script element.

    address: of the page, ending in /; where it is empty, files are named as beside the page.
    """
    data: dict[str, Any] = {
        "@context": "https://schema.org",
        "@type": "HowTo",
        "name": pattern.credit.title,
        "description": pattern.summary,
        "image": f"{address}{pattern.picture}",
        "totalTime": pattern.iso_time,
        "supply": [
            {
                "@type": "HowToSupply",
                "name": f"Beads, {colour.bead.name} ({colour.bead.code})",
                "requiredQuantity": colour.with_spares,
            }
            for colour in pattern.colours
        ],
        "tool": [{"@type": "HowToTool", "name": tool} for tool in pattern.tools],
        "step": [
            {"@type": "HowToStep", "position": place, "name": title, "text": " ".join(words)}
            for place, (title, words) in enumerate(pattern.steps, 1)
        ],
        "yield": pattern.yields,
    }
    if address:
        data["url"] = address
    if pattern.credit.author:
        data["author"] = {"@type": "Person", "name": pattern.credit.author}
    if pattern.licence:
        data["license"] = pattern.licence.url
    return for_script(data)


def for_script(data: dict[str, Any]) -> Markup:
    """JSON that cannot end the script element it stands in, nor open a comment."""
    text = json.dumps(data, ensure_ascii=False, indent=1)
    return Markup(text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))
