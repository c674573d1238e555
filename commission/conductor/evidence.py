"""What the conductor writes beside the entries of the table of requests."""

from collections.abc import Iterable

from commission.asking.request import Keep, Request, Watch
from commission.asking.response import Interruption, TimedReading
from commission.asking.written import readings, watch_began
from commission.conductor.keeping import KeptFile
from commission.evidence import measured, runs, talk


def instead(interruption: Interruption, request: Request) -> runs.Interrupted:
    """The entry of what came instead of a response."""
    return runs.Interrupted(
        what=interruption.kind.value,
        detail=interruption.detail,
        request=type(request).__name__,
        key=getattr(request, "key", ""),
    )


def watch_broken_off(request: Watch, read: Iterable[TimedReading]) -> measured.WatchBrokenOff:
    """The entry of a watch in which the run was ended: what had been read stays."""
    return measured.WatchBrokenOff.of(watch_began(request), readings(read))


def file_kept(request: Keep, kept: KeptFile) -> talk.FileKept:
    """The entry of a file that was written."""
    return talk.FileKept(path=str(kept.path), purpose=request.purpose, sha256=kept.sha256, bytes=kept.bytes_written)
