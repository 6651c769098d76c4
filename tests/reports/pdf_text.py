"""Reads a PDF's text back through its own fonts, so that no outside program is needed."""

import io
import re

import pikepdf


def pages_of(pdf: bytes) -> list[str]:
    """Return the text of each page: its runs of glyphs, one a line."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        return [_page_text(page) for page in document.pages]


def text_of(pdf: bytes) -> str:
    """Return all text with single plain spaces, lines joined."""
    return " ".join(" ".join(pages_of(pdf)).replace("\u200b", "").split())


def _page_text(page: pikepdf.Page) -> str:
    return "\n".join(_runs(page, page.Resources))


def _runs(content: pikepdf.Page | pikepdf.Object, resources: pikepdf.Object) -> list[str]:
    maps = {name: _unicode_map(font) for name, font in resources.get("/Font", {}).items()}
    runs: list[str] = []
    current: dict[bytes, str] = {}
    for operands, operator in pikepdf.parse_content_stream(content):
        if str(operator) == "Tf":
            current = maps[str(operands[0])]
        elif str(operator) in ("Tj", "TJ"):
            pieces = operands[0] if str(operator) == "TJ" else [operands[0]]
            codes = b"".join(bytes(p) for p in pieces if isinstance(p, pikepdf.String))
            runs.append("".join(current[codes[n : n + 2]] for n in range(0, len(codes), 2)))
        elif str(operator) == "Do":
            part = resources["/XObject"][str(operands[0])]
            if part.get("/Subtype") == "/Form":
                runs += _runs(part, part.get("/Resources", resources))
    return runs


def _unicode_map(font: pikepdf.Object) -> dict[bytes, str]:
    table = font.ToUnicode.read_bytes().decode("latin-1")
    found: dict[bytes, str] = {}
    for block in re.findall(r"beginbfchar(.*?)endbfchar", table, re.DOTALL):
        for code, text in re.findall(r"<(\w+)>\s*<(\w+)>", block):
            found[bytes.fromhex(code)] = bytes.fromhex(text).decode("utf-16-be")
    for block in re.findall(r"beginbfrange(.*?)endbfrange", table, re.DOTALL):
        for first, last, text in re.findall(r"<(\w+)>\s*<(\w+)>\s*<(\w+)>", block):
            start = int(text, 16)
            for step in range(int(last, 16) - int(first, 16) + 1):
                found[(int(first, 16) + step).to_bytes(2)] = chr(start + step)
    return found
