"""What may be written after ``triglyph``: commands, arguments, and their help."""

import argparse
import os
import re
from importlib.metadata import version
from pathlib import Path
from typing import Any, NoReturn

from api.client import DEFAULT_ADDRESS
from api.near_names import near_names
from api.problem_responses import refused
from api.request_checks import LISTED_AS
from schemas.jobs import JobStatus
from schemas.problems import ProblemCode


class _Parser(argparse.ArgumentParser):
    """Raises what is wrong, for the one place that tells problems."""

    def error(self, message: str) -> NoReturn:
        choice = re.search(r"invalid choice: '(.*?)' \(choose from (.*)\)", message)
        near = near_names(choice[1], re.findall(r"'(.*?)'", choice[2]), 1) if choice else []
        hint = f"Did you mean '{near[0]}'? " if near else ""
        remedy = f"{hint}`{self.prog} --help` shows how it is used."
        raise refused(ProblemCode.REQUEST_REFUSED, message, remedy)


def command_parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line; it sets ``command`` to the command's name."""
    parser = _Parser(
        prog="triglyph",
        description="Turns inked line art into carved signs; every program is proven before it leaves.",
        epilog="exit codes: 0 done; 1 a fault of ours; 2 request refused; 3 ended without a passing proof",
    )
    parser.add_argument("--version", action="version", version=f"%(prog)s {version('triglyph')}")
    commands = parser.add_subparsers(metavar="COMMAND", dest="command", required=True)
    _add_work(commands)
    _add_service(commands)
    for name in LISTED_AS.values():
        _command(commands, name, f"list the {name} that can be named in a request")
    _command(commands, "processes", "list the processes")
    _command(commands, "capabilities", "print everything that can be named, as JSON")
    return parser


def _add_work(commands: Any) -> None:
    here = _command(commands, "run", "run one process here and now, without a service")
    _request_arguments(here)
    show = _command(commands, "demo", "make the Tern Quay sign, from photos to proven programs")
    show.add_argument("--out", type=Path, help="folder for the results (default: out/demo)")


def _add_service(commands: Any) -> None:
    service = _command(commands, "serve", "run the service: broker, workers and API")
    service.add_argument(
        "--data", type=Path, help="folder of everything that is kept (default: triglyph-data)"
    )
    service.add_argument("--host", default="127.0.0.1", help="address to listen at (default: %(default)s)")
    service.add_argument("--port", type=int, default=8500, help="port to listen at (default: %(default)s)")
    service.add_argument("--workers", type=int, help="steps at once (default: one for each core)")
    sent = _command(commands, "submit", "send a request to a service", remote=True)
    _request_arguments(sent)
    sent.add_argument("--follow", action="store_true", help="wait for the end and fetch the results")
    sent.add_argument("--bulk", action="store_true", help="let interactive work go ahead")
    sent.add_argument("--idempotency-key", help="sending again with the same key answers the same job")
    latest = _command(commands, "jobs", "list the latest jobs of a service", remote=True)
    latest.add_argument("--limit", type=int, default=10, help="how many (default: %(default)s)")
    latest.add_argument("--status", choices=[status.value for status in JobStatus], help="only in this state")
    fetched = _command(commands, "results", "fetch what a job made", remote=True)
    fetched.add_argument("job", metavar="ID", help="the job's id")
    fetched.add_argument("--out", type=Path, help="folder for the results (default: out/ID)")
    stopped = _command(commands, "dismiss", "stop a job, or erase one that has ended", remote=True)
    stopped.add_argument("job", metavar="ID", help="the job's id")
    made = _command(commands, "key", "make a key for a service that other machines may call")
    made.add_argument("id", metavar="NAME", help="small letters, digits and hyphens")
    made.add_argument(
        "--right", action="append", default=[], help="more rights than a kiosk's, as class:bulk"
    )


def _request_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("process", metavar="PROCESS", help="`triglyph processes` lists them; `sign` does all")
    parser.add_argument("request", metavar="REQUEST", type=Path, help="JSON or YAML file with the inputs")
    parser.add_argument("--out", type=Path, help="folder for the results (default: out/PROCESS)")


def _command(commands: Any, name: str, words: str, remote: bool = False) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = commands.add_parser(
        name, help=words, description=words[0].upper() + words[1:] + "."
    )
    parser.add_argument("--json", action="store_true", help="one JSON document on standard output")
    if remote:
        parser.add_argument(
            "--to", metavar="URL", default=DEFAULT_ADDRESS, help="the service (default: %(default)s)"
        )
        parser.add_argument(
            "--key",
            metavar="KEY",
            default=os.environ.get("TRIGLYPH_KEY"),
            help="a key of the service, if it wants one (default: that of TRIGLYPH_KEY)",
        )
    return parser
