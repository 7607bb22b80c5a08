"""The ``triglyph`` command: one process here and now, a whole service, or a client of one."""

import argparse
import importlib
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from api.arguments import command_parser
from api.client import TriglyphClient
from api.linked_files import read_request
from api.local_run import run_here
from api.output_folder import OutputFolder
from api.problem_responses import request_problem
from api.progress_line import ProgressLine, show_job
from api.request_checks import LISTED_AS
from api.told import Exit, note, say, tell_json, tell_made, tell_problem, tell_rows
from schemas.jobs import JobStatus, StatusInfo
from schemas.problems import FieldError, ProblemCode, Refusal, problem
from schemas.processes import OFFERED
from schemas.steps import output_of

Arguments = argparse.Namespace


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; return the exit code."""
    given = sys.argv[1:] if arguments is None else list(arguments)
    as_json = "--json" in given
    try:
        chosen = command_parser().parse_args(given)
        return int(COMMANDS[chosen.command](chosen))
    except Refusal as refusal:
        return int(tell_problem(refusal.document, as_json))
    except KeyboardInterrupt:
        note("stopped")
        return 130
    except BrokenPipeError:
        sys.stderr.close()  # whoever read our output has gone; Python would complain once more at exit
        return 0
    except Exception as error:  # noqa: BLE001 - the last resort: a person gets a sentence, not a traceback
        return int(tell_problem(_fault(error), as_json))


# ---------------------------------------------------------------------------------- commands


def run(chosen: Arguments) -> Exit:
    """Run one process in this very process."""
    inputs = read_request(chosen.request)
    with ProgressLine() as report:
        result = run_here(chosen.process, inputs, chosen.request.parent, _run_step, report, _capabilities)
    out = OutputFolder(chosen.out or Path("out") / chosen.process)
    out.clear()
    files = {
        name: out.write(output_of(chosen.process, name).file, [content])
        for name, content in result.files.items()
    }
    return tell_made({"process": chosen.process}, out.path, files, result.problem, chosen.json)


def submit(chosen: Arguments) -> Exit:
    """Send a request to a service."""
    inputs = read_request(chosen.request)
    with _client(chosen) as client:
        job = client.submit(
            chosen.process,
            inputs,
            folder=chosen.request.parent,
            bulk=chosen.bulk,
            idempotency_key=chosen.idempotency_key,
        )
        if not chosen.follow:
            _tell_job(job, chosen.json)
            return Exit.DONE
        note(f"job {job.jobID}")
        show_job(client, job.jobID)
        return _fetched(client, job.jobID, chosen.out or Path("out") / chosen.process, chosen.json)


def results(chosen: Arguments) -> Exit:
    """Fetch what a job made."""
    with _client(chosen) as client:
        return _fetched(client, chosen.job, chosen.out or Path("out") / chosen.job, chosen.json)


def dismiss(chosen: Arguments) -> Exit:
    """Stop a job, or erase one that has ended."""
    with _client(chosen) as client:
        _tell_job(client.dismiss(chosen.job), chosen.json)
    return Exit.DONE


def jobs(chosen: Arguments) -> Exit:
    """List the latest jobs of a service."""
    status = JobStatus(chosen.status) if chosen.status else None
    with _client(chosen) as client:
        found = [
            job.model_dump(mode="json", exclude_none=True)
            for job in client.jobs(limit=chosen.limit, status=status)
        ]
    if chosen.json:
        tell_json({"jobs": found})
    else:
        tell_rows(found, ["jobID", "processID", "status", "progress", "created", "message"])
    return Exit.DONE


def serve(chosen: Arguments) -> Exit:
    """Run the whole service: broker, workers and API."""
    importlib.import_module("api.main").serve(chosen.data, chosen.host, chosen.port, chosen.workers)
    return Exit.DONE


def demo(chosen: Arguments) -> Exit:
    """Make the Tern Quay sign through the embedded service."""
    shown: Exit = importlib.import_module("api.demo.run").run_demo(
        chosen.out or Path("out/demo"), chosen.json
    )
    return shown


def listing(chosen: Arguments) -> Exit:
    """List what this installation offers."""
    rows = list(_capabilities()[chosen.command])
    if chosen.json:
        tell_json({chosen.command: rows})
    else:
        tell_rows(rows, ["name", "title", "figures"])
    return Exit.DONE


def processes(chosen: Arguments) -> Exit:
    """List the processes."""
    rows = [{"name": p.id, "title": p.title, "description": p.description} for p in OFFERED.values()]
    if chosen.json:
        tell_json({"processes": [_described(process_id) for process_id in OFFERED]})
    else:
        tell_rows(rows, ["name", "title"])
    return Exit.DONE


def capabilities(chosen: Arguments) -> Exit:
    """Print everything that can be named in a request, as JSON; the service asks this of its own."""
    tell_json(_capabilities())
    return Exit.DONE


def key(chosen: Arguments) -> Exit:
    """Make a key: the secret to be given away, and its entry for the keys file."""
    keys = importlib.import_module("api.keys")
    rights = keys.KIOSK | {keys.Right(right) for right in chosen.right}
    token, entry = keys.new_key(chosen.id, rights)
    tell_json({"key": token, "entry": entry.model_dump(mode="json")})
    note("The key is shown this once. Put the entry into the list 'keys' of the keys file.")
    return Exit.DONE


# ------------------------------------------------------------------------------------ pieces


def _run_step(*step: Any) -> Any:
    from workers.pipeline.run_step import run_step  # numpy and its kin are loaded only now

    return run_step(*step)


def _capabilities() -> dict[str, Any]:
    from workers.pipeline.capabilities import capabilities as offered

    return offered()


def _client(chosen: Arguments) -> TriglyphClient:
    return TriglyphClient(chosen.to, chosen.key)


def _fetched(client: TriglyphClient, job_id: str, out: Path, as_json: bool) -> Exit:
    files, why = client.download_all(job_id, out)
    return tell_made({"jobID": job_id}, out, files, why, as_json)


def _tell_job(job: StatusInfo, as_json: bool) -> None:
    if as_json:
        tell_json(job.model_dump(mode="json", exclude_none=True))
    else:
        say(f"{job.jobID}  {job.status.value}")


def _described(process_id: str) -> dict[str, Any]:
    process = OFFERED[process_id]
    return {
        "name": process.id,
        "version": process.version,
        "title": process.title,
        "description": process.description,
        "inputs": process.inputs.model_json_schema(),
        "outputs": {name: output.file for name, output in process.outputs.items()},
    }


def _fault(error: Exception) -> Any:
    if isinstance(error, ValidationError):
        fields = [
            FieldError(pointer="/" + "/".join(map(str, each["loc"])), detail=each["msg"], remedy="Change it.")
            for each in error.errors()
        ]
        return request_problem(fields)
    return problem(
        ProblemCode.INTERNAL_FAULT,
        f"the command stopped on an unforeseen {type(error).__name__}: {error}",
        remedy="This is a fault of ours: please report it with the request.",
    )


COMMANDS: dict[str, Callable[[Arguments], Exit]] = {
    "run": run,
    "demo": demo,
    "serve": serve,
    "submit": submit,
    "jobs": jobs,
    "results": results,
    "dismiss": dismiss,
    "key": key,
    **dict.fromkeys(LISTED_AS.values(), listing),
    "processes": processes,
    "capabilities": capabilities,
}


if __name__ == "__main__":
    sys.exit(main())
