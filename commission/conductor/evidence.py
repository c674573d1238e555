"""What the conductor writes beside the entries of the table of requests."""

from commission.asking.request import Keep, Request
from commission.asking.response import Interruption
from commission.conductor.keeping import KeptFile
from commission.evidence import runs, talk


def instead(interruption: Interruption, request: Request) -> runs.Interrupted:
    """The entry of what came instead of a response."""
    return runs.Interrupted(
        what=interruption.kind.value,
        detail=interruption.detail,
        request=type(request).__name__,
        key=getattr(request, "key", ""),
    )


def file_kept(request: Keep, kept: KeptFile) -> talk.FileKept:
    """The entry of a file that was written."""
    return talk.FileKept(path=str(kept.path), purpose=request.purpose, sha256=kept.sha256, bytes=kept.bytes_written)
