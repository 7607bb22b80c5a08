"""Which length or angle was meant by text that is none."""

import re
import unicodedata
from collections.abc import Callable, Iterator

from schemas.quantities import angle_in_degrees, length_in_mm

_UNITS = {
    "mm": ("mms", "millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("cms", "centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("metre", "metres", "meter", "meters"),
    "in": ("ins", "inchs", "\N{PRIME}\N{PRIME}", "\N{RIGHT DOUBLE QUOTATION MARK}", "''"),
    "ft": ("foot", "feet", "'", "\N{PRIME}", "\N{RIGHT SINGLE QUOTATION MARK}"),
}
_DEGREES = ("degs", "º", "˚")
_DECIMAL_COMMA = r"(?<=\d),(?=\d)(?!\d{3}(?!\d))"  # three digits after it may be thousands: no guess


def meant_length(text: str) -> str | None:
    """Return the length that was likely meant, as it must be written; None if no guess is near.

    >>> meant_length("19,05 MM"), meant_length("¾ inchs"), meant_length("200")
    ('19.05 mm', '3/4 in', '200 mm')
    """
    return _first_that_reads(_ways(text, _UNITS, "mm"), length_in_mm)


def meant_angle(text: str) -> str | None:
    """Return the angle that was likely meant, as it must be written; None if no guess is near.

    >>> meant_angle("22,5 Degs")
    '22.5 deg'
    """
    return _first_that_reads(_ways(text, {"deg": _DEGREES}, "deg"), angle_in_degrees)


def _ways(text: str, units: dict[str, tuple[str, ...]], usual: str) -> Iterator[str]:
    """Yield the text as it might have been meant, the nearest way first."""
    number, unit = _parted(text)
    known = next((unit_of for unit_of, others in units.items() if unit in (unit_of, *others)), unit)
    yield f"{number} {known}"
    if not unit:
        yield f"{number} {usual}"


def _parted(text: str) -> tuple[str, str]:
    """Return the number and the unit: points for commas, plain digits for written fractions."""
    spaced = "".join(f" {sign}" if unicodedata.category(sign) == "No" else sign for sign in text)
    plain = unicodedata.normalize("NFKC", spaced).replace("\N{FRACTION SLASH}", "/").casefold().strip()
    found = re.match(r"[\d\s/.,+-]*", plain)
    number = found[0] if found else ""
    return re.sub(_DECIMAL_COMMA, ".", number).strip(), plain[len(number) :].strip()


def _first_that_reads(ways: Iterator[str], read: Callable[[str], float]) -> str | None:
    for way in ways:
        try:
            read(way)
        except ValueError:
            continue
        return way
    return None
