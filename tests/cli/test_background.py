"""What a run that is taken up again begins with, as the book tells it."""

from datetime import date
from pathlib import Path

import pytest

from commission.cli.background import background_of
from commission.evidence.findings import meeting
from commission.link.identity import PortIdentity
from commission.procedure.identity import PrinterMarks
from commission.records.continuation import broken_off
from tests.records.books import Workshop
from tests.support.on_record import marks_on_record

RUN = "bench-3/2031-03-14/1"
PORT = "socket://127.0.0.1:7000"
OLD = PrinterMarks(PortIdentity("", "", "", PORT), firmware="ExampleFW 2")


@pytest.mark.parametrize(("ended", "firmware"), [(True, "ExampleFW 3"), (False, "ExampleFW 2")])
def test_a_firmware_that_the_run_put_on_itself_is_no_change_since(
    tmp_path: Path, firmware: str, *, ended: bool
) -> None:
    """After a whole reflash the new firmware is compared with; one broken off in it is compared with the old one."""
    workshop = Workshop(tmp_path)
    workshop.begin(RUN)
    workshop.find(RUN, meeting.PrinterMarks.name(), **marks_on_record(OLD).values)
    workshop.phase(RUN, "as_found")
    workshop.phase(RUN, "reflash", ended=ended, opened=True)
    workshop.find(RUN, meeting.IdentityAfterReflash.name(), firmware_name="ExampleFW 3")
    broken = broken_off(workshop.book, "bench-3", "install")
    continuation = background_of(workshop.book, "bench-3", PORT, date(2031, 3, 15), broken=broken).continuation

    assert continuation is not None
    assert continuation.marks is not None
    assert firmware == continuation.marks.firmware
