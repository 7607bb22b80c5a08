"""The results document of a job: one link for each output."""

from schemas.job_records import JobRecord
from schemas.jobs import ResultLink, Results
from schemas.links import artifact_href
from schemas.steps import Outputs, output_of


def result_links(prefix: str, record: JobRecord, outputs: Outputs) -> Results:
    """Return the results document of a job.

    Args:
        prefix: What stands before paths of this service, for whoever reads it.
        record: The job.
        outputs: Digest by output name.
    """
    process = record.status.processID
    return {
        name: ResultLink(
            href=prefix + artifact_href(digest),
            type=(described := output_of(process, name)).media_type,
            title=described.file,
        )
        for name, digest in outputs.items()
    }
