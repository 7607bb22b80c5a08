"""Two hundred damaged files: every one is read, or refused in our words, soon and in little memory.

The files are small valid ones, made here by general libraries, then damaged by a seeded generator: bits
turned, bytes set to extremes, pieces cut out, doubled or exchanged with another format's, ends cut off, sizes
claimed that are not there. No outside source: that an unreadable file is the sender's error and costs little
is this service's promise.
"""

from __future__ import annotations

import io
import resource
import subprocess
import sys
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from workers.errors import ConversionError, UnsafeSvgError
from workers.intake.coverage_file import read_coverage
from workers.intake.photo import decode_photo
from workers.intake.svg_document import read_svg

FIELD = "/inputs/image"
FILES_COUNT = 200
MOST_S = 2.0  # for one file; the largest takes milliseconds
MOST_HOSTILE_S = 20.0  # until a limit on elements or overlaps ends it
MOST_MB = 300.0  # above what the process takes to start; twice a picture of the most pixels taken

SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<defs><g id="a"><circle cx="5" cy="5" r="3.5"/></g></defs>
<style>.b{stroke:#000;fill:none;stroke-width:1.5}</style>
<path d="M3 20C6 12 14 28 20 18S30 10 36 20L30 27Z" fill-rule="evenodd" transform="rotate(4 20 15)"/>
<use href="#a" x="20" transform="scale(.5)"/>
<polyline class="b" points="2,2 12,9 22,2" stroke-dasharray="3 1"/>
<rect x="28" y="3" width="8" height="5" rx="1" style="fill:black;opacity:.9"/></svg>"""

PDF = b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n2 0 obj<</Type/Pages/Count 0>>endobj\n%%EOF\n"


def picture(mode: str) -> Image.Image:
    """A disc and a bar on paper."""
    y, x = np.mgrid[0:48, 0:64]
    ink = (np.hypot(x - 20, y - 24) < 14) | ((x > 40) & (x < 50))
    grey = np.where(ink, 20, 235).astype(np.uint8)
    return Image.fromarray(grey).convert(mode)


def saved(kind: str, mode: str = "RGB", **options: object) -> bytes:
    """The picture as a file."""
    file = io.BytesIO()
    picture(mode).save(file, kind, **options)
    return file.getvalue()


def seeds() -> list[bytes]:
    """Valid files of every kind that is taken, and some that are not."""
    exif = Image.Exif()
    exif[0x0112] = 6
    return [
        saved("PNG"), saved("PNG", "1"), saved("PNG", "P"), saved("PNG", "I;16"), saved("PNG", "RGBA"),
        saved("JPEG"), saved("JPEG", "L", exif=exif), saved("JPEG", "CMYK"), saved("JPEG", progressive=True),
        saved("TIFF"), saved("TIFF", "L", compression="tiff_lzw"), saved("TIFF", "1", compression="group4"),
        saved("BMP"), saved("BMP", "P"), saved("WEBP"), saved("WEBP", lossless=True), saved("PPM", "L"),
        saved("GIF", "P"), SVG, SVG, PDF,
    ]  # fmt: skip


def damaged(data: bytes, others: list[bytes], random: np.random.Generator) -> bytes:
    """The file after one to three accidents."""
    for _ in range(random.integers(1, 4)):
        data = ACCIDENTS[random.integers(len(ACCIDENTS))](data, others, random)
    return data


def turn_bits(data: bytes, others: list[bytes], random: np.random.Generator) -> bytes:
    """Up to sixteen bits turned, most of them near the start, where headers are."""
    values = np.frombuffer(data, np.uint8).copy()
    if len(values):
        reach = len(values) if random.random() < 0.5 else min(len(values), 96)
        places = random.integers(0, reach, random.integers(1, 17))
        values[places] ^= np.uint8(1) << random.integers(0, 8, len(places)).astype(np.uint8)
    return values.tobytes()


def set_extremes(data: bytes, others: list[bytes], random: np.random.Generator) -> bytes:
    """Four bytes in a row all 0, all ones, or the largest positive number."""
    at = int(random.integers(0, max(1, min(len(data), 200))))
    word = (b"\0\0\0\0", b"\xff\xff\xff\xff", b"\x7f\xff\xff\xff", b"\xff\xff\xff\x7f")[random.integers(4)]
    return data[:at] + word + data[at + 4 :]


def cut_short(data: bytes, others: list[bytes], random: np.random.Generator) -> bytes:
    """The end is missing."""
    return data[: random.integers(0, len(data) + 1)]


def cut_out(data: bytes, others: list[bytes], random: np.random.Generator) -> bytes:
    """A piece in the middle is missing."""
    start, end = np.sort(random.integers(0, len(data) + 1, 2))
    return data[:start] + data[min(end, start + 64) :]


def double(data: bytes, others: list[bytes], random: np.random.Generator) -> bytes:
    """A piece comes up to two hundred times."""
    start, end = np.sort(random.integers(0, len(data) + 1, 2))
    return data[:start] + data[start:end][:200] * int(random.integers(2, 200)) + data[end:]


def exchange(data: bytes, others: list[bytes], random: np.random.Generator) -> bytes:
    """The head of this file, the tail of another."""
    other = others[random.integers(len(others))]
    return data[: random.integers(4, 64)] + other[random.integers(0, len(other)) :]


def claim_size(data: bytes, others: list[bytes], random: np.random.Generator) -> bytes:
    """A PNG header that says it is huge, with a right checksum; other files as they are."""
    if data[:8] != b"\x89PNG\r\n\x1a\n" or len(data) < 33:
        return data
    side = int(random.choice([1, 20_000, 65_500, 2**31 - 1]))
    header = data[12:16] + side.to_bytes(4, "big") + data[20:29]
    return data[:12] + header + zlib.crc32(header).to_bytes(4, "big") + data[33:]


def hostile_drawings() -> dict[str, bytes]:
    """Drawings made to cost much or to reach out, each by one trick."""
    head = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" {}>'
    sized = head.format('width="40mm" height="30mm" viewBox="0 0 40 30"')

    def drawn(body: str, start: str = sized, before: str = "") -> bytes:
        return f"{before}{start}{body}</svg>".encode()

    box = '<rect width="20" height="10"/>'
    doubled = "".join(
        f'<g id="g{n}"><use href="#g{n - 1}"/><use href="#g{n - 1}" x="1"/></g>' for n in range(1, 40)
    )
    laughs = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    return {
        "groups in groups": drawn("<g>" * 50_000 + box + "</g>" * 50_000),
        "see-through groups": drawn('<g opacity=".9">' * 60 + box + "</g>" * 60),
        "doubled uses": drawn(f'<defs><g id="g0">{box}</g>{doubled}</defs><use href="#g39"/>'),
        "doubled clips": drawn(
            "".join(
                f'<clipPath id="c{n}" clip-path="url(#c{n - 1})">{box}{box}</clipPath>' for n in range(500)
            )
            + '<rect width="9" height="9" clip-path="url(#c499)"/>'
        ),
        "markers of markers": drawn(
            "".join(
                f'<marker id="m{n}" overflow="visible">'
                f'<path d="M0 0H5V5" marker-end="url(#m{n - 1})"/></marker>'
                for n in range(300)
            )
            + "<g>" * 40
            + '<path d="M0 0H5V5" marker-start="url(#m299)"/>'
            + "</g>" * 40
        ),
        "patterns of patterns": drawn(
            "".join(
                f'<pattern id="p{n}" width=".1" height=".1">'
                f'<rect width="9" height="9" fill="url(#p{n - 1})"/></pattern>'
                for n in range(40)
            )
            + '<rect width="40" height="30" fill="url(#p39)"/>'
        ),
        "tiny tiles": drawn(
            '<pattern id="p" width="1e-7" height="1e-7"><circle r="9"/></pattern>'
            '<rect width="40" height="30" fill="url(#p)"/>'
        ),
        "gradients in a ring": drawn(
            '<linearGradient id="a" href="#b"/><linearGradient id="b" href="#a"/>'
            '<rect width="9" height="9" fill="url(#a)"/>' + box
        ),
        "entities of entities": drawn(
            "<text>&a11;</text>", before=f'<!DOCTYPE svg [<!ENTITY a0 "ha">{laughs}]>'
        ),
        "an entity from a file": drawn(
            "<text>&x;</text>", before='<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
        ),
        "an entity of parameters": drawn(
            box, before='<!DOCTYPE svg [<!ENTITY % p SYSTEM "http://192.0.2.1/x"> %p;]>'
        ),
        "UTF-16 with entities": (
            '<?xml version="1.0" encoding="utf-16"?><!DOCTYPE svg [<!ENTITY x "y">]>' + sized + "&x;</svg>"
        ).encode("utf-16"),
        "huge numbers": drawn(
            '<path d="M0 0L1e308 1e308 1e-308 9e999z" stroke-width="1e300" stroke="black"/>'
        ),
        "a huge page": drawn(box, head.format('width="1e9mm" height="1e9mm"')),
        "a page of no size": drawn(box, head.format('width="1e-9mm" height="1e-9mm" viewBox="0 0 1 1"')),
        "a huge view box": drawn(box, head.format('width="9mm" height="9mm" viewBox="-1e30 0 1e30 1e30"')),
        "huge transforms": drawn('<g transform="scale(1e7)">' * 20 + box + "</g>" * 20),
        "millions of dashes": drawn(
            '<path d="M0 0H1e7" stroke="black" stroke-width="1" stroke-dasharray="1e-6"/>' + box
        ),
        "a long number": drawn(f'<path d="M0 0L{"9" * 100_000} 1z"/>' + box),
        "a long selector": drawn("<style>" + "g > " * 20_000 + "rect{fill:none}</style>" + box),
        "brackets in brackets": drawn("<style>" + "(" * 50_000 + "</style>" + box),
        "a path of noughts": drawn(f'<path d="M0 0{"L0 0" * 100_000}"/>' + box),
        "a comb": drawn(
            '<path d="M0 0' + "".join(f"L{n * 0.01} {30 * (n % 2)}" for n in range(3_000)) + 'Z"/>'
        ),
    }


Accident = Callable[[bytes, list[bytes], np.random.Generator], bytes]
ACCIDENTS: tuple[Accident, ...] = (
    turn_bits, set_extremes, cut_short, cut_out, double, exchange, claim_size,
)  # fmt: skip

READERS: dict[str, Callable[[bytes], object]] = {
    "decode_photo": lambda data: decode_photo(data, FIELD),
    "read_coverage": lambda data: read_coverage(data, 0.1, FIELD),
    "read_svg": lambda data: read_svg(data, FIELD),
}


def fuzzed() -> list[bytes]:
    """The same two hundred files every time."""
    random = np.random.default_rng(200)
    whole = seeds()
    return [damaged(whole[number % len(whole)], whole, random) for number in range(FILES_COUNT)]


@pytest.mark.parametrize("reader", READERS)
def test_whole_files_are_read_or_refused(reader: str) -> None:
    """The undamaged files: each reader takes its own kinds, so the damage below starts from something."""
    taken = sum(outcome(reader, data) is None for data in seeds())
    assert taken == {"decode_photo": 17, "read_coverage": 17, "read_svg": 2}[reader]


@pytest.mark.parametrize("reader", READERS)
def test_damaged_files_are_refused_in_our_words(reader: str) -> None:
    """Whatever is raised is ours, names the field and says what to do."""
    refusals = [refusal for data in fuzzed() if (refusal := outcome(reader, data)) is not None]
    assert len(refusals) > FILES_COUNT / 4  # or the damage does nothing
    for refusal in refusals:
        assert refusal.field is not None
        assert refusal.field.startswith("/inputs/")
        assert refusal.remedy


@pytest.mark.parametrize("reader", READERS)
def test_damaged_files_are_done_with_soon(reader: str) -> None:
    """None takes more than two seconds of this process's time."""
    times_s = []
    for data in fuzzed():
        before_s = time.process_time()
        outcome(reader, data)
        times_s.append(time.process_time() - before_s)
    assert max(times_s) < MOST_S


def test_damaged_files_take_little_memory() -> None:
    """Nothing much is set aside for what a header only claims: peak of a process that reads them all."""
    command = [sys.executable, "-c", f"from {__name__} import tell_growth; tell_growth()"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=Path(__file__).parents[2])
    assert float(done.stdout) < MOST_MB


def tell_growth() -> None:
    """Read everything and print by how many MB the most memory ever held has grown."""
    before_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for reader in READERS:
        for data in [*fuzzed(), *hostile_drawings().values()]:
            outcome(reader, data)
    grown_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before_kb
    sys.stdout.write(f"{grown_kb / 1024:.1f}\n")


@pytest.mark.parametrize("trick", hostile_drawings())
def test_hostile_drawings_are_read_or_refused_soon(trick: str) -> None:
    """Nesting, numbers, entities and sizes made to cost much: our words, within seconds of this process."""
    data = hostile_drawings()[trick]
    before_s = time.process_time()
    refusal = outcome("read_svg", data)
    assert time.process_time() - before_s < MOST_HOSTILE_S
    assert refusal is None or (refusal.field == FIELD and refusal.remedy)
    if "entit" in trick:
        assert isinstance(refusal, UnsafeSvgError)


def outcome(reader: str, data: bytes) -> ConversionError | None:
    """How reading ended: None, or our refusal; anything else is raised and fails the test."""
    try:
        READERS[reader](data)
    except ConversionError as error:
        return error
    return None
