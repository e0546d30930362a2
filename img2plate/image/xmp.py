"""Title, author and licence in a picture file: an XMP packet, as any viewer of pictures reads it.

XMP (ISO 16684-1) is RDF in XML; in a PNG it lies in an iTXt chunk that is not compressed. Written
are Dublin Core's dc:title, dc:creator and dc:rights, and xmpRights:WebStatement, where the licence
is to be read. Read are the first three, as any program may have left them.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from img2plate.base.credit import Credit
from img2plate.base.licences import known_licence

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

KEYWORD = "XML:com.adobe.xmp"
"""Of the chunk (XMP part 3, PNG)."""
MOST_BYTES = 200_000
_SPACES = {
    "x": "adobe:ns:meta/",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "xmpRights": "http://ns.adobe.com/xap/1.0/rights/",
}
_LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"
_BEGIN = '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>'
_END = '<?xpacket end="r"?>'


def write_xmp(credit: Credit) -> str:
    """The packet of a credit; what is empty is left out."""
    for prefix, space in _SPACES.items():
        ElementTree.register_namespace(prefix, space)
    root = ElementTree.Element(_name("x", "xmpmeta"))
    about = ElementTree.SubElement(root, _name("rdf", "RDF"))
    about = ElementTree.SubElement(about, _name("rdf", "Description"), {_name("rdf", "about"): ""})
    for term, kind, text in (
        ("title", "Alt", credit.title),
        ("creator", "Seq", credit.author),
        ("rights", "Alt", credit.licence),
    ):
        if text:
            _add(about, term, kind, text)
    if licence := known_licence(credit.licence):
        ElementTree.SubElement(about, _name("xmpRights", "WebStatement")).text = licence.url
    return _BEGIN + ElementTree.tostring(root, encoding="unicode") + _END


def read_xmp(packet: str) -> Credit:
    """What a packet says. Raises ValueError for what is no XML, or might be meant to do harm."""
    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    if len(packet) > MOST_BYTES:
        raise ValueError("too long")
    try:
        # The declaration of an encoding would not hold for text that is decoded already.
        root = fromstring(packet.strip("\ufeff\0 \r\n\t").encode(), forbid_dtd=True)
    except (ElementTree.ParseError, DefusedXmlException, LookupError) as error:
        raise ValueError("no XMP") from error
    return Credit(*(_text(root, term) for term in ("title", "creator", "rights"))).cleaned()


def _add(about: Element, term: str, kind: str, text: str) -> None:
    """One term of Dublin Core: in XMP a list, of languages (Alt) or of people (Seq)."""
    held = ElementTree.SubElement(about, _name("dc", term))
    row = ElementTree.SubElement(ElementTree.SubElement(held, _name("rdf", kind)),
                                 _name("rdf", "li"))  # fmt: skip
    if kind == "Alt":
        row.set(_LANGUAGE, "x-default")
    row.text = text


def _text(root: Element, term: str) -> str:
    """A term's text: of several languages the default, of several people all."""
    for held in root.iter(_name("dc", term)):
        rows = list(_rows(held))
        usual = [text for language, text in rows if language == "x-default"]
        texts = usual[:1] or [text for _, text in rows]
        return (", " if term == "creator" else " ").join(texts) or (held.text or "").strip()
    for about in root.iter(_name("rdf", "Description")):  # as an attribute, which RDF allows
        if text := about.get(_name("dc", term)):
            return text
    return ""


def _rows(held: Element) -> Iterator[tuple[str, str]]:
    """Language and text of each row of a list."""
    for row in held.iter(_name("rdf", "li")):
        if text := "".join(row.itertext()).strip():
            yield row.get(_LANGUAGE, ""), text


def _name(prefix: str, term: str) -> str:
    """A name as ElementTree writes it."""
    return f"{{{_SPACES[prefix]}}}{term}"
