"""Sources of identified printers: the table of ways, the questions they ask, and what an answer says of one."""

import re
from dataclasses import replace

import pytest

from commission.dialect import commands
from commission.dialect.commands import Command, Effect
from commission.dialect.family import Family
from commission.dialect.purity import READS, only_reads
from commission.dialect.sources.report import SourceKind, SourceReport, told
from commission.dialect.sources.source import CannotBeAsked, Source
from commission.dialect.sources.ways import WAYS, Pace, Proves, Purity
from commission.vocabulary import Level, Presence, Reading
from tests.dialect.feeding import read_texts
from tests.dialect.printers import printer

A, B, C, D, E = Family
LINE, MONITOR, STATUS, NAMED, WORD, PIN, PULSES = SourceKind


@pytest.mark.parametrize(
    ("family", "kind", "name", "text", "proves", "purity"),
    [
        (A, LINE, "filament", "M119", Proves.DETECTION, Purity.PURE),
        (A, LINE, "Filament Runout Sensor", "M119", Proves.DETECTION, Purity.PURE),
        (A, LINE, "x_max", "M119", Proves.INPUT, Purity.PURE),
        (A, MONITOR, "active tool", "M591", Proves.DETECTION, Purity.PURE),
        (A, WORD, "filament 2", "M412", Proves.DETECTION, Purity.PURE),
        (A, PIN, "PB7", "M43 PPB7", Proves.INPUT, Purity.BY_RELEASE),
        (None, LINE, "filament", "M119", Proves.DETECTION, Purity.PURE),
        (B, LINE, "X", "M119", Proves.INPUT, Purity.PURE),
        (B, MONITOR, "2", "M591 D2", Proves.DETECTION, Purity.PURE),
        (B, STATUS, "0", 'M409 K"sensors.filamentMonitors"', Proves.DETECTION, Purity.PURE),
        (B, PIN, "gpIn[4]", 'M409 K"sensors.gpIn[4]"', Proves.INPUT, Purity.PURE),
        (C, LINE, "z", "M119", Proves.INPUT, Purity.DELAYS),
        (C, NAMED, "Spool_Left", "QUERY_FILAMENT_SENSOR SENSOR=Spool_Left", Proves.DETECTION, Purity.PURE),
        (C, PIN, "left_stop", "QUERY_BUTTON BUTTON=left_stop", Proves.INPUT, Purity.PURE),
        (D, LINE, "x_max", "M119", Proves.INPUT, Purity.PURE),
        (D, PIN, "57", "M42 P57", Proves.INPUT, Purity.SETS_INPUT),
        (E, LINE, "X_max", "M119", Proves.INPUT, Purity.PURE),
        (E, PIN, "P2.11", "M119", Proves.INPUT, Purity.PURE),
        (E, PULSES, "filament detector", "M407", Proves.DETECTION, Purity.PURE),
    ],
)
def test_source_is_asked(
    family: Family | None, kind: SourceKind, name: str, text: str, proves: Proves, purity: Purity
) -> None:
    """Each source has its question, what a reading of it proves, and what asking does, by family."""
    source = Source(None if family is None else printer(family), kind, name)

    assert text == source.question.text
    assert (proves, purity) == (source.proves, source.way.purity)


def test_every_way_is_in_the_list_above() -> None:
    """The test above leaves no pair of the table out."""
    (mark,) = [each for each in test_source_is_asked.pytestmark if each.name == "parametrize"]  # type: ignore[attr-defined]

    assert set(WAYS) == {(family, kind) for family, kind, *_ in mark.args[1]}


@pytest.mark.parametrize(
    ("family", "kind"), [(family, kind) for family in Family for kind in SourceKind if (family, kind) not in WAYS]
)
def test_pair_outside_the_table_is_refused(family: Family, kind: SourceKind) -> None:
    """What a family does not have cannot be asked of it: nothing is tried to see what happens."""
    with pytest.raises(CannotBeAsked, match=f"family {family.value} cannot be asked"):
        Source(printer(family), kind, "0")


@pytest.mark.parametrize(
    ("family", "kind", "name"),
    [
        (B, MONITOR, "0 P2"),
        (B, MONITOR, ""),
        (B, MONITOR, "-1"),
        (B, PIN, 'gpIn[0]" F"v'),
        (B, PIN, "gpOut[0]"),
        (C, NAMED, "two words"),
        (C, NAMED, "a;b"),
        (C, NAMED, "spool\n"),
        (C, NAMED, "sp\u00fcle"),
        (D, PIN, "57 S1"),
        (A, PIN, "7 W1"),
        (A, PIN, "W1"),
        (E, PULSES, "anything"),
    ],
)
def test_name_that_says_more_is_refused(family: Family, kind: SourceKind, name: str) -> None:
    """A name that would add a letter, end the quotes or begin another command is no name."""
    with pytest.raises(CannotBeAsked, match="asked for by the name"):
        Source(printer(family), kind, name)


def test_no_question_without_an_identified_printer() -> None:
    """The types refuse a family that nobody has proven: a bare letter is not a printer."""
    with pytest.raises(AttributeError):
        Source(Family.B, MONITOR, "0")  # type: ignore[arg-type]


@pytest.mark.parametrize("text", ["M591", "M591 D0", "M408 S0", "M407", "M950 J1", "STATUS", "QUERY_BUTTON BUTTON=b"])
def test_family_word_is_no_question_by_itself(text: str) -> None:
    """What depends on the family cannot be sent as a question before somebody has identified the printer."""
    with pytest.raises(ValueError, match="identify it first"):
        Command(text, "try it", Effect.READ_ONLY)


@pytest.mark.parametrize(
    ("family", "text"),
    [
        (A, "M591 D0"),
        (A, "M591 S1"),
        (A, "M591 R"),
        (B, "M591"),
        (B, "M591 D0 P0"),
        (B, "M591 D0 C1"),
        (B, "M591 D0 S1"),
        (B, 'M950 J0 C"io5.in"'),
        (B, 'M409 K"a" F"d9"'),
        (D, "M42 P57"),
        (D, "M42 P57 S0"),
        (D, "M407"),
        (E, "M591 D0"),
        (E, "M407 S1"),
        (C, "M591 D0"),
        (A, "STATUS"),
        (B, "QUERY_FILAMENT_SENSOR SENSOR=s"),
    ],
)
def test_set_never_passes_for_a_question(family: Family, text: str) -> None:
    """On the wrong family, or with a letter more, the same words set something: that is no question of this printer."""
    with pytest.raises(ValueError, match=f"family {family.value} this is no question|no question"):
        Command(text, "try it", Effect.READ_ONLY, asked_of=printer(family))


@pytest.mark.parametrize("command", [commands.RUNOUT_CONTROL, commands.pin_report("4"), commands.COUNTERS])
def test_number_that_may_run_a_file_is_no_question(command: Command) -> None:
    """On the family that runs its user's files, a number that it may not know is no question."""
    assert only_reads(command.text, A)
    assert not only_reads(command.text, B)
    with pytest.raises(ValueError, match="no question"):
        replace(command, asked_of=printer(B))


def test_every_pure_way_is_a_form_that_reads() -> None:
    """Question by question, the table of ways and the table of forms that read agree, and neither knows the other."""
    names = {
        LINE: "filament",
        MONITOR: "0",
        STATUS: "0",
        NAMED: "s",
        WORD: "sensor",
        PIN: "5",
        PULSES: "filament detector",
    }
    special: dict[tuple[Family | None, SourceKind], str] = {
        (A, MONITOR): "active tool",
        (B, PIN): "gpIn[0]",
        (E, PIN): "1.2",
    }
    for family, kind in WAYS:
        source = Source(None if family is None else printer(family), kind, special.get((family, kind), names[kind]))
        reads = only_reads(source.question.text, family)

        assert reads is (source.way.purity is not Purity.SETS_INPUT)
        assert reads is (source.question.effect is Effect.READ_ONLY)


def test_what_sets_the_input_says_so() -> None:
    """Reading a pin at the price of its mode is a setting with a caution, so it needs a release."""
    asked = Source(printer(D), PIN, "57").question

    assert Effect.SETTING is asked.effect
    assert "makes the pin an input with a pull-up" in asked.caution


def test_every_way_is_described() -> None:
    """Each way says what unknown looks like, and a pace that never floods a host computer or a small board."""
    assert all(re.fullmatch(r"[A-Z].{20,}\.", way.unknown) for way in WAYS.values())
    fast = {(A, LINE), (None, LINE), (B, SourceKind.MONITOR)}
    assert fast == {key for key, way in WAYS.items() if way.pace.ahead}
    assert all(way.pace.least_interval_s >= 0.1 for key, way in WAYS.items() if key not in fast)
    assert not WAYS[C, LINE].pace.while_printing


def test_negative_pace_is_refused() -> None:
    """An interval below zero cannot be made."""
    with pytest.raises(ValueError, match="not negative"):
        Pace(-0.1)


def test_no_form_reads_on_an_unlisted_family() -> None:
    """Each form is known for its own families alone."""
    for word, forms in READS.items():
        assert all(family in forms or not only_reads(word, family) for family in Family)
        assert not only_reads(word, None)


@pytest.mark.parametrize(
    ("family", "kind", "name", "data", "expected"),
    [
        (
            A,
            LINE,
            "filament 2",
            b"Reporting endstop status\nx_max: open\nfilament: open\nfilament 2: TRIGGERED\nok\n",
            SourceReport(LINE, "filament 2", Reading.ACTIVE, "TRIGGERED"),
        ),
        (
            A,
            LINE,
            "x_max",
            b"Reporting endstop status\nx_max: open\nfilament: open\nok\n",
            SourceReport(LINE, "x_max", Reading.INACTIVE, "open"),
        ),
        (A, LINE, "filament", b"Reporting endstop status\nx_max: open\nok\n", SourceReport(LINE, "filament")),
        (
            A,
            LINE,
            "filament",
            b"filament: open\nfilament: TRIGGERED\nok\n",
            SourceReport(LINE, "filament", error="the answer contradicts itself"),
        ),
        (
            A,
            LINE,
            "filament",
            b"filament: open\nfilament: open\nok\n",
            SourceReport(LINE, "filament", Reading.INACTIVE, "open"),
        ),
        (
            A,
            WORD,
            "filament 2",
            b"echo:Filament runout ON\nFilament runout distance (mm): 6.00\n"
            b"filament: PRESENT\nfilament 2: MISSING\nok\n",
            told(WORD, "filament 2", Presence.OUT, "MISSING", enabled=True),
        ),
        (
            A,
            MONITOR,
            "active tool",
            b"echo:Filament runout ON ; Distance 6.00mm ; Mode 2 ; Host handling OFF\nok\n",
            SourceReport(MONITOR, "active tool", enabled=True, absent_level=Level.HIGH),
        ),
        (
            A,
            MONITOR,
            "active tool",
            b'echo:Unknown command: "M591"\nok\n',
            SourceReport(MONITOR, "", error="the printer does not know this question"),
        ),
        (
            A,
            PIN,
            "20",
            b"PIN: PB4         M42 P20          <unused/unknown>           Input  = 0\nok\n",
            SourceReport(PIN, "PB4", Reading.INACTIVE, "low"),
        ),
        (
            A,
            PIN,
            "20",
            b"PIN: PB4         M42 P20          HEATER_PIN                 protected\nok\n",
            SourceReport(PIN, "20"),
        ),
        (
            B,
            MONITOR,
            "1",
            b"Simple filament sensor on pin io9.in, disabled, output low when no filament, filament present: no\nok\n",
            told(MONITOR, "io9.in", Presence.OUT, "filament present: no", enabled=False, absent_level=Level.LOW),
        ),
        (
            B,
            STATUS,
            "1",
            b'{"key":"sensors.filamentMonitors","flags":"","result":[null,{"enabled":true,"status":"noFilament"}]}\nok\n',
            told(STATUS, "extruder 1", Presence.OUT, "noFilament", enabled=True),
        ),
        (
            B,
            STATUS,
            "0",
            b'{"key":"sensors.filamentMonitors","flags":"","result":[null,{"enabled":true,"status":"noFilament"}]}\nok\n',
            SourceReport(STATUS, "0"),
        ),
        (B, STATUS, "0", b'{"err":-1}\nok\n', SourceReport(STATUS, "", error="the answer was too large")),
        (
            C,
            NAMED,
            "spool_left",
            b"// Filament Sensor spool_left: filament not detected\nok\n",
            told(NAMED, "spool_left", Presence.OUT, "not detected"),
        ),
        (
            C,
            NAMED,
            "spool_left",
            b"// Filament Sensor spool_right: filament detected\nok\n",
            SourceReport(NAMED, "spool_left"),
        ),
        (
            C,
            NAMED,
            "spool_left",
            b"!! Printer is not ready\nok\n",
            SourceReport(NAMED, "spool_left", error="!! Printer is not ready"),
        ),
        (D, PIN, "57", b"ok 3\n to 57 is 0\n", SourceReport(PIN, "57", Reading.INACTIVE, "low")),
        (
            D,
            PIN,
            "57",
            b"ok 3\nError:Pin can not be set by M42, it is one of the heater pins! \n",
            SourceReport(PIN, "", error="Pin can not be set by M42, it is one of the heater pins!"),
        ),
        (
            E,
            PIN,
            "P2.11",
            b"X_min:0 Y_min:1 pins- (X)P2.10:0 (Y)P2.11:1  Probe: 0\nok\n",
            SourceReport(PIN, "P2.11", Reading.ACTIVE, "high"),
        ),
        (
            E,
            PULSES,
            "filament detector",
            b"Extruder moved: 12.500000 mm\nEncoder pulses: 4\nFilament detector is enabled\nok\n",
            SourceReport(PULSES, "filament detector", enabled=True),
        ),
    ],
)
def test_answer_is_read(family: Family, kind: SourceKind, name: str, data: bytes, expected: SourceReport) -> None:
    """An answer gives the reading of the source that was asked for; another's, or none, leaves it unknown."""
    source = Source(printer(family), kind, name)

    assert expected == read_texts(source.read, data)


def test_rest_of_a_list_is_asked_for() -> None:
    """An answer that says it goes on is asked for its rest; a whole or damaged one is not."""
    source = Source(printer(B), STATUS, "4")
    part = '{"key":"sensors.filamentMonitors","flags":"","result":[{"enabled":true}],"next":3}'
    rest = source.rest([part, "ok"])

    assert rest is not None
    assert 'M409 K"sensors.filamentMonitors" F"a3"' == rest.text
    assert source.rest([part.replace(":3}", ":0}"), "ok"]) is None
    assert source.rest([part.replace(":3}", ":999999}"), "ok"]) is None
    assert source.rest(["ok"]) is None
