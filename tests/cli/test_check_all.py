"""`commission check --all`: several printers at once, and what befalls one befalls no other."""

import os
import socket
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from commission.cli import main
from commission.cli.check_all import Ended, Wanted, check_all
from commission.cli.exit_codes import (
    FAILED,
    NO_CONSENT,
    NOT_A_PASS,
    NOT_FINISHED,
    PASSED,
    PORT_BUSY,
    PRINTING,
    WRONG_USAGE,
    worst,
)
from commission.evidence.findings.meeting import Consent
from commission.fleet.roster import Listed
from commission.records.book import Book
from commission.records.history import runs
from tests.cli.bench import Folder
from tests.records.books import Workshop
from tests.support.fake_process import running_printer
from tests.support.fake_time import FakeClock

FAKE = (sys.executable, str(Path(__file__).parents[1] / "support" / "fake_check.py"))


def wanted(jobs: int = 4, limit_s: float = 60.0) -> Wanted:
    """Checks by the fake command."""
    return Wanted(jobs, 1.0, limit_s, None, Path(), command=FAKE)


def listed(*whats: str) -> list[Listed]:
    """A printer for each thing that its check shall do."""
    return [Listed(f"bench-{number}", port=f"socket://{what}:1") for number, what in enumerate(whats, start=1)]


async def checked(roster: list[Listed], how: Wanted) -> tuple[list[Ended], list[str]]:
    """What became of each, and the order in which they were told."""
    told: list[str] = []
    return await check_all(roster, how, lambda one: told.append(one.tag)), told


async def test_each_printer_has_its_own_exit_code() -> None:
    """A busy port, a printer that prints, a dead network, no consent and no port are findings of their own."""
    codes = (PASSED, PORT_BUSY, PRINTING, NOT_FINISHED, NO_CONSENT)
    ended, told = await checked([*listed(*(f"code-{code}" for code in codes)), Listed("bench-9")], wanted())

    assert [*codes, WRONG_USAGE] == [one.code for one in ended]
    assert 6 == len(told)
    assert WRONG_USAGE == worst(one.code for one in ended)
    assert "bench-2: exit code 5, another program has the port (" in ended[1].sentence
    assert ended[1].sentence.endswith(r"something on bench-2\x1b[2J")


async def test_one_that_is_stuck_delays_no_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is told to end when its time is over, and can put things in order; the others are done by then."""
    monkeypatch.chdir(tmp_path)
    ended, told = await checked(listed("stuck", "code-0", "code-0"), wanted(jobs=2, limit_s=3.0))

    assert [NOT_FINISHED, PASSED, PASSED] == [one.code for one in ended]
    assert "bench-1" == told[-1]
    assert "It was not done after 3 s and was ended." == ended[0].why
    assert (tmp_path / "told-to-end").exists()


async def test_so_many_run_at_once_as_were_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three that wait for each other come to their end with three jobs, and would not with two."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "together").write_text("3")
    ended, _ = await checked(listed("meet", "meet", "meet"), wanted(jobs=3))

    assert [PASSED] * 3 == [one.code for one in ended]


@pytest.mark.skipif(os.name == "nt", reason="the simulated printers are on pseudo-terminals")
def test_a_workshop_is_checked_in_one_command(tmp_path: Path) -> None:
    """One simulated printer is checked and stands in the book; without consent, and on a dead network, nothing is."""
    workshop = Workshop(tmp_path)
    for tag in ("bench-3", "bench-4", "bench-5"):
        number = f"{tag}/2031-03-14/1"
        workshop.whole_run(number, tag=tag)
        workshop.find(number, Consent, granted=tag != "bench-4", by="R. Okafor")
    workshop.book.close()
    simulated = running_printer("sound", "--tcp", "0", "--unpaced", "--speed-factor", "20")
    with socket.socket() as nobody, simulated as printer:
        nobody.bind(("127.0.0.1", 0))  # a port that is taken, and at which nobody listens
        dead = f"socket://127.0.0.1:{nobody.getsockname()[1]}"
        ports = {"bench-3": printer.link, "bench-4": "socket://127.0.0.1:9", "bench-5": dead}
        blocks = [f'[[printer]]\ntag = "{tag}"\nport = "{port}"\n' for tag, port in ports.items()]
        (tmp_path / "roster.toml").write_text("format = 1\n" + "\n".join(blocks))
        said = Folder(tmp_path).call("check", "--all", "--jobs", "3", "--steady", "1", "--roster", "roster.toml")

    with Book(tmp_path / "book.sqlite3", FakeClock(), reads_only=True) as book:
        done = [run.purpose for run in runs(book, "bench-3")]
        assert [] == book.verify()
    told = {line.split(":")[0]: int(line.split()[3].strip(",")) for line in said.output.splitlines()[:3]}
    assert ["install", "condition check"] == done, said
    assert told["bench-3"] in (PASSED, FAILED, NOT_A_PASS), said
    assert (NO_CONSENT, NOT_FINISHED) == (told["bench-4"], told["bench-5"]), said
    assert said.output.splitlines()[5].startswith("printer  "), "the overview comes last"
    assert worst(told.values()) == said.code


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--all", "bench-3"), "leave out TAG and --port"),
        (("--all", "--port", "/dev/ttyEX0"), "leave out TAG and --port"),
        (("--all", "--full"), "leave out --full"),
        (("--all",), "No roster is named"),
        (("bench-3",), "Give the printer's TAG and its --port; or --all with a roster."),
        ((), "Give the printer's TAG and its --port; or --all with a roster."),
    ],
)
def test_what_does_not_go_together_is_wrong_usage(words: tuple[str, ...], said: str) -> None:
    """Nothing is begun, and what to do is said."""
    done = CliRunner().invoke(main, ["check", *words], env={"COMMISSION_ROSTER": ""})

    assert WRONG_USAGE == done.exit_code
    assert said in " ".join(done.output.split())
