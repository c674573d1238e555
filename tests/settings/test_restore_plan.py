"""What may be put back: the whole plan, line by line, with the reason for everything that is not."""

from decimal import Decimal

import pytest

from commission.settings.plan_items import Decision, LetterChange, PlanItem, RestorePlan
from commission.settings.printed import Printed
from commission.settings.restore_line import NotSendable, RestoreLine
from commission.settings.restore_plan import plan_restore, restorable_lines
from commission.settings.table_reader import standard_table
from commission.settings.unit_mode import UnitMode
from tests.settings.reports import MESH, NEWER, OLDER, OLDEST, TWO_HOTENDS, report, snapshot

SEND, ASK, REFUSE, ALREADY = Decision.SEND, Decision.ASK, Decision.REFUSE, Decision.ALREADY
TABLE = standard_table()


def lines(plan: RestorePlan, decision: Decision) -> list[str]:
    """The lines of the plan with this decision, as they would be sent."""
    return [str(item.line) for item in plan.of(decision)]


def planned(before: str, now: str) -> RestorePlan:
    """The plan for one line of each report."""
    return plan_restore(report(before), report(now))


def test_a_reflash_to_defaults_of_the_same_form() -> None:
    """Tuned values are sent where safe, asked where not, refused where they are set afresh; the rest is as found."""
    defaults = (
        NEWER.replace("E97.50", "E93.00")
        .replace("P19.40 I1.21 D77.70", "P22.20 I1.08 D114.00")
        .replace("Z-1.85", "Z0.00")
        .replace("S1 D18.00", "S0 D25.00")
        .replace("L60.00 U90.00", "L0.00 U100.00")
    )

    plan = plan_restore(snapshot(NEWER), snapshot(defaults))

    assert ["M92 E97.50", "M603 L60.00 U90.00"] == lines(plan, SEND)
    assert ["M301 P19.40 I1.21 D77.70", "M851 Z-1.85"] == lines(plan, ASK)
    assert ["M412"] == [item.command for item in plan.of(REFUSE)]
    assert (LetterChange("S", "1", "0"), LetterChange("D", "18.00", "25.00")) == plan.of(REFUSE)[0].changes
    assert "set afresh" in plan.of(REFUSE)[0].reason


def test_only_safe_lines_are_ticked() -> None:
    """A safe line is chosen to begin with; one that is asked about is not, and carries its trap."""
    plan = plan_restore(snapshot(NEWER), snapshot(NEWER.replace("E97.50", "E93.00").replace("Z-1.85", "Z0.00")))

    assert (["M92"], ["M851"]) == tuple([item.command for item in plan.of(each)] for each in (SEND, ASK))
    assert "drives the nozzle into the bed" in plan.of(ASK)[0].reason


def test_nothing_to_do() -> None:
    """A firmware that has every value already gets nothing, not even where the older form cannot be written."""
    plan = plan_restore(snapshot(OLDER), snapshot(OLDER))

    assert {ALREADY} == {item.decision for item in plan.items}


def test_every_value_lands_in_the_plan_once() -> None:
    """Each value of the as-found report stands in exactly one item."""
    plan = plan_restore(snapshot(NEWER), snapshot(OLDEST))
    planned = [(item.command, change.letter) for item in plan.items for change in item.changes]

    assert len(set(planned)) == len(planned) - 3  # two presets have the same three letters
    assert {"M92", "M200", "M203", "M201", "M204", "M205", "M206", "M420", "M145", "M301", "M851", "M603", "M412"} == {
        command for command, _ in planned
    }


def test_the_oldest_form_into_a_newer_build() -> None:
    """Old letters are sent as their new ones, only after being asked; the single jerk is sent to both axes."""
    now = OLDER.replace("P900.00 R1200.00 T900.00", "P500.00 R1000.00 T500.00").replace("X9.00 Y9.00", "X8.00 Y8.00")

    plan = plan_restore(snapshot(OLDEST), snapshot(now))

    assert ["M205 X9.00 Y9.00"] == lines(plan, SEND)
    assert ["M204 P900.00 R1200.00"] == lines(plan, ASK)
    assert "Older builds write S for printing moves and T for retracts" in plan.of(ASK)[0].reason


@pytest.mark.parametrize(
    "damaged",
    [
        "M205 X9.00 U9.00 Z0.30 E5.00",  # a letter that this command does not have
        "M205 X9.00 S9.00 Z0.30 E5.00",  # one that it has
        "M205 X9.00 J9.00 Z0.30 E5.00",
        "M205 X9.00 Z0.30 E5.00",  # the word is lost
        "M205 S0.00 T0.00 B20000 X9.00 U9.00 Z0.30 E5.00",
        "M205 S0.00 T0.00 B20000 X9.00 E5.00",
    ],
)
def test_a_damaged_letter_makes_up_no_value(damaged: str) -> None:
    """Where Y is missing from a line that is no older build's whole line, nothing of the line is put back."""
    plan = planned(damaged, "M205 S0.00 T0.00 B20000 X8.00 Y8.00 Z0.30 E5.00")

    assert [] == lines(plan, SEND) + lines(plan, ASK)
    assert any("letter is missing" in item.reason for item in plan.of(REFUSE))


def test_only_what_the_new_firmware_prints() -> None:
    """A value that the firmware at hand does not print is listed with the reason, and never sent."""
    plan = planned("M603 L60.00 U90.00", "M92 X80.00")

    assert [] == lines(plan, SEND) + lines(plan, ASK)
    assert "does not print it" in plan.of(REFUSE)[0].reason


def test_selectors_follow_the_new_firmware() -> None:
    """A line is built with the selectors of the firmware at hand."""
    plan = plan_restore(report("M92 X80.00 E97.50"), report("M92 X80.00", "M92 T0 E93.00"))

    assert ["M92 T0 E97.50"] == lines(plan, SEND)


def test_each_hotend_gets_its_own() -> None:
    """Values of two hotends go back to the hotend they came from."""
    now = TWO_HOTENDS.replace("E410.00", "E93.00").replace("E97.50", "E93.00")

    assert ["M92 T0 E410.00", "M92 T1 E97.50"] == lines(plan_restore(snapshot(TWO_HOTENDS), snapshot(now)), SEND)


@pytest.mark.parametrize(
    ("before", "now", "reason"),
    [
        ("M205 X9.00 Y9.00", "M205 J0.01", "the number never carries over"),
        ("M301 P19.40 I1.21 D77.70", "M306 E0 P40.00 C12.00 R0.22 A0.06 F0.07", "the model is tuned anew"),
        ("M900 K60.00", "M900 K0.04", "the number does not carry over"),
        ("M900 K60.00", "M900 K0.00", "never sent outside 0 to 10 s"),
        ("M914 X-20", "M914 X100", "the number does not carry over"),
        ("M206 T3 P145 X0.50", "M206 X0.00", "writes raw memory"),
        ("M92 Xnan", "M92 X80.00", "no number"),
        ("M92 X0.00", "M92 X80.00", "never sent outside 1 to 10000 steps/mm"),
        ("M92 X4294967295", "M92 X80.00", "never sent outside"),
        ("M92 X99.00 Y8o.00", "M92 X80.00 Y80.00", "words that cannot be read"),
        ("M205 X9.00 Y Z0.30", "M205 X8.00 Y8.00 Z0.40", "words that cannot be read"),
        ("M205 X9.00 Y1.2.3 Z0.30", "M205 X8.00 Y8.00 Z0.40", "words that cannot be read"),
        ("M92 X99.00 Y", "M92 X80.00 Y80.00", "words that cannot be read"),
        ("M906 X580.50", "M906 X600", "where an integer is due"),
        ("M301 P19.40", "M301 P22.20 I1.08 D114.00", "sent whole or not at all, and D, I is not at hand"),
        ("M204 P900.00 R1200.00 T900.00", "M204 S500.00 T500.00", "Older builds write S"),
        ("M200 S0 D1.75", "M200 D2.85", "Older builds print the diameter"),
        ("G29 P1", "G29 W I0 J0 Z0.10", "starts probing"),
        ("M808 L3", "M808 L1", "belongs to a job"),
        ("M502", "M92 X80.00", "meaning is not known"),
        ("C100 A2", "C100 A1", "meaning is not known"),
    ],
)
def test_what_is_not_put_back(before: str, now: str, reason: str) -> None:
    """The value is refused with its reason, and no line exists that could be sent."""
    plan = planned(before, now)

    assert [] == lines(plan, SEND) + lines(plan, ASK)
    assert any(reason in item.reason for item in plan.of(REFUSE))
    assert all(item.line is None for item in plan.items)


def test_a_damaged_value_does_not_take_the_others_along() -> None:
    """Of a line with one damaged value the others are asked about, and the damaged one is refused."""
    plan = planned("M92 Xnan Y90.00", "M92 X80.00 Y80.00")

    assert ["M92 Y90.00"] == lines(plan, ASK)
    assert "Another value of the same line is damaged." in plan.of(ASK)[0].reason


def test_an_implausible_value_is_asked() -> None:
    """A safe value outside the plausible range is asked about, with the finding as the reason."""
    plan = planned("M92 E3000.00", "M92 E93.00")

    assert ["M92 E3000.00"] == lines(plan, ASK)
    assert "sound machines lie at 40 to 1000 steps/mm" in plan.of(ASK)[0].reason


def test_mesh_points_of_the_same_grid_are_asked() -> None:
    """A changed point of the same grid is asked about in the write form, and the mesh is switched on last."""
    now = MESH.replace("Z0.11000", "Z0.00000").replace("S1 Z10.00", "S0 Z10.00")

    assert ["G29 W I1 J0 Z0.11000", "M420 S1"] == lines(plan_restore(snapshot(MESH), snapshot(now)), ASK)


@pytest.mark.parametrize(
    "now",
    [
        MESH.replace("echo:  G29 W I1 J1 Z0.07250\n", ""),
        MESH + "".join(f"echo:  G29 W I2 J{j} Z0.00000\n" for j in (0, 1)),
        MESH.replace("J1", "J2").replace("J0", "J1").replace("I1", "I2").replace("I0", "I1"),
        MESH.replace("G29 W", "M421"),
    ],
    ids=["a point missing", "another grid", "counted from 1", "another form"],
)
def test_mesh_points_of_another_grid_are_refused(now: str) -> None:
    """No point is put back where the firmware at hand has another grid, another count or another form."""
    plan = plan_restore(snapshot(MESH), snapshot(now.replace("Z0.20125", "Z0.00000")))

    assert [] == [line for line in lines(plan, SEND) + lines(plan, ASK) if "Z0.20125" in line]
    assert any(change.as_found == "0.20125" for item in plan.of(REFUSE) for change in item.changes)


def test_another_unit_is_refused() -> None:
    """Lengths read in inches are not sent to a printer that thinks in millimetres; what has no length is."""
    plan = plan_restore(
        report("G20", "M603 L2.00 U3.00", "M145 S0 H205 B60"), report("G21", "M603 L0.00 U90.00", "M145 S0 H200 B60")
    )

    assert ["M145 S0 H205"] == lines(plan, SEND)
    assert "set the printer to the same unit first" in next(i.reason for i in plan.of(REFUSE) if i.command == "M603")


def test_the_same_unit_is_sent_as_it_was_read() -> None:
    """Inches go back to a printer that thinks in inches, with the digits they were read with."""
    plan = plan_restore(report("G20", "M603 L2.00 U3.00"), report("G20", "M603 L0.00 U3.00"))

    assert ["M603 L2.00"] == lines(plan, SEND)


def test_unclear_units_stop_everything() -> None:
    """A report that contradicts itself in its units gives nothing to send."""
    plan = plan_restore(report("G20", "G21", "M92 X80.00"), report("G21", "M92 X90.00"))

    assert [] == lines(plan, SEND) + lines(plan, ASK)
    assert "millimetres and inches" in next(item.reason for item in plan.of(REFUSE) if item.command == "M92")


def test_hidden_digits_are_left_alone() -> None:
    """A value that agrees as far as printed is as found; it is not overwritten with fewer digits."""
    assert [ALREADY] == [item.decision for item in planned("M205 J0.01", "M205 J0.013").items]


def test_lines_for_the_same_firmware() -> None:
    """Without a second report every value that may be put back is given, changed or not."""
    plan = restorable_lines(snapshot(NEWER))

    assert "M92 X80.00 Y80.00 Z400.00 E97.50" in lines(plan, SEND)
    assert "M851 X-32.00 Y-8.00 Z-1.85" in lines(plan, ASK)
    assert ["M412"] == [item.command for item in plan.of(REFUSE)]


def number(text: str) -> Printed:
    """The number in this text."""
    return Printed.of(text)


@pytest.mark.parametrize(
    ("command", "selectors", "flags", "numbers"),
    [
        ("M412", {}, (), {"S": "1"}),
        ("M92", {}, (), {}),
        ("M92", {}, (), {"Q": "1.0"}),
        ("M92", {"I": 1}, (), {"X": "80.0"}),
        ("M92", {"T": -1}, (), {"E": "80.0"}),
        ("M92", {"T": 256}, (), {"E": "80.0"}),
        ("M92", {}, ("X",), {"Y": "80.0"}),
        ("G29", {"I": 0, "J": 0}, (), {"Z": "0.1"}),
        ("M92", {}, (), {"X": "nan"}),
        ("M92", {}, (), {"X": "10000.1"}),
        ("M420", {}, (), {"S": "0.5"}),
    ],
)
def test_a_forbidden_line_cannot_be_made(
    command: str, selectors: dict[str, int], flags: tuple[str, ...], numbers: dict[str, str]
) -> None:
    """A line that must not be sent raises on creation."""
    with pytest.raises(NotSendable):
        RestoreLine(
            TABLE.commands[command],
            selectors,
            flags,
            {letter: number(text) for letter, text in numbers.items()},
            UnitMode(),
        )


def test_a_line_that_a_board_would_cut_cannot_be_made() -> None:
    """Eight letters with six decimals each are more than 90 characters; nor is a line made in unclear units."""
    long = {letter: number("0.123456") for letter in "JST"} | {letter: number("10.123456") for letter in "ZE"}
    long |= {letter: number("100.123456") for letter in "XYB"}

    with pytest.raises(NotSendable, match="longer than 90 characters"):
        RestoreLine(TABLE.commands["M205"], {}, (), long, UnitMode())
    with pytest.raises(NotSendable, match="not clear: two are stated"):
        RestoreLine(TABLE.commands["M92"], {}, (), {"X": number("80.0")}, UnitMode(unclear="two are stated"))


@pytest.mark.parametrize(
    ("text", "sent"),
    [("80", "80"), ("80.0", "80.0"), ("80.123456789", "80.123457"), ("1E+2", "100")],
)
def test_digits_are_written_anew(text: str, sent: str) -> None:
    """A number is written in plain decimals, with at most six places."""
    line = RestoreLine(TABLE.commands["M92"], {}, (), {"X": number(text)}, UnitMode())

    assert f"M92 X{sent}" == line.text


def test_no_negative_zero_is_sent() -> None:
    """A zero is sent without a sign."""
    zero = Printed("-0.00", Decimal("-0.00"), Decimal("0.01"))

    assert "M851 Z0.00" == RestoreLine(TABLE.commands["M851"], {}, (), {"Z": zero}, UnitMode()).text


def test_a_plan_item_has_a_line_when_it_is_sent() -> None:
    """An item that is to be sent without a line cannot be made."""
    with pytest.raises(ValueError, match="a line is due"):
        PlanItem(SEND, "M92", {}, (), None, "", "")
