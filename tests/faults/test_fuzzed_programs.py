"""Damaged, invented and hostile programs: each is read and proved, or refused in our words, and soon.

Damaged ones are programs of this service after a seeded generator's accidents to their bytes; invented
ones are lines put together from the grammar of NISTIR 6556 (section 3.3) with numbers from the far ends of
what can be written; hostile ones each try one trick. No outside source: that a program costs little whatever
it says is this service's promise.
"""

from __future__ import annotations

import json
import random
import time
from collections.abc import Callable
from functools import cache

import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, clearing, cutout, design, incise, region
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.metric_arcs import METRIC_ARCS
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.metric_one_file import METRIC_ONE_FILE
from workers.dialects.programs import write_programs
from workers.errors import UnreadableProgramError
from workers.interpretation.interpreter import Interpreter, read_program
from workers.toolpaths.plan import plan
from workers.values.finding import Finding
from workers.values.program import Program, Trace
from workers.verification.proof_file import proof_json
from workers.verification.verify import verify

DAMAGED_COUNT = 300
INVENTED_COUNT = 500
CHANGING_COUNT = 200
MOST_S = 30.0  # of CPU: a guard against hanging, with room for kernels that are compiled on the way
MOST_OF_MUCH_S = 30.0  # for a million lines or three million chords, more than a machine gets done in days

SIGN = design(region(box(8, 6, 22, 14)), 30, 20, 6, corner_radius_mm=0)
GROOVES = incise(90, 2)
FREE = cutout()
BITS = {1: GROOVES.cutter, 2: FREE.cutter}
CELL_MM = 0.5

HEAD = "G21 G90\nG0 Z5\nS12000 M3\nF300\n"
NUMBERS = [
    "0", "-0", "1", "+2.5", "-.5", "7.", "007", "999999", "999999999999999", "9" * 40,
    "0." + "0" * 40 + "1", "-1000000", "0.0000000001", ".", "+", "--1", "1e3", "nan", "NaN",
    "inf", "-Infinity", "0x1F", "1,5", "½", "²", "[1/0]", "[10**308]", "[10**15]", "[-1]",
    "[2**0.5]", "sqrt[-1]", "tan[90]", "exp[710]", "ln[0]", "atan[1]/[0]", "atan[1]", "[1 mod 0]",
    "[[-8]**0.3]", "#1", "##1", "#0", "#5400", "#[1+1]", "-#1", "[1+", "]", "[" * 40, "#" * 40,
]  # fmt: skip
CODES = [
    "G0", "G1", "G2", "G3", "G4", "G10 L2", "G17", "G18", "G19", "G20", "G21", "G28", "G30",
    "G38.2", "G40", "G41", "G43", "G49", "G53", "G54", "G59.3", "G61", "G64", "G80", "G81",
    "G82", "G83", "G84", "G85", "G86", "G87", "G88", "G89", "G90", "G91", "G92", "G92.1",
    "G92.2", "G92.3", "G93", "G94", "G98", "G99", "G5", "G99.9", "G-1", "G100", "M0", "M1",
    "M3", "M4", "M5", "M6", "M7", "M8", "M30", "M60", "M98", "M2", "", "", "",
]  # fmt: skip
ODDITIES = [
    "(a)", "(a (b))", "(", ")", "(MSG, hold)", ";", "%", "/", "\0", "\t", "\x0b", "\xa0", "é",
    "\x85", "N5", "N100000", "O100", "#1=5", "#2=#1", "#5399=[1]", "E1", "A90",
    "(" + "x" * 300 + ")", "\r", "\n\n", "", "", "", "", "", "",
]  # fmt: skip
LETTERS = "XYZXYZXYZFIJKRPQLHSTD"
CHANGES = [
    *["T1 M6", "T2 M6", "M06T01", "G1 X9 Y9 Z-1 F300", "G1 X20 Z-0.5", "G43 H1", "M3 S12000", "G0 Z5"] * 4,
    "M6 T2", "T2", "M6", "T0 M6", "T3 M6", "T-1", "T1.5", "T99999 M6", "M6 M6", "T1 T2", "M5", "X12",
    "M0", "M1", "S9000 M3 T2 M6", "G43 H2", "G43", "G49", "G43 H0 Z5", "(MSG, fit bit 2)", "G28", "G30 Z5",
    "G53 G0 Z0", "G0 X3 Y3", "G2 X4 Y4 R3", "G81 X5 Y5 Z-1 R1", "G91", "G90", "G92 Z0", "G92.1", "G20", "G21",
    "G4 P1",
]  # fmt: skip


@cache
def sound() -> tuple[Program, ...]:
    """The sign's programs in three dialects."""
    planned = plan(SIGN, GROOVES, clearing(), FREE, None, BASSWOOD, MACHINE)
    dialects = (METRIC_LINES, METRIC_ARCS, INCH_LINES, METRIC_ONE_FILE)
    return tuple(
        program for dialect in dialects for program in write_programs(planned.plan, MACHINE, dialect)
    )


def damaged() -> list[str]:
    """Our programs after one to four accidents, read as the service reads bytes."""
    dice = random.Random(300)  # noqa: S311 - accidents
    return [accident(dice, sound()[number % len(sound())].text) for number in range(DAMAGED_COUNT)]


def accident(dice: random.Random, text: str) -> str:
    """Bits turned, bytes made extreme, pieces lost, doubled or moved; half of them in the head."""
    data = bytearray(text.encode("ascii"))
    for _ in range(dice.randint(1, 4)):
        at = dice.randrange(min(len(data), 200) if dice.random() < 0.5 else len(data))
        piece = data[at : at + dice.randint(1, 40)]
        match dice.randrange(6):
            case 0:
                data[at] ^= 1 << dice.randrange(8)
            case 1:
                data[at : at + 2] = dice.choice(
                    [b"\0", b"\xff\xff", b"9" * 30, b"-", b".", b"%", b"\n\n", b"#1"]
                )
            case 2:
                del data[at : at + len(piece)]
            case 3:
                data[at:at] = piece * dice.randint(2, 60)
            case 4:
                other = dice.randrange(len(data))
                data[other:other] = piece
            case _:
                del data[max(at, 40) :]
    return bytes(data).decode("latin-1")


def invented() -> list[str]:
    """Programs of up to a dozen lines out of the grammar, most of them wrong somewhere."""
    dice = random.Random(500)  # noqa: S311 - inventions
    return [invention(dice) for _ in range(INVENTED_COUNT)]


def invention(dice: random.Random) -> str:
    """Half of the numbers are plain, so that programs get somewhere before they break."""

    def number() -> str:
        return f"{dice.uniform(-9, 30):.3f}" if dice.random() < 0.8 else dice.choice(NUMBERS)

    def line() -> str:
        codes = [dice.choice(CODES) for _ in range(dice.choice([1, 1, 1, 2]))]
        words = [letter + number() for letter in dice.sample(LETTERS, dice.randint(0, 4))]
        odd = [dice.choice(ODDITIES)] if dice.random() < 0.15 else []
        parts = codes + words + odd
        dice.shuffle(parts)
        return dice.choice([" ", ""]).join(parts)

    frame = dice.random() < 0.1
    body = "\n".join(line() for _ in range(dice.randint(1, 12)))
    return ("%\n" if frame else "") + HEAD * (dice.random() < 0.9) + body + ("\n%" if frame else "\nM2")


def changing() -> list[str]:
    """Programs of up to twenty lines that change bits, lengths, heights and the spindle in any order."""
    dice = random.Random(200)  # noqa: S311 - inventions
    return [
        HEAD + "\n".join(dice.choices(CHANGES, k=dice.randint(2, 20))) + "\nM5\nM2"
        for _ in range(CHANGING_COUNT)
    ]


HOSTILE = {
    "nothing": "",
    "no motion": "G21\nM2",
    "only a frame": "%\n%",
    "a frame that stays open": "%\nG21 G0 X1",
    "null bytes": "\0" * 500,
    "a line of a million characters": HEAD + "G1 X" + "1" * 1_000_000 + "\nM2",
    "a comment of a million characters": HEAD + "(" + "x" * 1_000_000 + ")\nM2",
    "no number": HEAD + "G1 XNaN Y-inf\nM2",
    "brackets in brackets": HEAD + "G1 X" + "[" * 120 + "1" + "]" * 120 + "\nM2",
    "parameters of parameters": HEAD + "G1 X" + "#" * 240 + "1\nM2",
    "a code past all numbers": HEAD + "G[10**308]\nM2",
    "an arc of R past squaring": HEAD + "G2 X1 R" + "9" * 240 + "\nM2",
    "an arc of a million kilometres": HEAD + "G2 X0 Y0 I999999999999\nM2",
    "an arc whose chords vanish": HEAD + "G2 X0 Y0 I" + "9" * 22 + "\nM2",
    "an arc of an atom": HEAD + "G2 X0.0000000001 Y0 I0.00000000005\nM2",
    "a thousand rounds of a kilometre": HEAD + "G2 X0 Y0 I999999\n" * 1000 + "M2",
    "arcs until there is no room": HEAD + ("G2 X0 Y0 I99999\n" * 134) + "\n" * 100_000 + "G1 X5\nM2",
    "pecks lost in rounding": HEAD + "G83 X0 Z99999999999999 R99999999999999.9 Q0.001\nM2",
    "pecks without end": HEAD + "G83 X1 Z-1 R1 Q0.0000000001\nM2",
    "holes without end": HEAD + "G91 G81 X0.1 Z-1 R-1 L999999999\nM2",
    "many holes": HEAD + "G91 G81 X0.001 Z-1 R-1 L5000\n" * 20 + "M2",
    "dwells without end": HEAD + "G4 P[10**308]\n" * 3 + "G1 X1 Z-1\nM2",
    "a feed that never arrives": HEAD + "G93 G1 X1 Z-1 F[10**-300/10**8]\nM2",
    "a feed past all numbers": HEAD + "G1 X1 Z-1 F" + "9" * 200 + "\nM2",
    "a bit number past all numbers": HEAD + "T" + "9" * 200 + " M6\nM2",
    "two hundred changes of bit": HEAD + "T1 M6\nG1 X9 Z-1\nT2 M6\nG1 X5\n" * 100 + "M2",
    "changes without end": HEAD + "T1 M6\n" * 100_000 + "M2",
    "lengths without end": HEAD + "G43 H1\nG1 X1\nG49\nG1 X2\n" * 50_000 + "M2",
    "bits chosen without end": HEAD + "T1\nT2\n" * 5_000 + "G1 X3 Z-1\nM2",
    "down to the middle of the earth": HEAD + "G1 X1 Z-999999\nM2",
    "far away and back": HEAD + "G1 X999999 Y999999 Z-1\nX0 Y0\nM2",
    "farther than that": HEAD + "G1 X99999999 Z-1\nX0 Y0\nM2",
}


def refusal(text: str) -> UnreadableProgramError | None:
    """How reading ended: None, or our refusal; anything else is raised and fails the test."""
    try:
        read_program(text, "any.ngc")
    except UnreadableProgramError as error:
        return error
    return None


def proved(text: str, *, by_number: bool = False) -> list[Finding]:
    """The findings of a whole proof, which is written out as well; every number in it is one."""
    bit = {"bits": BITS} if by_number else {"cutter": GROOVES.cutter}
    programs = [Program(name="any.ngc", text=text, **bit)]  # type: ignore[arg-type]
    verified = verify(programs, SIGN.board, MACHINE, SIGN, GROOVES, FREE, cell_mm=CELL_MM)
    json.loads(proof_json(verified), parse_constant=pytest.fail)
    return list(verified.proof.findings)


@pytest.mark.parametrize("texts", [damaged, invented], ids=["damaged", "invented"])
def test_fuzzed_programs_are_read_or_refused_soon_with_line_and_remedy(
    texts: Callable[[], list[str]],
) -> None:
    """A share is read and a share refused, or the accidents would do nothing or everything."""
    outcomes = []
    for text in texts():
        before_s = time.process_time()
        outcomes.append(refusal(text))
        assert time.process_time() - before_s < MOST_S, text
    refused = [error for error in outcomes if error is not None]
    assert len(outcomes) / 5 < len(refused) < len(outcomes)
    for error in refused:
        assert error.message.startswith("any.ngc")
        assert error.remedy


@pytest.mark.parametrize("texts", [damaged, invented, changing], ids=["damaged", "invented", "changing"])
def test_fuzzed_programs_are_read_alike_both_ways(texts: Callable[[], list[str]]) -> None:
    """The compiled way and the full one refuse in the same words, or make as many motions."""

    def outcome(text: str, *, quick: bool) -> int | str:
        try:
            return len(Interpreter(text, "any.ngc", quick=quick).trace().lines)
        except UnreadableProgramError as error:
            return error.message

    for text in texts():
        assert outcome(text, quick=True) == outcome(text, quick=False), text


@pytest.mark.parametrize("texts", [damaged, invented], ids=["damaged", "invented"])
def test_fuzzed_programs_go_through_a_whole_proof(texts: Callable[[], list[str]]) -> None:
    """Every third: a proof comes out, with a remedy in each finding, and soon."""
    for text in texts()[::3]:
        before_s = time.process_time()
        findings = proved(text)
        assert time.process_time() - before_s < MOST_S, text
        assert all(found.remedy for found in findings)


@pytest.mark.parametrize("by_number", [False, True], ids=["one bit", "two bits"])
def test_programs_that_change_bits_go_through_a_whole_proof(by_number: bool) -> None:
    """Read, refused by name, or cut with the bit in the spindle; each kind of finding comes up."""
    codes: set[str] = set()
    for text in changing():
        findings = proved(text, by_number=by_number)
        assert all(found.remedy for found in findings)
        codes |= {found.code for found in findings}
    assert codes >= {"bit-not-given", "unreadable-program", "spindle-on-at-change", "change-in-the-work"}
    assert ("other-bits-length" in codes) is by_number


@pytest.mark.parametrize("trick", HOSTILE)
def test_hostile_programs_are_proved_or_refused_soon(trick: str) -> None:
    """Whatever a program says, its proof ends; none of these makes the sign, so something is found."""
    before_s = time.process_time()
    error = refusal(HOSTILE[trick])
    findings = proved(HOSTILE[trick], by_number="change" in trick)
    assert time.process_time() - before_s < MOST_OF_MUCH_S
    assert error is None or error.remedy
    assert any(found.stops for found in findings)


@pytest.mark.parametrize(
    ("line", "motions"),
    [("G1 X{}.5 Y3 Z-0.1", 1), ("", 0), ("(a remark)", 0), ("M8", 0)],
    ids=["motions", "empty lines", "comments", "coolant"],
)
def test_a_million_lines_are_read(line: str, motions: int) -> None:
    """Long programs take the compiled way where they are plain, and end where they are not."""
    count = 1_000_000 if line != "M8" else 100_000  # lines that are not plain cost ten times as much
    text = HEAD + "\n".join(line.format(number % 30) for number in range(count)) + "\nM2"
    before_s = time.process_time()
    trace: Trace = read_program(text, "long.ngc")
    assert time.process_time() - before_s < MOST_OF_MUCH_S
    assert len(trace.lines) == motions * count + 1
