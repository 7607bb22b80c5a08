"""What is worth telling about photos as files, and about several made into one."""

from __future__ import annotations

from workers.rectification.merging import Merged
from workers.rectification.notes import note
from workers.values.finding import Finding, Severity
from workers.values.image import ColourImage

_FAULTY_FRACTION = 0.01


def frame_findings(photo: ColourImage, number: int) -> list[Finding]:
    """Return what was left of a photo's file.

    Args:
        photo: The photo that is used.
        number: Its place in the request.
    """
    if not photo.is_first_of_several:
        return []
    return [
        note(
            "first-frame-used",
            f"photo {number + 1} is a file of several pictures; the first was used",
            "send another of its pictures as a file of its own, if that is the one meant",
        )
    ]


def merging_findings(photos_count: int, merged: Merged | None) -> list[Finding]:
    """Return how merging went, which was asked for.

    Args:
        photos_count: How many photos there are.
        merged: What they became; None if there was nothing to merge.
    """
    if merged is None or len(merged.shares) < 2:
        left = (
            "only one photo was given"
            if photos_count < 2
            else "fewer than two of the photos show a sheet that fits"
        )
        found = [
            note(
                "not-merged",
                f"nothing was merged: {left}",
                "give two to eight photos of the same sheet, its size, and all of its edges in each",
                Severity.WARNING,
            )
        ]
    else:
        shares = ", ".join(f"photo {k + 1} {100 * share:.0f} %" for k, share in sorted(merged.shares.items()))
        found = [note("merged", f"several photos became one; of the sheet came from {shares}", "none needed")]
    if merged is None:
        return found
    found += [
        note(
            "photo-left-out",
            f"photo {k + 1} does not fit the others (likeness {likeness:.2f} of 1), so it was not merged",
            "see whether it shows the same sheet, flat and with its edges free",
            Severity.WARNING,
        )
        for k, likeness in sorted(merged.left_out.items())
    ]
    if merged.faulty_fraction > _FAULTY_FRACTION:
        found.append(
            note(
                "glare-or-shade-left",
                f"{100 * merged.faulty_fraction:.0f} % of the sheet lies in glare or shade in every photo",
                "move the lamp between the photos, so that glare and shade fall elsewhere in each",
                Severity.WARNING,
            )
        )
    return found
