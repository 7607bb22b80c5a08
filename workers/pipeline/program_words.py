"""Programs and how they are written: from the words on the wire to values."""

from __future__ import annotations

import dataclasses

from schemas.dialects import DialectForm
from schemas.links import ProgramLink
from workers.contracts.dialect import Dialect
from workers.dialects.rs274_writer import Rs274Dialect
from workers.dialects.several_bits import SeveralBits
from workers.dialects.word_format import INCHES, MILLIMETRES
from workers.pipeline import bit_words
from workers.registry import offers
from workers.values.program import Program


def dialect(said: str | DialectForm, field: str) -> Dialect:
    """Return how programs are written: the dialect of that name, or one as the controller wants it.

    Raises:
        UnknownNameError: There is no dialect of that name.
    """
    if isinstance(said, str):
        return offers.dialect(said, field)
    words = MILLIMETRES if said.unit == "mm" else INCHES
    if said.decimals is not None:
        words = dataclasses.replace(words, coordinate_decimals_count=said.decimals)
    one_bit = Rs274Dialect(
        name="as-ordered",
        summary="RS-274 as the order describes it",
        words=words,
        with_arcs=said.arcs,
        with_comments=said.comments,
        dwell_s=_dwell_s(said.dwell),
        spindle_on_one_line=said.spindle == "one-line",
        in_percent_frame=said.percent,
        with_line_numbers=said.line_numbers,
        end_word=said.end,
    )
    if not said.one_file:
        return one_bit
    return SeveralBits(
        name=one_bit.name,
        summary=one_bit.summary,
        between=one_bit,
        pause_word=said.pause or "",
        with_length_offset=said.length_offset,
    )


def _dwell_s(said: bool | float) -> float | None:
    """None: as long as the machine needs."""
    if isinstance(said, bool):
        return None if said else 0.0
    return said


def program(link: ProgramLink, name: str, text: str, field: str) -> Program:
    """Return a program with its bit, or with its bits by their numbers.

    Args:
        link: What the request says of it.
        name: How messages call it.
        text: What the file says.
        field: JSON pointer of the link.
    """
    from_behind = link.side == "back"
    if link.bit is not None:
        cutter = bit_words.cutter(link.bit, f"{field}/bit")
        return Program(name=name, text=text, cutter=cutter, from_behind=from_behind)
    bits = {
        number: bit_words.cutter(bit, f"{field}/bits/{number}") for number, bit in (link.bits or {}).items()
    }
    return Program(name=name, text=text, bits=bits, from_behind=from_behind)
