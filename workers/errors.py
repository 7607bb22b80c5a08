"""Every error the workers raise, in one tree.

An *error* ends a job and is raised; a *finding* (workers.values.finding) is a
fact about a drawing or a program and is returned.

::

    ConversionError                     code, details
    +- InputRejectedError               what was sent; the sender can act
    |  +- UnreadableImageError          not a picture, truncated, or no decoder for it
    |  +- ImageTooLargeError            more pixels, bytes or frames than this installation takes
    |  +- UnsafeSvgError                entities, scripts, outside references, or too deep
    |  +- SheetNotFoundError            no sheet where one was promised
    |  +- NoDrawingFoundError           blank, or ink all over
    |  +- ParameterOutOfRangeError      a length, angle or count this step cannot use
    |  +- UnknownNameError              no such bit, material, machine, font, dialect
    |  +- UnreadableProgramError        text that is not RS-274
    |  +- MissingFileError              a link to nothing
    +- NotCuttableError                 carries findings; another bit, size or repair would help
    +- DeviationNotMetError             an approximation missed its promised tolerance: our fault
    +- LimitExceededError               time, memory or size budget of this installation
    JobDismissed                        no error: somebody cancelled; ends a job quietly
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Self

if TYPE_CHECKING:
    from workers.values.finding import Finding


class ConversionError(Exception):
    """Whatever ends a job with a reason that can be told.

    Args:
        message: What was found and what was needed, in mm, without paths.
        field: JSON pointer of the input at fault ("/inputs/board/width"), if known.
        remedy: What the sender can do about it.
    """

    code: ClassVar[str] = "internal-fault"

    def __init__(self, message: str, *, field: str | None = None, remedy: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.field = field
        self.remedy = remedy


class InputRejectedError(ConversionError):
    """The file or the numbers given cannot be used; the sender can act."""

    code = "input-rejected"


class UnreadableImageError(InputRejectedError):
    """The bytes are no picture, are cut short, or are in a format without a decoder."""

    code = "unreadable-image"


class ImageTooLargeError(InputRejectedError):
    """The picture has more pixels, bytes or frames than this installation takes."""

    code = "image-too-large"


class UnsafeSvgError(InputRejectedError):
    """The SVG holds entities, scripts or outside references, or is nested too deep."""

    code = "unsafe-svg"


class SheetNotFoundError(InputRejectedError):
    """No sheet of paper could be told from its surroundings."""

    code = "sheet-not-found"


class NoDrawingFoundError(InputRejectedError):
    """The picture is blank, or ink all over."""

    code = "no-drawing-found"


class ParameterOutOfRangeError(InputRejectedError):
    """A length, angle or count lies outside what this step can use."""

    code = "parameter-out-of-range"


class UnknownNameError(InputRejectedError):
    """No bit, material, machine, font or dialect has this name."""

    code = "unknown-name"


class UnreadableProgramError(InputRejectedError):
    """The text breaks the rules of RS-274, so no motion can be told from it."""

    code = "unreadable-program"


class MissingFileError(InputRejectedError):
    """A link leads to no file."""

    code = "missing-file"


class NotCuttableError(ConversionError):
    """The design cannot be cut as asked; the findings say where and what would help."""

    code = "not-cuttable"

    def __init__(
        self,
        message: str,
        *,
        findings: tuple[Finding, ...],
        field: str | None = None,
        remedy: str | None = None,
    ) -> None:
        super().__init__(message, field=field, remedy=remedy)
        self.findings = findings

    @classmethod
    def for_findings(cls, *findings: Finding, field: str | None = None) -> Self:
        """Return the error that says what the first of its findings says."""
        return cls(findings[0].message, findings=findings, field=field, remedy=findings[0].remedy)


class DeviationNotMetError(ConversionError):
    """An approximation could not keep the tolerance it promised."""

    code = "deviation-not-met"


class LimitExceededError(ConversionError):
    """A budget of time, memory or size of this installation is used up."""

    code = "limit-exceeded"


class JobDismissed(BaseException):
    """The job was dismissed while it ran; raised by a reporter, ends the step quietly."""
