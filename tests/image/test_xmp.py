"""Title, author and licence in XMP, beside other readers and writers of it."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from support import make_plate

from img2plate.base.credit import Credit
from img2plate.base.errors import DocumentError
from img2plate.image.xmp import read_xmp, write_xmp
from img2plate.plate.document import read_plate, write_plate

CREDIT = Credit("Gull & <anchor> — “Möwe”", "Maja Holm", "CC-BY-4.0")
PACKET = """<x:xmpmeta xmlns:x="adobe:ns:meta/"
 xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" xmlns:dc="http://purl.org/dc/elements/1.1/">
 <rdf:RDF>{}</rdf:RDF></x:xmpmeta>"""


def credited(path: Path) -> Path:
    from dataclasses import replace

    write_plate(path, replace(make_plate(20, 10), credit=CREDIT))
    return path


@given(st.text(max_size=40), st.text(max_size=40), st.text(max_size=40))
def test_any_text_comes_back(title: str, author: str, licence: str) -> None:
    credit = Credit(title, author, licence).cleaned()
    assert read_xmp(write_xmp(credit)) == credit


def test_a_document_says_whose_it_is_to_us_and_to_pillow(tmp_path: Path) -> None:
    path = credited(tmp_path / "plate.png")
    assert read_plate(path).credit == CREDIT
    with Image.open(path) as image:
        about = image.getxmp()["xmpmeta"]["RDF"]["Description"]
    assert about["title"]["Alt"]["li"]["text"] == CREDIT.title
    assert about["creator"]["Seq"]["li"] == CREDIT.author
    assert about["rights"]["Alt"]["li"]["text"] == CREDIT.licence
    assert about["WebStatement"] == "https://creativecommons.org/licenses/by/4.0/"


@pytest.mark.skipif(not shutil.which("exiftool"), reason="exiftool is not on this machine")
def test_exiftool_reads_what_we_write_and_we_what_it_writes(tmp_path: Path) -> None:
    path = credited(tmp_path / "plate.png")
    run = ["exiftool", "-json", "-validate", "-XMP:all", str(path)]
    (said,) = json.loads(subprocess.run(run, capture_output=True, check=True, text=True).stdout)
    assert (said["Title"], said["Creator"], said["Rights"]) == CREDIT.words
    assert said["Validate"] == "OK"
    change = ["-XMP-dc:Title=Tern", "-XMP-dc:Creator=Ole", "-XMP-dc:Creator=Kari"]
    subprocess.run(["exiftool", *change, str(path)], capture_output=True, check=True)
    again = read_plate(path)
    assert again.credit == Credit("Tern", "Ole, Kari", "CC-BY-4.0")
    assert (again.cells == read_plate(credited(tmp_path / "same.png")).cells).all()


def test_other_ways_to_write_it_are_read() -> None:
    plain = '<rdf:Description dc:title="Gull" dc:rights="MIT"/>'
    assert read_xmp(PACKET.format(plain)) == Credit("Gull", "", "MIT")
    languages = (
        '<rdf:Description><dc:title><rdf:Alt><rdf:li xml:lang="de">Möwe</rdf:li>'
        '<rdf:li xml:lang="x-default">Gull</rdf:li></rdf:Alt></dc:title>'
        "<dc:creator>Maja</dc:creator></rdf:Description>"
    )
    assert read_xmp(PACKET.format(languages)) == Credit("Gull", "Maja", "")
    assert read_xmp(PACKET.format("")) == Credit()


@pytest.mark.parametrize(
    "packet",
    [
        "no xml",
        "<a>",
        '<!DOCTYPE a [<!ENTITY b "bb"><!ENTITY c "&b;&b;&b;">]><a>&c;</a>',
        '<!DOCTYPE a SYSTEM "file:///etc/passwd"><a/>',
        '<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]><a>&b;</a>',
        "<a>" + "x" * 300_000 + "</a>",
    ],
)
def test_what_might_do_harm_is_refused(packet: str) -> None:
    with pytest.raises(ValueError, match=r"XMP|long"):
        read_xmp(packet)


def test_a_damaged_packet_is_told_in_one_line(tmp_path: Path) -> None:
    from PIL.PngImagePlugin import PngInfo

    path = credited(tmp_path / "plate.png")
    info = PngInfo()
    with Image.open(path) as image:
        info.add_itxt("img2plate", image.text["img2plate"])
        info.add_itxt("XML:com.adobe.xmp", "<!DOCTYPE a><a/>")
        image.save(tmp_path / "bad.png", pnginfo=info)
    with pytest.raises(DocumentError, match="its XMP note is damaged"):
        read_plate(tmp_path / "bad.png")
