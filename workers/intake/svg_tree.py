"""SVG text parsed so that it can do no harm.

Nothing outside of the file is ever fetched: entities that could grow or reach out,
scripts and references to elsewhere are refused, and so is a file with more bytes,
elements or levels than a drawing needs. A picture kept elsewhere is left out, and told.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from xml.etree.ElementTree import Element, ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import iterparse

from workers.errors import ImageTooLargeError, UnreadableImageError, UnsafeSvgError
from workers.intake.svg_doctype import without_doctype

LARGEST_BYTES = 20 * 1024 * 1024
MOST_ELEMENTS = 200_000
DEEPEST_LEVEL = 64  # far beyond what people nest; renderers break at a few hundred
SVG_NAMESPACE = "{http://www.w3.org/2000/svg}"
LINK_ATTRIBUTES = ("href", "{http://www.w3.org/1999/xlink}href")

_OUTSIDE_ADDRESS = re.compile(r"url\(\s*['\"]?\s*(?!['\"]?\s*#|data:)[^)\s]|@import", re.IGNORECASE)
_LINKING = (
    "use",
    "linearGradient",
    "radialGradient",
    "pattern",
    "tref",
    "mpath",
    "script",
)


def parse_svg(data: bytes, field: str) -> Element:
    """Return the root element of an SVG file.

    A document type that only names the standard's, or short names for plain text, does no harm.

    Args:
        data: The file.
        field: JSON pointer of the input that it came from.

    Raises:
        ImageTooLargeError: More bytes or elements than this installation takes.
        UnsafeSvgError: Entities, scripts, references to elsewhere, or too many levels.
        UnreadableImageError: It is not XML, or not SVG.
    """
    if len(data) > LARGEST_BYTES:
        raise ImageTooLargeError(
            f"an SVG of {len(data) / 2**20:.1f} MiB; the most that is read is {LARGEST_BYTES // 2**20} MiB",
            field=field,
            remedy="Simplify the drawing's paths and save it again.",
        )
    try:
        root = _read(without_doctype(data), field)
    except DefusedXmlException as error:
        raise UnsafeSvgError(
            "the SVG's document type declares more than short names for plain text: entities that hold "
            "others, or that are kept elsewhere",
            field=field,
            remedy="Save the drawing as plain SVG, or delete its document type in a text editor.",
        ) from error
    except (ParseError, LookupError, ValueError) as error:
        raise UnreadableImageError(
            f"the SVG is not well-formed XML: {error}", field=field, remedy="Save the drawing again as SVG."
        ) from error
    if local_name(root) != "svg":
        raise UnreadableImageError(
            "the file is XML, but no SVG", field=field, remedy="Send a drawing saved as SVG."
        )
    return root


def local_name(element: Element) -> str:
    """Return an element's name within SVG, or "" for one of another vocabulary."""
    tag = element.tag
    if not isinstance(tag, str):
        return ""
    name = tag.removeprefix(SVG_NAMESPACE)
    return "" if name.startswith("{") else name


def link_of(element: Element) -> str:
    """Return what an element refers to, "" for nothing."""
    return next((element.attrib[key].strip() for key in LINK_ATTRIBUTES if key in element.attrib), "")


def _read(data: bytes, field: str) -> Element:
    """Parse, counting; refuse at the first element that may not be there."""
    depth = count = 0
    root: Element | None = None
    for event, element in _events(data):
        if event == "pi":
            _refuse_instruction(element, field)
            continue
        if event == "end":
            depth -= 1
            if local_name(element) == "style":
                _refuse_addresses("".join(element.itertext()), field)
            continue
        root = element if root is None else root
        depth += 1
        count += 1
        if depth > DEEPEST_LEVEL:
            raise UnsafeSvgError(
                f"the SVG's elements lie more than {DEEPEST_LEVEL} levels deep",
                field=field,
                remedy="Take the drawing's groups apart and save it again.",
            )
        if count > MOST_ELEMENTS:
            raise ImageTooLargeError(
                f"the SVG has more than {MOST_ELEMENTS} elements",
                field=field,
                remedy="Simplify the drawing and save it again.",
            )
        _refuse_element(element, field)
    if root is None:
        raise UnreadableImageError("the SVG is empty", field=field, remedy="Save the drawing again as SVG.")
    return root


def _events(data: bytes) -> Iterator[tuple[str, Element]]:
    return iterparse(io.BytesIO(data), events=("start", "end", "pi"), forbid_dtd=True)


def _refuse_instruction(element: Element, field: str) -> None:
    """A style sheet kept elsewhere would be fetched by others; we do not."""
    if (element.text or "").startswith("xml-stylesheet"):
        raise _outside("a style sheet", field)


def _refuse_element(element: Element, field: str) -> None:
    """Raise UnsafeSvgError for a script, or for a reference to outside of the file."""
    name = local_name(element)
    if name == "script":
        raise UnsafeSvgError(
            "the SVG holds a script", field=field, remedy="Save the drawing as plain SVG, without scripts."
        )
    link = link_of(element)
    if link and name in _LINKING and not link.startswith(("#", "data:")):
        raise _outside(f"a {name} element", field)
    for value in element.attrib.values():
        if "url(" in value or "@" in value:
            _refuse_addresses(value, field)


def _refuse_addresses(style: str, field: str) -> None:
    if _OUTSIDE_ADDRESS.search(style):
        raise _outside("a style", field)


def _outside(what: str, field: str) -> UnsafeSvgError:
    return UnsafeSvgError(
        f"{what} of the SVG refers to something outside of the file",
        field=field,
        remedy="Embed what the drawing needs, or remove the reference, and save it again.",
    )
