"""How programs are written: by the name of a dialect, or by what the controller wants."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from schemas.base import WireModel

_FEWEST_DECIMALS = {"mm": 3, "in": 4}  # with fewer, rounding breaks the arc rule (trade.md G-59)


_LONGEST_DWELL_S = 60.0


def _seconds(said: bool | float) -> bool | float:
    if not isinstance(said, bool) and not 0 <= said <= _LONGEST_DWELL_S:
        raise ValueError(f"{said:g} seconds are no dwell: give 0 to {_LONGEST_DWELL_S:g}, or true or false")
    return said


class DialectForm(WireModel):
    """RS-274 as one controller wants it; what is left out is as in the named dialects."""

    unit: Annotated[Literal["mm", "in"], Field(description="G21 or G20")] = "mm"
    arcs: Annotated[bool, Field(description="G2 and G3 where the way is round; else straight moves only")] = (
        False
    )
    decimals: Annotated[int | None, Field(ge=3, le=6, description="of places; 3 for mm and 4 for in")] = None
    comments: Annotated[bool, Field(description="remarks in ( ) on lines of their own")] = True
    line_numbers: Annotated[bool, Field(description="N10, N20, ... before each line")] = False
    percent: Annotated[bool, Field(description="a line of % at the start and the end")] = False
    spindle: Annotated[
        Literal["two-lines", "one-line"], Field(description="S and M3 on lines of their own, or S18000 M3")
    ] = "two-lines"
    dwell: Annotated[
        bool | float,
        AfterValidator(_seconds),
        Field(description="G4 while the spindle comes up to speed: as long as the machine needs, or seconds"),
    ] = True
    end: Annotated[Literal["M2", "M30"], Field(description="the last line's word")] = "M2"
    one_file: Annotated[
        bool, Field(description="all bits in one program, each put in by T and M6; else one file a bit")
    ] = False
    pause: Annotated[
        Literal["M0", "M1"] | None,
        Field(description="at each change a message and a stop; M1 only where a switch is on"),
    ] = None
    length_offset: Annotated[
        bool,
        Field(description="in one file: G43 H with the bit's number, where the machine knows all lengths"),
    ] = False

    @model_validator(mode="after")
    def _decimals_keep_arcs_round(self) -> Self:
        fewest = _FEWEST_DECIMALS[self.unit]
        if self.decimals is not None and self.decimals < fewest:
            raise ValueError(
                f"unit '{self.unit}' needs {fewest} decimals or more, or no arc is round: raise 'decimals'"
            )
        return self

    @model_validator(mode="after")
    def _changes_are_in_one_file(self) -> Self:
        if not self.one_file and (self.pause or self.length_offset):
            raise ValueError("'pause' and 'length_offset' are for changes of bit: add 'one_file: true'")
        return self
