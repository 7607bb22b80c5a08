"""Which codes exist, which exclude each other, and which words each of them uses.

Source: NISTIR 6556, table 4 and sections 3.4 to 3.6, restated. G codes are times ten.
"""

from __future__ import annotations

from workers.interpretation.blocks import Block
from workers.interpretation.fault import Fault

NON_MODAL, MOTION = 0, 1
CYCLES = (810, 820, 830, 840, 850, 860, 870, 880, 890)
_DWELLING_CYCLES = (820, 860, 880, 890)
AXIS_USERS = frozenset({100, 280, 300, 920})  # of the non-modal codes
_G_GROUPS = {
    NON_MODAL: (40, 100, 280, 300, 530, 920, 921, 922, 923),
    MOTION: (0, 10, 20, 30, 382, 800, *CYCLES),
    2: (170, 180, 190),
    3: (900, 910),
    5: (930, 940),
    6: (200, 210),
    7: (400, 410, 420),
    8: (430, 490),
    10: (980, 990),
    12: (540, 550, 560, 570, 580, 590, 591, 592, 593),
    13: (610, 611, 640),
}
_M_GROUPS = {4: (0, 1, 2, 30, 60), 6: (6,), 7: (3, 4, 5), 8: (7, 8, 9), 9: (48, 49)}
GROUP_OF_G = {code: group for group, codes in _G_GROUPS.items() for code in codes}
GROUP_OF_M = {code: group for group, codes in _M_GROUPS.items() for code in codes}
_REFUSED = {
    382: "probing (G38.2) depends on the machine's touch",
    410: "cutter radius compensation (G41) depends on the machine's tool table",
    420: "cutter radius compensation (G42) depends on the machine's tool table",
}
_SUBPROGRAM = "a subprogram call or its end"
_NAMED = {97: _SUBPROGRAM, 98: _SUBPROGRAM, 99: _SUBPROGRAM}  # M codes of many controllers, not of RS-274
_REMEDIES = {
    730: "write G83 with its Q, or the motions themselves",
    901: "write I, J and K as offsets from the arc's start",
    911: "leave it out: I, J and K are offsets from the arc's start anyway",
}
_USERS = {  # letter -> codes of which one must be in force on the line
    "d": {410, 420},
    "h": {430},
    "i": {20, 30, 870},
    "j": {20, 30, 870},
    "k": {20, 30, 870},
    "l": {100, *CYCLES},
    "p": {40, 100, *_DWELLING_CYCLES},
    "q": {830},
    "r": {20, 30, *CYCLES},
}


def code_name(code: int) -> str:
    """Return a G code as people write it: ``G92.1``."""
    return f"G{code / 10:g}"


def groups_of(block: Block) -> tuple[dict[int, int], dict[int, int]]:
    """Return the G and M codes of a line by modal group; two of a group are refused."""
    g_codes: dict[int, int] = {}
    for code in block.g_codes:
        if code not in GROUP_OF_G:
            remedy = _REMEDIES.get(code, "use a G code of RS-274")
            raise Fault(f"there is no {code_name(code)} in RS-274", remedy, word=f"g{code}")
        if code in _REFUSED:
            raise Fault(_REFUSED[code], "write the motions themselves, of the bit's centre", word=f"g{code}")
        group = GROUP_OF_G[code]
        if group in g_codes:
            both = f"{code_name(g_codes[group])} and {code_name(code)}"
            raise Fault(f"{both} exclude each other", "put them on lines of their own", word=f"g{code}")
        g_codes[group] = code
    m_codes: dict[int, int] = {}
    for code in block.m_codes:
        if code not in GROUP_OF_M:
            if code in _NAMED:
                raise Fault(f"{_NAMED[code]} (M{code})", "write its motions themselves", word=f"m{code}")
            raise Fault(f"there is no M{code} in RS-274", "use an M code of RS-274", word=f"m{code}")
        group = GROUP_OF_M[code]
        if group in m_codes:
            both = f"M{m_codes[group]} and M{code}"
            raise Fault(f"{both} exclude each other", "put them on lines of their own", word=f"m{code}")
        m_codes[group] = code
    return g_codes, m_codes


def motion_of(block: Block, g_codes: dict[int, int], in_force: int) -> int | None:
    """Return the motion code that this line carries out, or None.

    Args:
        block: The line.
        g_codes: Its G codes by group.
        in_force: The motion code of earlier lines; 800 (G80) when there is none.
    """
    stated = g_codes.get(MOTION)
    takes_axes = g_codes.get(NON_MODAL) in AXIS_USERS
    if takes_axes and stated not in (None, 800):
        both = f"{code_name(g_codes[NON_MODAL])} and {code_name(stated or 0)}"
        raise Fault(f"{both} both want the axis words", "put them on lines of their own", word=f"g{stated}")
    if takes_axes or not block.has_axes:
        if stated not in (None, 800):
            raise Fault(f"{code_name(stated or 0)} without X, Y or Z", "say where to go", word=f"g{stated}")
        return None
    motion = in_force if stated is None else stated
    if motion == 800:
        raise Fault("X, Y or Z while no motion code is in force", "start the line with G0 or G1")
    return motion


def check_words(block: Block, g_codes: dict[int, int], motion: int | None) -> None:
    """Refuse letters that nothing on the line uses, and rotary axes."""
    in_force = {*g_codes.values(), motion}
    for letter in block.words:
        if letter in "abc":
            raise Fault(f"a rotary axis ({letter.upper()})", "write the program for three axes", word=letter)
        users = _USERS.get(letter)
        if users is not None and not users & in_force:
            name = letter.upper()
            raise Fault(f"{name} with nothing on the line that uses it", f"take {name} out", word=letter)
