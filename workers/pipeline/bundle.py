"""The archive that leaves the house: fixed names, fixed stamps, digests of everything."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile

from schemas.bits import Bit
from schemas.dialects import DialectForm
from schemas.links import ProgramEntry, ProgramLink, ProgramList, SeveralBitsEntry, Work
from schemas.requests import SignOrder
from workers.cutting_data import tables
from workers.layout.design_file import read_design
from workers.pipeline import bit_words, cut_words
from workers.registry import offers
from workers.setup_sheet.figures import Figures
from workers.setup_sheet.page import draw_setup_sheet
from workers.setup_sheet.sheet import ProgramRow, SetupSheet
from workers.toolpaths.cutout import cutout_of
from workers.toolpaths.openings import opening_tab_places_mm
from workers.toolpaths.plan import openings_cut
from workers.values.finding import Finding, Severity
from workers.values.proof import BitRecord, ProgramRecord
from workers.values.tiers import tiers_of
from workers.verification.proof_record import read_proof

_STAMP = (1980, 1, 1, 0, 0, 0)  # the earliest a ZIP can say: the same order gives the same bytes on any day
_MODE = 0o644 << 16
_QUICKEST = 1  # six times as fast as the usual level on a mesh and programs, for a bundle 2 % larger
_TITLE_LENGTH = 60
_NOTES_FROM = (
    "intake.json",
    "tracing.json",
    "layout.json",
    "toolpaths.json",
    "verdicts.json",
)  # ends of names


def archive(files: dict[str, bytes]) -> bytes:
    """Return a ZIP of the files and a MANIFEST of their SHA-256 digests.

    The MANIFEST has a line for each file, ``digest  name``, as ``sha256sum --check`` reads it.

    Source: APPNOTE 6.3.10 (ZIP); the checksum line format is that of GNU coreutils.
    """
    listed = "".join(f"{hashlib.sha256(files[name]).hexdigest()}  {name}\n" for name in sorted(files))
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as target:
        for name, data in [*sorted(files.items()), ("MANIFEST", listed.encode())]:
            member = zipfile.ZipInfo(name, _STAMP)
            member.external_attr = _MODE
            member.compress_type = zipfile.ZIP_STORED if name.endswith(".png") else zipfile.ZIP_DEFLATED
            target.writestr(member, data, compresslevel=_QUICKEST)
    return packed.getvalue()


def setup_sheet(order: SignOrder, files: dict[str, bytes]) -> bytes:
    """Return the page beside the machine, out of the files of the bundle."""
    proof = read_proof(files["proof.json"])
    records = {program.name: program for program in proof.programs}
    design = read_design(files["design.json"], "/inputs/design")
    cutout = cut_words.cutout_cut(order.cutout) if order.cutout else None
    inside = cutout or openings_cut(cut_words.clear_cut(order.clear) if order.clear else None)
    entries = ProgramList.model_validate_json(files["programs.json"]).programs
    return draw_setup_sheet(
        SetupSheet(
            title=_title(order),
            design=design,
            machine=tables.machine(order.machine, "/inputs/machine"),
            material=offers.material(order.board.material, "/inputs/board/material"),
            programs=tuple(row for entry in entries for row in _rows(entry, records[entry.name or ""])),
            proof=proof,
            cutout=cutout,
            tabs_mm=cutout_of(design, cutout).tab_places_mm() if cutout else (),
            opening_tabs_mm=opening_tab_places_mm(design, inside) if inside and design.openings else (),
            tone_limits_mm=tuple(
                tier.depth_limit_mm
                for tier in tiers_of(design, cut_words.incise_cut(order.incise, design.bit_name))
            ),
            keep_outs=cut_words.keep_outs(order.keep_out),
            grain_deg=order.clear.grain if order.clear and order.clear.pattern == "lines" else None,
            picture_grain_deg=order.preview.grain,
            notes=_notes(files),
            preview_png=files["preview.png"],
            preview_back_png=files.get("preview-back.png"),
            order_digest=hashlib.sha256(files["order.json"]).hexdigest(),
            lengths_known=isinstance(order.dialect, DialectForm) and order.dialect.length_offset,
            figures=Figures(order.setup_sheet.units == "in"),
            paper=order.setup_sheet.paper,
        )
    )


def _title(order: SignOrder) -> str:
    words = " ".join(" ".join(line.text.split()) for line in order.lettering)
    return words[:_TITLE_LENGTH] or f"Sign {order.board.width:g} x {order.board.height:g} mm"


def _rows(entry: ProgramEntry | SeveralBitsEntry, record: ProgramRecord) -> list[ProgramRow]:
    """One row for a program of one bit; for one with several a row for each turn of a bit."""
    if isinstance(entry, ProgramEntry):
        return [_row(entry, entry.bit, entry, record, record.bits[0])]
    return [
        _row(entry, entry.bits[work.number], work, record, turn)
        for work, turn in zip(entry.work, record.bits, strict=True)
    ]


def _row(entry: ProgramLink, bit: Bit, work: Work, record: ProgramRecord, turn: BitRecord) -> ProgramRow:
    return ProgramRow(
        file=record.name,
        cutter=bit_words.cutter(bit, "/inputs/programs"),
        bit_number=turn.number,
        from_behind=entry.side == "back",
        spindle_rpm=work.spindle_rpm,
        feed_mm_per_min=work.feed_mm_per_min,
        plunge_mm_per_min=work.plunge_mm_per_min,
        deepest_mm=work.depth_mm,
        seconds_s=turn.seconds_s,
        sha256=record.sha256,
    )


def _notes(files: dict[str, bytes]) -> tuple[Finding, ...]:
    """What the stages before the proof remarked, the weighty first."""
    found = [
        Finding.from_record(record)
        for name in sorted(files)
        if name.endswith(_NOTES_FROM)
        for record in json.loads(files[name]).get("findings", [])
    ]
    return tuple(sorted(found, key=lambda finding: finding.severity is Severity.NOTE))
