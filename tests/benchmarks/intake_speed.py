"""A 12 megapixel JPEG to art.svg in one process: ``python -m tests.benchmarks.intake_speed``.

The photo is one of the test drawings, enlarged to 4000 x 3000 pixels, given a sensor's noise (without which
a JPEG unpacks faster than any photo does) and saved as JPEG again, quality 90. In rounds, each once a round:

* the JPEG's decoding alone (OpenCV), the yardstick for intake;
* our decoding and rectifying (sheet size told), and our tracing of its coverage to art.svg;
* the plain OpenCV route of the baseline on the same raster: Otsu's threshold, contours, polygons to 0.08 mm.

Given are the least of the rounds' CPU times of the whole process, and ratios of these. The plain tracing is
timed on our coverage, so at equal size. Peak memory is that of a process of its own that does nothing but the
job: its whole resident set, libraries and compiled kernels with it. It is read from Linux's VmHWM where that
is at hand, since getrusage in a child also counts the parent that it was forked from.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import cv2
import numpy as np

from tests.support.markdown_tables import command_line, deliver, table
from workers.intake.photo import decode_photo
from workers.rectification.rectify import rectify
from workers.tracing.art_file import write_art
from workers.tracing.edge_tracer import EDGE_TRACER
from workers.values.image import ColourImage, InkCoverage
from workers.values.outlines import Outlines
from workers.values.progress import silent
from workers.values.sheet import SheetSize

DRAWINGS = Path(__file__).parents[1] / "support" / "drawings"
SIDES_PX = (4000, 3000)
SHEET = SheetSize(width_mm=297.0, height_mm=210.0)
TOLERANCE_MM = 0.02
PLAIN_TOLERANCE_MM, PLAIN_LEAST_MM2 = 0.08, 0.2
NOISE = 8.0  # of 255; with it the file has the 3 MB of a phone
MOST_INTAKE, MOST_TRACING, MOST_MB = 3.0, 1.0, 600.0


def photo_12mp(name: str) -> bytes:
    """Return a test photo as a JPEG of 12 megapixels."""
    picture = cv2.imread(str(DRAWINGS / f"{name}.s1.jpg"))
    if picture is None:
        raise FileNotFoundError(name)
    sides = SIDES_PX if picture.shape[1] >= picture.shape[0] else SIDES_PX[::-1]
    large = cv2.resize(picture, sides, interpolation=cv2.INTER_CUBIC).astype(np.float32)
    large += NOISE * np.random.default_rng(12).standard_normal(large.shape, np.float32)
    noisy = np.clip(large + 0.5, 0, 255).astype(np.uint8)
    _, data = cv2.imencode(".jpg", noisy, [cv2.IMWRITE_JPEG_QUALITY, 90])
    return data.tobytes()


def bare_decoding(data: bytes) -> object:
    """Unpack the JPEG and nothing else."""
    return cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)


def intake(data: bytes) -> InkCoverage:
    """Return the ink in a photo's file."""
    return rectified(decode_photo(data, "/photo"))


def rectified(photo: ColourImage) -> InkCoverage:
    """Return the ink in an unpacked photo."""
    return rectify([photo], SHEET, silent).coverage


def traced(coverage: InkCoverage) -> Outlines:
    """Return the outlines by our tracer."""
    return EDGE_TRACER.trace(coverage, TOLERANCE_MM, silent).outlines


def plainly_traced(coverage: InkCoverage) -> list[object]:
    """Return polygons as the baseline makes them: threshold, contours, fewer points, no specks."""
    _, ink = cv2.threshold(coverage.pixels, 0, 255, cv2.THRESH_BINARY_INV | cv2.THRESH_OTSU)
    contours, _ = cv2.findContours(ink, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    tolerance_px, least_px2 = PLAIN_TOLERANCE_MM / coverage.mm_per_px, PLAIN_LEAST_MM2 / coverage.mm_per_px**2
    return [
        cv2.approxPolyDP(contour, tolerance_px, True)
        for contour in contours
        if cv2.contourArea(contour) >= least_px2
    ]


def cpu_s(work: Callable[[], object]) -> float:
    """Return the CPU time of one run, all threads together."""
    before_s = time.process_time()
    work()
    return time.process_time() - before_s


def least_times_s(name: str, rounds: int) -> dict[str, float]:
    """Return the least CPU time of each piece of work."""
    data = photo_12mp(name)
    photo = decode_photo(data, "/photo")
    coverage = rectified(photo)
    outlines = traced(coverage)  # all kernels are compiled by now
    work: dict[str, Callable[[], object]] = {
        "the JPEG's decoding alone": lambda: bare_decoding(data),
        "intake: decoding": lambda: decode_photo(data, "/photo"),
        "intake: rectifying": lambda: rectified(photo),
        "intake, whole": lambda: intake(data),
        "tracing": lambda: traced(coverage),
        "writing art.svg": lambda: write_art(outlines),
        "plain OpenCV tracing": lambda: plainly_traced(coverage),
    }
    times: dict[str, list[float]] = {title: [] for title in work}
    for _ in range(rounds):
        for title, one in work.items():
            times[title].append(cpu_s(one))
    return {title: min(each) for title, each in times.items()}


def peak_mb(name: str) -> tuple[float, float]:
    """Return the peak resident memory of a process that does the job, and of one that only imports."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "photo.jpg"
        path.write_bytes(photo_12mp(name))
        found = []
        for argument in (str(path), ""):
            command = [sys.executable, "-m", "tests.benchmarks.intake_speed", "--job", argument]
            done = subprocess.run(command, capture_output=True, text=True, check=True)
            found.append(float(done.stdout))
    return found[0], found[1]


def job(path: str) -> None:
    """Do the job once and print this process's peak memory in MB."""
    if path:
        write_art(traced(intake(Path(path).read_bytes())))
    status = Path("/proc/self/status")
    if status.exists():
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        kilobytes = int(line.split()[1])
    else:
        kilobytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    sys.stdout.write(f"{kilobytes / 1024:.1f}\n")


def report(name: str, rounds: int) -> str:
    """Return one drawing's tables."""
    times_s = least_times_s(name, rounds)
    whole_mb, bare_mb = peak_mb(name)
    decoding_s, plain_s = times_s["the JPEG's decoding alone"], times_s["plain OpenCV tracing"]
    times = table(("work", "CPU ms"), [(title, f"{1000 * value:.1f}") for title, value in times_s.items()])
    with_art_s = times_s["tracing"] + times_s["writing art.svg"]
    figures = [
        ("intake to the JPEG's decoding", f"{times_s['intake, whole'] / decoding_s:.2f}", MOST_INTAKE),
        ("tracing to plain OpenCV tracing", f"{times_s['tracing'] / plain_s:.2f}", MOST_TRACING),
        ("tracing with art.svg written to plain OpenCV tracing", f"{with_art_s / plain_s:.2f}", None),
        ("peak memory of the whole job, MB", f"{whole_mb:.0f}", MOST_MB),
        ("peak memory of the imports alone, MB", f"{bare_mb:.0f}", None),
    ]
    size_mb = len(photo_12mp(name)) / 1e6
    return f"## {name}, {size_mb:.1f} MB\n\n{times}\n{table(('figure', 'measured', 'at most'), figures)}\n"


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser = command_line(str(__doc__).splitlines()[0])
    parser.add_argument("--rounds", type=int, default=7, help="how often each piece is timed (7)")
    parser.add_argument("--drawings", nargs="+", default=["teacup", "anchor", "rope_locker"], metavar="NAME")
    parser.add_argument("--job", metavar="PHOTO", help="do the job on this file and print the peak memory")
    asked = parser.parse_args(arguments)
    if asked.job is not None:
        job(asked.job)
        return
    body = "\n".join(report(name, asked.rounds) for name in asked.drawings)
    deliver("From a 12 megapixel JPEG to art.svg", body, asked.out)


if __name__ == "__main__":
    main()
