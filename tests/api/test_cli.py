"""The command line: exit codes, what stands where, and that errors can be acted upon."""

import json
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from api import cli
from api.told import Exit
from schemas.problems import FieldError, FindingReport, Problem, ProblemCode, problem
from schemas.processes import OFFERED
from tests.support.front_desk import CAPABILITIES, FrontDesk, sign_inputs
from tests.support.served import served
from workers.pipeline.outcome import StepOutcome

FILES: dict[str, dict[str, bytes]] = {
    "layout": {"design": b"{}", "drawing": b"<svg/>", "layout_report": b"{}"},
    "resolvability": {
        "art": b"<svg/>",
        "verdicts": b"{}",
        "overlay": b"PNG",
        "before_after": b"PNG",
        "design": b"{}",
        "drawing": b"<svg/>",
    },
    "toolpaths": {"paths": b"{}", "drawing": b"<svg/>", "report": b"{}"},
    "machine-code": {"programs": b"{}", "programs/01-incise-vee-90.ngc": b"G21\n"},
    "verification": {
        "proof": b"{}",
        "preview": b"PNG",
        "depth_map": b"PNG",
        "depth_key": b"PNG",
        "relief": b"glTF",
    },
    "bundle": {"bundle": b"PK", "setup_sheet": b"%PDF", "order": b"{}"},
    "echo": {"message": b"hello"},
}


class FakePipeline:
    """Stands for the computing: files by step, and a problem where a test wants one."""

    def __init__(self) -> None:
        self.ran: list[str] = []
        self.problems: dict[str, Problem] = {}
        self.links: list[bytes] = []
        self.files = {process: dict(files) for process, files in FILES.items()}

    def __call__(self, process: str, inputs: Any, read: Any, report: Any) -> StepOutcome:
        self.ran.append(process)
        if process == "bundle":
            self.links = [read(link["href"]) for link in inputs["files"].values()]
        report(0.5, "half way")
        return StepOutcome(self.files[process], self.problems.get(process))


@pytest.fixture
def pipeline(monkeypatch: pytest.MonkeyPatch) -> FakePipeline:
    """The computing, replaced: nothing heavy is loaded."""
    fake = FakePipeline()
    monkeypatch.setattr(cli, "_run_step", fake)
    monkeypatch.setattr(cli, "_capabilities", lambda: CAPABILITIES)
    return fake


@pytest.fixture
def order(tmp_path: Path) -> Path:
    """A request file with a small sign order."""
    path = tmp_path / "order.json"
    path.write_text(json.dumps(sign_inputs()))
    return path


def test_a_sign_runs_step_by_step(pipeline: FakePipeline, order: Path, tmp_path: Path) -> None:
    """Exit 0, all files under the names of the contract; steps read what earlier ones left."""
    assert cli.main(["run", "sign", str(order), "--out", str(tmp_path / "out")]) == 0

    assert pipeline.ran == [
        "layout",
        "resolvability",
        "toolpaths",
        "machine-code",
        "verification",
        "bundle",
    ]
    assert b"G21\n" in pipeline.links
    written = {path.name for path in (tmp_path / "out").iterdir()}
    assert {"bundle.zip", "proof.json", "preview.png", "setup-sheet.pdf", "order.json", "programs"} <= written
    assert (tmp_path / "out/programs/01-incise-vee-90.ngc").read_bytes() == b"G21\n"


def test_findings_of_the_reports_are_told_once(
    pipeline: FakePipeline, order: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody should have to open a JSON file to learn of a warning; the proof is summed up in a line."""
    finding = {
        "code": "faint",
        "severity": "warning",
        "message": "two strokes are faint",
        "remedy": "Scale up.",
    }
    proof = {"passed": True, "seconds": 577.0, "programs": [{}, {}], "findings": [finding]}
    pipeline.files["verification"]["proof"] = json.dumps(proof).encode()
    pipeline.files["toolpaths"]["report"] = json.dumps({"findings": [finding]}).encode()

    assert cli.main(["run", "sign", str(order), "--out", str(tmp_path / "out")]) == 0

    err = capsys.readouterr().err.splitlines()
    assert err.count("warning: two strokes are faint (Scale up.)") == 1
    assert err[-1] == "proven: 2 programs, 10 minutes at the machine"


def test_json_is_one_document_on_standard_output(
    pipeline: FakePipeline, order: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The summary, with where each output lies; progress goes to standard error."""
    code = cli.main(["run", "sign", str(order), "--out", str(tmp_path / "out"), "--json"])

    out, err = capsys.readouterr()
    summary = json.loads(out)
    assert (code, summary["status"]) == (0, "successful")
    assert summary["files"]["proof"]["path"] == str(tmp_path / "out/proof.json")
    assert "verification" in err


def test_a_failed_proof_leaves_reports_and_no_program(
    pipeline: FakePipeline, order: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 3: the proof is there, programs are not, nor those of the run before."""
    out = tmp_path / "out"
    cli.main(["run", "sign", str(order), "--out", str(out)])
    pipeline.problems["verification"] = problem(ProblemCode.PROOF_FAILED, "overcut", remedy="Take less.")
    capsys.readouterr()

    code = cli.main(["run", "sign", str(order), "--out", str(out), "--json"])

    told = json.loads(capsys.readouterr().out)
    assert (code, told["code"]) == (3, "proof-failed")
    assert told["reports"]["proof"]["path"] == str(out / "proof.json")
    assert (out / "proof.json").exists()
    assert not list(out.rglob("*.ngc"))
    assert not (out / "bundle.zip").exists()
    assert not (out / "programs.json").exists()


def test_what_the_headline_says_is_not_said_twice(
    pipeline: FakePipeline, order: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first finding is the headline; a remedy that helps both stands once."""
    places = [
        ((14.0, 96.0), "the first hole is too narrow"),
        ((146.0, 96.0), "the second hole is too narrow"),
    ]
    pipeline.problems["layout"] = problem(
        ProblemCode.NOT_CUTTABLE,
        places[0][1],
        remedy="use a drill",
        errors=[FieldError(pointer="/inputs/drill/bit", detail=places[0][1], remedy="use a drill")],
        findings=[
            FindingReport(code="misfit", severity="error", message=message, remedy="use a drill", at=at)
            for at, message in places
        ],
    )

    cli.main(["run", "sign", str(order), "--out", str(tmp_path / "out")])

    told = capsys.readouterr().err
    assert "no program was made: drill/bit: the first hole is too narrow" in told
    assert told.count("the first hole") == told.count("the second hole") == told.count("use a drill") == 1


@pytest.mark.parametrize(
    ("code", "exit_code"),
    [
        (ProblemCode.PROOF_FAILED, Exit.NOT_PROVEN),
        (ProblemCode.NOT_CUTTABLE, Exit.NOT_PROVEN),
        (ProblemCode.SHEET_NOT_FOUND, Exit.REFUSED),
        (ProblemCode.UNREADABLE_IMAGE, Exit.REFUSED),
        (ProblemCode.LIMIT_EXCEEDED, Exit.REFUSED),
        (ProblemCode.INTERNAL_FAULT, Exit.FAULT),
        (ProblemCode.DEVIATION_NOT_MET, Exit.FAULT),
    ],
)
def test_the_end_of_a_job_is_told_by_the_exit_code(
    pipeline: FakePipeline, order: Path, tmp_path: Path, code: ProblemCode, exit_code: int
) -> None:
    """The contract: 2 refused, 3 ended without a passing proof, 1 a fault of ours."""
    pipeline.problems["layout"] = problem(code, "so it is", remedy="Do something.")

    assert cli.main(["run", "sign", str(order), "--out", str(tmp_path / "out")]) == exit_code


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["run", "sing", "{order}"], "no process 'sing' is offered"),
        (["run", "sign", "none.yaml"], "cannot be read: no such file"),
        (["run", "sign"], "required: REQUEST"),
        (["carve"], "invalid choice: 'carve'"),
        ([], "required: COMMAND"),
        (["jobs", "--status", "lost"], "invalid choice: 'lost'"),
    ],
)
def test_wrong_commands_are_refused(
    pipeline: FakePipeline,
    order: Path,
    capsys: pytest.CaptureFixture[str],
    arguments: list[str],
    says: str,
) -> None:
    """Exit 2 and a sentence; with --json the sentence is a problem document."""
    given = [argument.format(order=order) for argument in arguments]

    assert cli.main(given) == 2
    assert says in capsys.readouterr().err
    assert cli.main([*given, "--json"]) == 2
    out, err = capsys.readouterr()
    assert says in json.loads(out)["detail"]
    assert err == ""


@pytest.mark.parametrize(
    ("arguments", "meant"),
    [
        (["run", "sing", "{order}"], "sign"),
        (["submitt"], "submit"),
        (["jobs", "--status", "runing"], "running"),
    ],
)
def test_a_wrong_word_is_answered_with_the_one_that_was_meant(
    pipeline: FakePipeline,
    order: Path,
    capsys: pytest.CaptureFixture[str],
    arguments: list[str],
    meant: str,
) -> None:
    """Of commands, of processes and of choices."""
    assert cli.main([argument.format(order=order) for argument in arguments]) == 2
    assert f"Did you mean '{meant}'?" in capsys.readouterr().err


def test_the_version_is_that_of_the_package(capsys: pytest.CaptureFixture[str]) -> None:
    """As pyproject.toml has it."""
    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text("utf-8"))["project"]

    with pytest.raises(SystemExit) as ended:
        cli.main(["--version"])

    assert ended.value.code == 0
    assert capsys.readouterr().out == f"triglyph {project['version']}\n"


def test_faults_of_a_request_are_told_one_by_one(
    pipeline: FakePipeline, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each with its place and its remedy; nothing runs."""
    order = tmp_path / "order.yaml"
    order.write_text("board: {widht: 3}\nlettering: [{text: NO, cap_height: 30, x: 1, y: 1}]\n")

    assert cli.main(["run", "sign", str(order)]) == 2

    err = capsys.readouterr().err
    assert "board/widht: there is no field 'widht' here" in err
    assert "Did you mean 'width'?" in err
    assert "lettering/0/text: false is no text" in err  # NO is a yes-or-no in YAML 1.1
    assert pipeline.ran == []


def test_unknown_names_are_refused_before_anything_runs(
    pipeline: FakePipeline, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Not after minutes of work on the earlier steps."""
    order = tmp_path / "order.json"
    order.write_text(json.dumps(sign_inputs() | {"dialect": "metric-line"}))

    assert cli.main(["run", "sign", str(order)]) == 2

    assert "Did you mean metric-lines?" in capsys.readouterr().err
    assert pipeline.ran == []


def test_an_upload_cannot_be_run_here(
    pipeline: FakePipeline, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """There is no service whose file it could be."""
    order = tmp_path / "order.json"
    href = "/artifacts/sha256:" + "0" * 64
    order.write_text(json.dumps(sign_inputs() | {"art": [{"svg": {"href": href}}]}))

    assert cli.main(["run", "sign", str(order)]) == 2
    assert "art/0/svg/href: this file lies at a service" in capsys.readouterr().err


def test_a_fault_of_ours_is_a_sentence(
    monkeypatch: pytest.MonkeyPatch, order: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 1; no traceback."""
    monkeypatch.setattr(cli, "_capabilities", lambda: 1 / 0)

    assert cli.main(["run", "sign", str(order)]) == 1

    err = capsys.readouterr().err
    assert "ZeroDivisionError" in err
    assert "Traceback" not in err


def test_listings_are_tables_or_json(pipeline: FakePipeline, capsys: pytest.CaptureFixture[str]) -> None:
    """A name at the start of each line; all of it with --json."""
    assert cli.main(["bits"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == [
        row["name"] for row in CAPABILITIES["bits"]
    ]
    assert cli.main(["bits", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"bits": CAPABILITIES["bits"]}
    assert cli.main(["processes"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == list(OFFERED)


def test_submit_follows_and_fetches(
    pipeline: FakePipeline, order: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Through a service, to the files: as with run."""
    desk = FrontDesk(tmp_path)
    accept = desk.jobs.submit

    def accept_and_end(request: Any) -> Any:
        accepted = accept(request)
        digest = desk.files.put([b"{}"], owner="local", media_type="application/json").digest
        desk.jobs.finish(request.id, {"proof": digest})
        return accepted

    desk.jobs.submit = accept_and_end  # type: ignore[method-assign]
    with served(desk.app) as address:
        out = tmp_path / "out"
        code = cli.main(
            ["submit", "sign", str(order), "--to", address, "--follow", "--out", str(out), "--json"]
        )

    summary = json.loads(capsys.readouterr().out)
    assert (code, list(summary["files"])) == (0, ["proof"])
    assert (out / "proof.json").read_bytes() == b"{}"


def test_jobs_results_and_dismiss_speak_to_a_service(
    order: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A job is sent, listed, asked for its results too early, dismissed."""
    with served(FrontDesk(tmp_path).app) as address:
        assert cli.main(["submit", "sign", str(order), "--to", address]) == 0
        job = capsys.readouterr().out.split()[0]
        assert cli.main(["jobs", "--to", address]) == 0
        assert capsys.readouterr().out.split()[:3] == [job, "sign", "accepted"]
        assert cli.main(["results", job, "--to", address]) == 2
        assert "0 % done" in capsys.readouterr().err
        assert cli.main(["dismiss", job, "--to", address]) == 0
        assert cli.main(["dismiss", job, "--to", address]) == 3


def test_a_key_is_made(capsys: pytest.CaptureFixture[str]) -> None:
    """The secret for its holder, the entry for the operator."""
    assert cli.main(["key", "kiosk", "--right", "class:bulk"]) == 0

    made = json.loads(capsys.readouterr().out)
    assert made["key"].startswith("kiosk.")
    assert "class:bulk" in made["entry"]["rights"]


def test_the_command_starts_light() -> None:
    """`triglyph --help` loads neither computing nor queue: it answers at once."""
    heavy = {"numpy", "cv2", "shapely", "celery", "redis", "numba"}
    code = (
        "import sys, api.arguments, api.cli; api.arguments.command_parser().format_help(); "
        f"print(sorted({heavy} & set(sys.modules)))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert out.stdout.strip() == "[]"
