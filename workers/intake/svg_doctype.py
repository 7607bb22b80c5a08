"""A document type taken off an SVG, so that the parser never sees one.

Drawing programs write the standard's own, and some declare short names for the namespaces that they use. Such
names stand for plain text; where that is all a document type declares, the text is put in their place and the
declaration left out. Whatever could reach out of the file or grow (entities of entities, of parameters or
kept elsewhere) is left as it is, and the parser refuses it.

Source: Extensible Markup Language (XML) 1.0, 4.2 and 4.4 (internal entities).
"""

from __future__ import annotations

import re

MOST_NAMES = 64
LONGEST_TEXT = 512  # bytes of one; a namespace has a few dozen
MOST_ADDED = 1 << 20  # bytes that all uses together may add

_NAME = rb"[A-Za-z_][\w.-]*"
_SPACE = rb"[\x20\t\r\n]"
_OUTER_ID = rb"(?:" + _SPACE + rb"+(?:PUBLIC|SYSTEM)(?:" + _SPACE + rb"+(?:\"[^\"<>]*\"|'[^'<>]*')){1,2})?"
_PLAIN_TEXT = rb"(?:\"[^\"&%<]*\"|'[^'&%<]*')"
_ENTITY = (
    rb"<!ENTITY" + _SPACE + rb"+(" + _NAME + rb")" + _SPACE + rb"+(" + _PLAIN_TEXT + rb")" + _SPACE + rb"*>"
)
_OTHER = rb"<!(?:ATTLIST|ELEMENT)\b[^<>\"'%&]*>|<!--(?:[^-]|-(?!-))*-->"  # tell nothing that is needed
_PLAIN_DOCTYPE = re.compile(rb"<!DOCTYPE" + _SPACE + rb"+svg" + _OUTER_ID + _SPACE + rb"*(\[|>)")
_DECLARATION = re.compile(_SPACE + rb"+|" + _OTHER + rb"|" + _ENTITY)
_END = re.compile(rb"\]" + _SPACE + rb"*>")
_USE = re.compile(rb"&(" + _NAME + rb");")
_OWN_NAMES = {b"lt", b"gt", b"amp", b"quot", b"apos"}


def without_doctype(data: bytes) -> bytes:
    """Return an SVG file without its document type, the names that it declares written out.

    Args:
        data: The file. One whose document type declares more than plain text comes back unchanged.
    """
    found = _PLAIN_DOCTYPE.search(data)
    if found is None or b"<svg" in data[: found.start()]:
        return data
    if found[1] == b">":
        return data[: found.start()] + data[found.end() :]
    texts, end = _declared(data, found.end())
    if end is None:
        return data
    rest = data[end:]
    uses = [name for name in _USE.findall(rest) if name in texts]
    if sum(len(texts[name]) for name in uses) > MOST_ADDED:
        return data
    return data[: found.start()] + _USE.sub(lambda use: texts.get(use[1], use[0]), rest)


def _declared(data: bytes, at: int) -> tuple[dict[bytes, bytes], int | None]:
    """Return the text of each name declared from a place on, and where the document type ends.

    The end is None if anything else is declared.
    """
    texts: dict[bytes, bytes] = {}
    while (found := _DECLARATION.match(data, at)) is not None:
        at = found.end()
        if found[1] is None:
            continue
        text = found[2][1:-1]
        if found[1] in _OWN_NAMES or len(texts) == MOST_NAMES or len(text) > LONGEST_TEXT:
            return {}, None
        texts.setdefault(found[1], text.replace(b'"', b"&quot;").replace(b"'", b"&apos;"))
    end = _END.match(data, at)
    return texts, None if end is None else end.end()
