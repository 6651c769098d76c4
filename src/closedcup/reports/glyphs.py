"""Which characters the report's typeface can print, and what stands for those it cannot.

A PDF for archives may not hold a character without a glyph. What cannot be printed is replaced by
a visible note; the attached record keeps the text as entered.
"""

import re
import struct
import unicodedata
from functools import cache
from typing import Any, Final

from closedcup.reports.drawing import FONT_DIRECTORY

UNPRINTABLE: Final = "[unprintable]"

_FACES: Final = (
    "SourceSans3-Regular.ttf",
    "SourceSans3-Semibold.ttf",
    "SourceSans3-It.ttf",
)
_LONGEST_UNBROKEN = 28  # characters; a longer word gets places where a line may end
_LINE_MAY_END: Final = "\u200b"
_HASH: Final = re.compile(r"[0-9a-f]{40,64}")  # copied whole from the page, so never broken
_BEFORE_UNIT: Final = re.compile(r"(?<=\d) (?=(?:°C|kPa|mL|g|L|m|min|%)(?!\w))")
_KEEP_TOGETHER: Final = "\u00a0"


@cache
def printable_characters() -> frozenset[int]:
    """Return the code points that every face of the report has a glyph for."""
    covered = [_character_map((FONT_DIRECTORY / face).read_bytes()) for face in _FACES]
    return frozenset.intersection(*covered)


def _character_map(font: bytes) -> frozenset[int]:
    """Read the code points of a font file from its `cmap` table, format 12 (OpenType 1.9)."""
    (tables,) = struct.unpack_from(">H", font, 4)
    directory = {
        font[at : at + 4]: struct.unpack_from(">I", font, at + 8)[0]
        for at in range(12, 12 + 16 * tables, 16)
    }
    cmap = directory[b"cmap"]
    (subtables,) = struct.unpack_from(">H", font, cmap + 2)
    for number in range(subtables):
        (offset,) = struct.unpack_from(">I", font, cmap + 4 + 8 * number + 4)
        (form,) = struct.unpack_from(">H", font, cmap + offset)
        if form == 12:
            return _groups(font, cmap + offset)
    raise ValueError("The font has no character map of format 12.")


def _groups(font: bytes, at: int) -> frozenset[int]:
    (count,) = struct.unpack_from(">I", font, at + 12)
    points: set[int] = set()
    for group in range(count):
        first, last, _glyph = struct.unpack_from(">III", font, at + 16 + 12 * group)
        points.update(range(first, last + 1))
    return frozenset(points)


def printable(text: str) -> str:
    """Return text that can be set: one line, composed, without what has no glyph.

    Each run of characters that cannot be printed (no glyph, control, direction or other
    invisible sign) becomes UNPRINTABLE. Over-long words get invisible places to end a line.
    """
    composed = " ".join(unicodedata.normalize("NFC", text).split())
    words = [_breakable(_marked(word)) for word in composed.split(" ")]
    return _BEFORE_UNIT.sub(_KEEP_TOGETHER, " ".join(words))


def _marked(word: str) -> str:
    parts: list[str] = []
    for character in word:
        if ord(character) in printable_characters() and unicodedata.category(character)[0] != "C":
            parts.append(character)
        elif not parts or parts[-1] != UNPRINTABLE:
            parts.append(UNPRINTABLE)
    return "".join(parts)


def _breakable(word: str) -> str:
    if len(word) <= _LONGEST_UNBROKEN or _HASH.fullmatch(word):
        return word
    size = _LONGEST_UNBROKEN // 2
    return _LINE_MAY_END.join(word[at : at + size] for at in range(0, len(word), size))


def printable_throughout(value: Any, path: str = "") -> tuple[Any, tuple[str, ...]]:
    """Return a copy of nested dicts and lists with every text printable, and where it was not."""
    if isinstance(value, str):
        shown = printable(value)
        return shown, ((path,) if UNPRINTABLE in shown and UNPRINTABLE not in value else ())
    if isinstance(value, dict):
        entries = {key: printable_throughout(v, f"{path}.{key}" if path else key)
                   for key, v in value.items()}  # fmt: skip
        return {k: v for k, (v, _) in entries.items()}, _joined(entries.values())
    if isinstance(value, list):
        rows = [printable_throughout(v, f"{path}[{n}]") for n, v in enumerate(value)]
        return [v for v, _ in rows], _joined(rows)
    return value, ()


def _joined(parts: Any) -> tuple[str, ...]:
    return tuple(place for _, places in parts for place in places)
