"""Whatever the settings were, safe ones come back; whatever a saved report says, nothing dangerous comes out of it."""

import math
import re
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.settings.comparison import compare
from commission.settings.difference import Difference
from commission.settings.meaning import CommandMeaning, LetterMeaning, RestoreClass
from commission.settings.plain_file import plain_file
from commission.settings.plan_items import Decision, RestorePlan
from commission.settings.restore_plan import plan_restore, restorable_lines
from commission.settings.table_reader import standard_table
from tests.settings.memory import FakeMemory
from tests.settings.reports import GENERATIONS, MESH, NEWER, OLDER, snapshot
from tests.settings.test_table import ALLOWED
from tests.support.settings_lines import settings_of
from tests.support.sweeps import as_many

TABLE = standard_table()
SAFE = [meaning for meaning in TABLE.commands.values() if meaning.restore is RestoreClass.SAFE]
SENT_FORM = re.compile(r"[GM]\d{1,3}( W)?( [A-Z]-?\d+(\.\d{1,6})?)+")


def grid(bound: float, decimals: int, rounding: str) -> Decimal:
    """The bound, moved onto the grid of printable numbers."""
    return Decimal(str(bound)).quantize(Decimal(1).scaleb(-decimals), rounding=rounding)


@st.composite
def printed_number(draw: st.DrawFn, letter: LetterMeaning) -> str:
    """A plausible value as a printer could print it, with enough decimals to be one."""
    assert letter.plausible is not None
    decimals = 0 if letter.whole else draw(st.integers(3, 5))
    low = grid(letter.plausible.low, decimals, ROUND_CEILING)
    high = grid(letter.plausible.high, decimals, ROUND_FLOOR)
    return f"{draw(st.decimals(low, high, places=decimals)):.{decimals}f}"


@st.composite
def safe_line(draw: st.DrawFn, meaning: CommandMeaning) -> str:
    """One line of a safe command, with a value for every letter."""
    words = [f"{letter}{draw(printed_number(known))}" for letter, known in meaning.letters.items()]
    selector = " S0" if meaning.selectors == ("S",) else ""
    return f"  {meaning.command}{selector} {' '.join(words)}"


@st.composite
def safe_report(draw: st.DrawFn) -> str:
    """A report of every safe command."""
    return "\n".join(draw(safe_line(meaning)) for meaning in SAFE)


@pytest.mark.swept
@given(as_found=safe_report(), defaults=safe_report())
@settings(deadline=None, max_examples=as_many(20, 60))
def test_safe_values_come_back(as_found: str, defaults: str) -> None:
    """After a reflash to any defaults, the plan carried out brings every safe value back as it was printed."""
    memory = FakeMemory(defaults)
    plan = plan_restore(snapshot(as_found), snapshot(memory.report()))
    for item in plan.of(Decision.SEND):
        memory.take(str(item.line))

    comparison = compare(snapshot(as_found), snapshot(memory.report()))

    differing = compare(snapshot(as_found), snapshot(defaults)).of(Difference.CHANGED)
    assert bool(differing) is bool(plan.of(Decision.SEND))
    assert [] == [item for item in comparison.items if item.difference is not Difference.SAME]
    assert () == plan.of(Decision.ASK)


@pytest.mark.swept
@given(as_found=safe_report(), defaults=safe_report())
@settings(deadline=None, max_examples=as_many(8, 20))
def test_a_second_plan_has_nothing_to_do(as_found: str, defaults: str) -> None:
    """Once the plan is carried out, planning again finds everything as it was."""
    memory = FakeMemory(defaults)
    for item in plan_restore(snapshot(as_found), snapshot(memory.report())).of(Decision.SEND):
        memory.take(str(item.line))

    assert {Decision.ALREADY} == {
        item.decision for item in plan_restore(snapshot(as_found), snapshot(memory.report())).items
    }


DANGEROUS = (
    *(
        "G28",
        "G28 X Y",
        "G29",
        "G29 P1",
        "G29 W",
        "G30 X10 Y10",
        "G33",
        "G1 X200 F9000",
        "T1",
        "M600",
        "M303 E0 S200 C8",
    ),
    *("M104 S260", "M109 S260", "M140 S110", "M306 T", "M502", "M500", "M501", "M504", "M997", "M999", "M112", "M30 x"),
    *("M206 T3 P145 X80.0", "M206 T2 P75 S4", "M350 X16", "M302 P1", "M211 S0", "M412 S0 H1 D900", "M420 S1 V1 L0"),
    *(
        "M92 X80.00 M112",
        "M92 X80.00\rM112",
        "M92 X1e9",
        "M92 X--5",
        "M301 P9999999 I1 D1",
        "M851 Z-25.00",
        "M851 Z-0.5 G28",
    ),
    *(
        "M421 I0 J0 Z-4.9",
        "M421 I999 J0 Z0.1",
        "M900 K5000",
        "M906 X9000",
        "M92 T300 E80.00",
        "M92 ;M112",
        "M569 S1 X G28",
    ),
    *("M145 S0 H9999 B60", "M145 S-1 H200 B60", "G29 W I-1 J0 Z0.1", "G29 S3 X1 Y1 Z0.1"),
)


@st.composite
def random_command(draw: st.DrawFn) -> str:
    """Any command with any words."""
    number = st.one_of(
        st.integers(-300, 100000).map(str),
        st.decimals(-10, 10000, places=2).map(str),
        st.sampled_from(["nan", "inf", "", "1e5", "99999999999999999999", "-", "0x1F"]),
    )
    words = st.builds(lambda letter, digits: f"{letter}{digits}", st.sampled_from("ABCDEFGHIJKLMNPQRSTUVWXYZ"), number)
    command = draw(
        st.one_of(st.sampled_from(sorted(TABLE.commands)), st.from_regex(r"[A-Z][0-9]{1,4}", fullmatch=True))
    )
    return " ".join([command, *draw(st.lists(words, max_size=6))])


@st.composite
def hostile_report(draw: st.DrawFn) -> str:
    """A sound report with lines added, replaced, cut and damaged by somebody who means ill."""
    lines = draw(st.sampled_from(sorted(GENERATIONS.values()))).splitlines()
    for _ in range(draw(st.integers(1, 8))):
        place = draw(st.integers(0, len(lines) - 1))
        new = draw(st.one_of(st.sampled_from(DANGEROUS), random_command(), st.text(max_size=40)))
        edit = draw(st.sampled_from(["insert", "replace", "append", "cut", "digits"]))
        prefix = draw(st.sampled_from(["echo:  ", "  ", "", "echo: "]))
        if edit == "insert":
            lines.insert(place, prefix + new)
        elif edit == "replace":
            lines[place] = prefix + new
        elif edit == "append":
            lines[place] = f"{lines[place]} {new}"
        elif edit == "cut":
            lines[place] = lines[place][: draw(st.integers(0, len(lines[place])))]
        else:
            lines[place] = re.sub(r"\d", lambda _: draw(st.sampled_from("0123456789.-")), lines[place])
    return "\n".join(lines)


def assert_harmless(sent: str) -> None:
    """A line that goes to the printer is of an allowed command, known letters and bounded finite numbers."""
    assert SENT_FORM.fullmatch(sent), sent
    assert sent.isascii()
    assert len(sent) <= 90
    (line,) = settings_of([f"  {sent}"])
    assert line.command in ALLOWED
    assert () == line.unread_words
    assert (line.command == "G29") is (line.flags == ("W",))
    known = TABLE.commands[line.command]
    for letter, value in line.values.items():
        hard = known.letters[letter].hard
        assert hard is not None
        assert math.isfinite(value)
        # Rounding to six places may touch the last digit.
        assert hard.holds(value, slack=1e-6), sent
    assert set(line.selectors) <= set(known.selectors)
    assert all(isinstance(value, int) and 0 <= value <= 255 for value in line.selectors.values())


def assert_plan_harmless(plan: RestorePlan) -> None:
    """Nothing but harmless lines come out of a plan, and refused items have none."""
    for item in plan.items:
        if item.line is not None:
            assert_harmless(item.line.text)


@pytest.mark.swept
@given(as_found=hostile_report(), current=st.sampled_from([OLDER, NEWER, MESH]))
@settings(deadline=None, max_examples=as_many(33, 100))
def test_no_dangerous_line_comes_out_of_an_edited_report(as_found: str, current: str) -> None:
    """However the as-found report was edited, the plan against a sound firmware holds harmless lines only."""
    assert_plan_harmless(plan_restore(snapshot(as_found), snapshot(current)))


@pytest.mark.swept
@given(as_found=hostile_report(), current=hostile_report())
@settings(deadline=None, max_examples=as_many(33, 100))
def test_not_even_when_both_reports_are_edited(as_found: str, current: str) -> None:
    """The plan holds harmless lines only even when both reports lie."""
    assert_plan_harmless(plan_restore(snapshot(as_found), snapshot(current)))


@pytest.mark.swept
@given(as_found=hostile_report())
@settings(deadline=None, max_examples=as_many(33, 100))
def test_the_plain_file_is_harmless(as_found: str) -> None:
    """Every line of the plain file is empty, a comment in plain ASCII, or harmless, also behind a semicolon."""
    text = plain_file(restorable_lines(snapshot(as_found)), ["bench-3"])

    assert text.isascii()
    for line in text.splitlines():
        if line and not line.startswith("; "):
            assert_harmless(line.removeprefix(";"))


@pytest.mark.swept
@given(before=hostile_report(), after=hostile_report())
@settings(deadline=None, max_examples=as_many(20, 60))
def test_hostile_reports_are_compared_without_loss(before: str, after: str) -> None:
    """Comparing never raises, and every settings line of either report is in some item."""
    earlier, later = snapshot(before), snapshot(after)
    comparison = compare(earlier, later)

    shown = {item.command for item in comparison.items}
    missing = {line.command for line in (*earlier.lines, *later.lines)} - shown - {"G20", "G21", "M149"}
    assert set() == missing


def test_the_strategies_reach_the_planner() -> None:
    """The dangerous lines are read as settings lines, so the properties above are about the planner, not the reader."""
    read = {line.command for danger in DANGEROUS for line in settings_of(["echo:  G21", f"echo:  {danger}"])}

    assert {"G28", "G30", "M104", "M502", "M997", "M112", "M206", "M303"} <= read
