"""What a controller remembers from line to line."""

from __future__ import annotations

from dataclasses import dataclass, field

WORK_SYSTEMS = (540, 550, 560, 570, 580, 590, 591, 592, 593)
NO_MOTION = 800


def _zeros() -> list[float]:
    return [0.0, 0.0, 0.0]


@dataclass(slots=True)
class ControllerState:
    """Modes, offsets and position; lengths are in mm whatever the program's unit."""

    position_mm: list[float] = field(default_factory=_zeros)  # in the board frame, offsets undone
    height_known: bool = False  # until the program sets a height, or after a trip to the machine's home
    height_named: bool = False  # a Z word was read
    was_home: bool = False
    motion: int = NO_MOTION
    plane: int = 170
    absolute: bool = True
    inverse_time: bool = False
    mm_per_unit: float = 1.0
    unit_stated: bool = False
    feed_mm_per_min: float = 0.0
    spindle_speed_rpm: float = 0.0
    spindle_on: bool = False
    retract_to_initial: bool = True  # G98
    work_system: int = 0
    origins_mm: list[list[float]] = field(default_factory=lambda: [_zeros() for _ in WORK_SYSTEMS])
    shift_mm: list[float] = field(default_factory=_zeros)  # of G92
    saved_shift_mm: list[float] = field(default_factory=_zeros)
    cycle_words: dict[str, float] = field(default_factory=dict)  # sticky Z and R of a drilling cycle, in mm
    tool: int | None = None  # chosen by the T word
    tool_line: int = 0
    tool_in_spindle: int | None = None
    ended: bool = False

    @property
    def spindle_rpm(self) -> float:
        """Speed of the spindle now, 0 while it stands."""
        return self.spindle_speed_rpm if self.spindle_on else 0.0

    @property
    def offsets_mm(self) -> list[float]:
        """Where the program's zero is in the board frame."""
        origin = self.origins_mm[self.work_system]
        return [origin[axis] + self.shift_mm[axis] for axis in range(3)]


def end_program(state: ControllerState) -> None:
    """Do what M2 and M30 do besides stopping (NISTIR 6556, 3.6.1)."""
    state.shift_mm = _zeros()
    state.work_system = 0
    state.plane = 170
    state.absolute = True
    state.inverse_time = False
    state.spindle_on = False
    state.motion = 10
    state.ended = True
