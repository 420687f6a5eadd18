"""How a written file says that it is ours, and whether anybody has edited it since.

TeX, Typst, SVG and HTML are made to be edited: there the last line is a seal, and what was edited
is its author's from then on.
"""

from __future__ import annotations

import json
import struct
from enum import Enum
from hashlib import sha256
from zlib import crc32

from derive.writers.mark import MARK, NAME

_HEAD = 600
"""Bytes at the start of a file among which our name stands."""
_PNG = b"\x89PNG\r\n\x1a\n"
_TEXT_CHUNK = b"tEXtSoftware\0" + NAME.encode()
_SEAL = b"Nobody has edited this file if the lines above have the SHA-256 "


class Ending(Enum):
    """What a result is, by the ending of its file."""

    TEX = ".tex"
    FRAGMENT = ".fragment.tex"
    PDF = ".pdf"
    TYPST = ".typ"
    HTML = ".html"
    MARKDOWN = ".md"
    PAGE_PNG = ".png"
    PAGE_SVG = ".svg"
    TEXT = ".txt"
    JSON = ".json"
    PROOF = ".proof.json"
    FIGURE_SVG = ".figure.svg"
    FIGURE_PDF = ".figure.pdf"
    FIGURE_TEX = ".figure.tex"


_COMMENT = {
    Ending.TEX: (b"% ", b"\n"),
    Ending.FRAGMENT: (b"% ", b"\n"),
    Ending.FIGURE_TEX: (b"% ", b"\n"),
    Ending.TYPST: (b"// ", b"\n"),
    Ending.FIGURE_SVG: (b"<!-- ", b" -->\n"),
    Ending.PAGE_SVG: (b"<!-- ", b" -->\n"),
    Ending.HTML: (b"<!-- ", b" -->\n"),
    Ending.MARKDOWN: (b"<!-- ", b" -->\n"),
}
"""Begin and end of a comment in what is made to be edited."""


def signed(data: bytes, ending: Ending) -> bytes:
    """Return a result with our name, and with a seal if it is made to be edited."""
    match ending:
        case Ending.PDF | Ending.FIGURE_PDF:
            # Some engines compress the creator's name; a comment after the end is allowed in a PDF.
            return data if NAME.encode() in data else data + f"\n%{NAME}\n".encode()
        case Ending.PAGE_PNG:
            return _marked(data)
        case Ending.PAGE_SVG:
            data = f"<!-- {MARK} -->\n".encode() + data.rstrip() + b"\n"
        case _:
            pass
    return data + _seal(data, ending) if ending in _COMMENT else data


def is_edited(data: bytes, ending: Ending) -> bool:
    """Tell whether a file of ours has been edited."""
    return ending in _COMMENT and not _is_sealed(data, ending)


def _marked(png: bytes) -> bytes:
    """Put our name into a PNG, behind its header (PNG specification, third edition, 11.3.3.2)."""
    end = len(_PNG) + 25  # the header chunk has a length, a name, 13 bytes and a check sum
    length = struct.pack(">I", len(_TEXT_CHUNK) - 4)
    check = struct.pack(">I", crc32(_TEXT_CHUNK))
    return png[:end] + length + _TEXT_CHUNK + check + png[end:]


def _seal(data: bytes, ending: Ending) -> bytes:
    before, after = _COMMENT[ending]
    return before + _SEAL + sha256(data).hexdigest().encode() + after


def _is_sealed(data: bytes, ending: Ending) -> bool:
    end = data.rfind(_COMMENT[ending][0] + _SEAL)
    return end >= 0 and data[end:] == _seal(data[:end], ending)


def is_ours(data: bytes, ending: Ending) -> bool:
    """Tell whether a file was made by us, as far as its name is to be found in it."""
    match ending:
        case Ending.JSON:
            return _has_fields(data, {"schema", "circuit", "checked"})
        case Ending.PROOF:
            return _has_fields(data, {"proof", "made_by", "states"})
        case Ending.PDF | Ending.FIGURE_PDF:
            return data.startswith(b"%PDF-") and NAME.encode() in data
        case Ending.HTML:
            return NAME.encode() in data[:_HEAD] and data.startswith(b"<!DOCTYPE html>")
        case Ending.PAGE_PNG:
            return data.startswith(_PNG) and _TEXT_CHUNK in data[:_HEAD]
        case Ending.TEX | Ending.FRAGMENT | Ending.FIGURE_TEX | Ending.TYPST:
            return data.startswith(_COMMENT[ending][0] + NAME.encode())
        case Ending.FIGURE_SVG | Ending.PAGE_SVG | Ending.MARKDOWN:
            return data.startswith(_COMMENT[ending][0] + NAME.encode())
        case Ending.TEXT:
            return data.rstrip().rsplit(b"\n", 1)[-1].startswith(NAME.encode())


def _has_fields(data: bytes, names: set[str]) -> bool:
    try:
        fields = json.loads(data)
    except (ValueError, RecursionError):
        return False
    return isinstance(fields, dict) and names <= fields.keys()
