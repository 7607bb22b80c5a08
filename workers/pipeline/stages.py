"""The stages, each from links to files. What they compute is in the rooms below."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import time
from collections.abc import Callable
from typing import Any

from schemas import requests
from schemas.links import Link, ProgramEntry, ProgramLink, ProgramList, artifact_href
from schemas.problems import Problem, ProblemCode, problem
from schemas.processes import PROGRAM_FOLDER
from workers.cutting_data import tables
from workers.dialects.programs import write_programs
from workers.errors import NotCuttableError, UnreadableProgramError, UnsupportedInput
from workers.geometry.flattening import flatten
from workers.intake.coverage_file import read_coverage, write_coverage
from workers.intake.media import media_of
from workers.intake.photo import decode_photo
from workers.intake.svg_document import read_svg
from workers.layout.compose import compose
from workers.layout.design_file import draw_design, read_design, write_design
from workers.pipeline import translation
from workers.pipeline.outcome import Read, json_file
