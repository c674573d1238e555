"""The metrics file, read by an implementation that is not ours."""

from datetime import UTC, date, datetime
from pathlib import Path

from click.testing import CliRunner
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from commission.cli import main
from commission.files.kinds import METRICS
from commission.fleet.metrics import as_openmetrics
from commission.fleet.overview import Done, Printer
from commission.records.due import Due, Standing
from commission.vocabulary import Verdict
from scripts.made_up_books import Workshop, write_book

AT = datetime(2031, 4, 20, 9, 0, tzinfo=UTC)
DAY = date(2031, 4, 13)
DUE = Due("bench-3", Standing.OVERDUE, "brief check", DAY, "since 7 days", DAY, DAY, None)
KNOWN = Printer(
    "bench-3",
    'the "attic"\\',
    DUE,
    "ExampleFW 1",
    "fail-danger",
    full=Done(DAY, Verdict.FAIL),
    verdict=Verdict.FAIL,
    unsafe=("one", "two"),
    nuisances=3,
    runout_off=True,
    backup_on=DAY,
    changed=("rewired 2031-04-14",),
)
STRANGE = Printer("<b>\n\x1b")


def samples(text: str) -> dict[tuple[str, str, str], float]:
    """Each sample by its name, its printer and what else tells it from others."""
    found = {}
    for family in text_string_to_metric_families(text):
        for sample in family.samples:
            more = [value for name, value in sample.labels.items() if name in ("check", sample.name)]
            found[sample.name, sample.labels.get("printer", ""), "".join(more)] = sample.value
    return found


def test_a_strict_reader_understands_the_file() -> None:
    """Names, types, units and the end are as OpenMetrics 1.0 has them (read by prometheus_client's strict parser)."""
    found = samples(as_openmetrics([KNOWN, STRANGE], AT).decode())

    assert AT.timestamp() == found["commission_overview_timestamp_seconds", "", ""]
    assert (1, 0) == (
        found["commission_standing", "bench-3", "overdue"],
        found["commission_standing", "bench-3", "in date"],
    )
    assert 1 == found["commission_wiring", "bench-3", "fail-danger"]
    begin = datetime(2031, 4, 13, tzinfo=UTC).timestamp()
    assert begin == found["commission_next_check_timestamp_seconds", "bench-3", ""]
    assert found["commission_last_check_timestamp_seconds", "bench-3", "full"]
    assert 1 == found["commission_noted_changes", "bench-3", ""]
    assert (2, 3, 0) == (
        found["commission_open_unsafe_items", "bench-3", ""],
        found["commission_noted_nuisance_trips", "bench-3", ""],
        found["commission_runout_detection_enabled", "bench-3", ""],
    )


def test_what_is_not_known_has_no_sample() -> None:
    """A printer of which nothing is on record has neither a date nor a nought where nobody looked."""
    found = samples(as_openmetrics([STRANGE], AT).decode())

    assert {"commission_overview_timestamp_seconds", "commission_printer_info"} < {name for name, _, _ in found}
    assert not any("check_timestamp" in name or "runout" in name or "backup" in name for name, _, _ in found)


def test_labels_come_back_as_they_were() -> None:
    """Quotes and backslashes are escaped; what does not print is made visible."""
    families = text_string_to_metric_families(as_openmetrics([KNOWN, STRANGE], AT).decode())
    info = next(family for family in families if family.name == "commission_printer")

    assert 'the "attic"\\' == info.samples[0].labels["place"]
    assert r"<b>\n\x1b" == info.samples[1].labels["printer"]


def test_a_whole_workshop_is_written_and_replaced(tmp_path: Path) -> None:
    """The command writes its file over its own, and over no other."""
    write_book(tmp_path / "book.sqlite3", Workshop(printers=5, checks=4))
    book = ["--book", str(tmp_path / "book.sqlite3"), "--roster", str(tmp_path / "roster.toml")]
    (tmp_path / "roster.toml").write_text("format = 1\n")
    (tmp_path / "mine.txt").write_text("mine")
    codes = [
        CliRunner().invoke(main, ["metrics", "--out", str(tmp_path / name), *book]).exit_code
        for name in ("metrics.txt", "metrics.txt", "mine.txt")
    ]
    data = (tmp_path / "metrics.txt").read_bytes()

    assert [0, 0, 2] == codes
    assert METRICS.is_ours(data)
    assert 5 == sum(name == "commission_printer_info" for name, _, _ in samples(data.decode()))


def test_an_empty_overview_is_a_whole_file() -> None:
    """It says when it was drawn, and ends as it must."""
    assert [("commission_overview_timestamp_seconds", "", "")] == list(samples(as_openmetrics([], AT).decode()))
