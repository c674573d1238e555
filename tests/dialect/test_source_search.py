"""What a search finds at the simulated units, and that it asks nothing but questions that only read there."""

import pytest

from commission.dialect.purity import only_reads
from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.search import MOST_DRIVES, MOST_INPUTS, Searched, ask_for, search, words_on_filament
from commission.dialect.sources.source import CannotBeAsked, Source
from commission.vocabulary import Presence, Reading
from tests.dialect.test_sources_at_units import Asker


def searched(unit: str) -> tuple[Searched, list[str], Asker]:
    """What a search of this unit found, and what it asked."""
    asker, asked = Asker(unit), []
    steps = search(asker.printer)
    try:
        command = next(steps)
        while True:
            asked.append(command.text)
            command = steps.send([*asker.host.ask(command.text), *asker.host.after(0.5)])
    except StopIteration as end:
        found: Searched = end.value
    return found, asked, asker


@pytest.mark.parametrize(
    ("unit", "found"),
    [
        ("sound", []),
        ("mode-form", [("monitor active tool", "no reading")]),
        ("family-b", [("monitor 0", "told"), ("status 0", "told")]),
        (
            "b-two-monitors",
            [("monitor 0", "told"), ("monitor 1", "told"), ("status 0", "told"), ("status 1", "told")],
        ),
        ("b-oldest", [("monitor 0", "told")]),
        ("b-laser", [("monitor 0", "movement"), ("status 0", "movement")]),
        ("b-magnet-switch", [("monitor 0", "told"), ("status 0", "movement")]),
        ("b-monitor-off", [("monitor 0", "told"), ("status 0", "no reading")]),
        ("b-spare-input", [("input gpIn[0]", "told")]),
        ("family-c", []),
        ("c-sensor", []),
        ("family-d", []),
        ("e-pulses", [("counter filament detector", "movement")]),
        ("e-switch", []),
    ],
)
def test_a_search_finds_what_the_unit_has(unit: str, found: list[tuple[str, str]]) -> None:
    """Its own files say what it has; a sensor of movement is known as one wherever the printer tells of it."""
    what = searched(unit)[0].found

    assert found == [
        (each.source.text, "movement" if each.moving else "told" if each.told else "no reading") for each in what
    ]


@pytest.mark.parametrize(
    "unit", ["sound", "family-b", "b-oldest", "b-silent-event", "family-c", "c-sensor", "e-pulses", "d-sensor"]
)
def test_a_search_asks_only_questions(unit: str) -> None:
    """Nothing that sets anything on this family, and no number that could run a file of its user's."""
    _, asked, asker = searched(unit)

    assert [] == [text for text in asked if not only_reads(text, asker.printer.family)]
    assert [] == [line for line in asker.host.after(1.0) if "user's file" in line]


def test_an_older_build_is_not_asked_for_a_model() -> None:
    """It has none, and would look for a file of that number."""
    assert not [text for text in searched("b-oldest")[1] if text.startswith("M409")]


def test_names_are_tried_where_sensors_can_be_asked_for() -> None:
    """A host without a sensor is asked once; one with sensors may have more than the usual names find."""
    without, asked, _ = searched("family-c")
    assert (False, 1) == (without.by_name, len(asked))
    assert searched("c-sensor")[0].by_name


def test_a_search_of_drives_has_an_end() -> None:
    """A printer that says of every drive that it has a monitor is not asked for ever."""
    printer = Asker("family-b").printer
    steps, asked = search(printer), 0
    try:
        command = next(steps)
        while asked < 100:
            asked += 1
            command = steps.send([f"Simple filament sensor on pin a.{asked}, enabled, filament present: yes"])
    except StopIteration:
        pass
    assert command.text
    assert MOST_DRIVES < asked < 20


def test_a_search_of_spare_inputs_has_an_end() -> None:
    """Of a printer on which every spare input is set up the first four are found, and no more is asked."""
    steps = search(Asker("family-b").printer)
    found = Searched(())
    try:
        command = next(steps)
        while True:
            number = command.text.removeprefix('M409 K"sensors.gpIn[').partition("]")[0]
            answer = f'{{"key":"sensors.gpIn[{number}]","flags":"","result":{{"value":1}}}}'
            command = steps.send([answer] if number.isdigit() else [])
    except StopIteration as end:
        found = end.value

    assert [f"input gpIn[{number}]" for number in range(MOST_INPUTS)] == [each.source.text for each in found.found]


@pytest.mark.parametrize(("unit", "name"), [("c-sensor", "spool_left"), ("c-dictionary", "spool_left")])
def test_a_named_sensor_answers_to_its_name(unit: str, name: str) -> None:
    """Small and capital letters count."""
    asker = Asker(unit)
    for given, told in ((name, True), (name.upper(), False)):
        steps = ask_for(Source(asker.printer, SourceKind.NAMED_SENSOR, given))
        with pytest.raises(StopIteration) as end:
            steps.send(asker.answer(next(steps)))
        assert told is end.value.value.told


@pytest.mark.parametrize(
    ("unit", "name"), [("sound", "sensor runout"), ("c-sensor", "monitor 0"), ("family-d", "status 0"), ("sound", "\t")]
)
def test_what_a_family_has_not_cannot_be_asked_for(unit: str, name: str) -> None:
    """A name from the record of another printer, or from a slip of the keys, is refused and not sent."""
    with pytest.raises(CannotBeAsked):
        Source.called(name, Asker(unit).printer)


def test_only_an_input_is_read_the_other_way_round() -> None:
    """What the printer's own detection goes by is what is tested, so it is read as it is."""
    asker = Asker("borrowed-socket")
    plain, turned = (Source.called(text, asker.printer) for text in ("x_max", "x_max (reversed)"))
    lines = asker.answer(plain.question)

    assert {plain.read(lines).reading, turned.read(lines).reading} == {Reading.ACTIVE, Reading.INACTIVE}
    assert Reading.UNKNOWN is turned.read(["ok"]).reading
    with pytest.raises(CannotBeAsked, match="not read the other way round"):
        Source.called("filament (reversed)", asker.printer)


def test_a_printer_of_no_known_family_has_its_switch_report() -> None:
    """That question reads everywhere; everything else depends on who answers."""
    assert "M119" == Source.called("filament", None).question.text
    with pytest.raises(CannotBeAsked, match="does not say what it is"):
        Source.called("monitor 0", None)


def test_words_on_the_filament_are_a_source() -> None:
    """A reply of runout control that tells of the filament; what tells nothing of it, or comes from nobody, is none."""
    printer = Asker("sound").printer
    told = ("echo:Filament runout ON, distance 4.000 mm, sensor: filament present",)

    found = words_on_filament(printer, told)
    assert [(SourceKind.RUNOUT_WORD, Presence.IN)] == [(each.source.kind, each.report.presence) for each in found]
    assert () == words_on_filament(printer, ("echo:Filament runout ON",)) == words_on_filament(None, told)


def test_nobody_can_be_searched() -> None:
    """A printer that did not say what it is is asked nothing."""
    with pytest.raises(StopIteration) as end:
        next(search(None))
    assert Searched() == end.value.value


def test_an_input_is_never_a_sensor_of_movement() -> None:
    """A pin reads high or low: what moves it is not told."""
    asker = Asker("b-spare-input")
    steps = ask_for(Source(asker.printer, SourceKind.PIN, "gpIn[0]"))
    with pytest.raises(StopIteration) as end:
        steps.send(asker.answer(next(steps)))

    assert (True, False) == (end.value.value.told, end.value.value.moving)


PART = (
    '{"key":"sensors.filamentMonitors","flags":"FROM",'
    '"result":[{"enabled":true,"status":"STATUS","type":"simple"}]NEXT}'
)


def in_parts(following: str) -> tuple[Searched, list[str]]:
    """A search of two monitors whose status comes in parts; each part but the second names the next one."""
    asked: list[str] = []
    steps = search(Asker("family-b").printer)
    try:
        command = next(steps)
        while len(asked) < 100:
            asked.append(command.text)
            monitor = "Simple filament sensor on pin a.1, enabled, filament present: yes"
            lines = [monitor] if command.text in ("M591 D0", "M591 D1") else []
            if command.text.startswith('M409 K"sensors.filamentMonitors"'):
                second = command.text.endswith('F"a1"')
                part = PART.replace("STATUS", "noFilament" if second else "ok").replace("FROM", "a1" if second else "")
                lines = [part.replace("NEXT", following if second else ',"next":1')]
            command = steps.send(lines)
    except StopIteration as end:
        found: Searched = end.value
        return found, asked
    raise AssertionError(f"asked for ever: {asked[-3:]}")


def test_a_status_in_parts_is_asked_for_to_its_end() -> None:
    """Each monitor has the status of its own place in the whole list."""
    found, asked = in_parts("")
    read = {each.source.text: each.report.reading for each in found.found}

    assert 'M409 K"sensors.filamentMonitors" F"a1"' in asked
    assert (Reading.ACTIVE, Reading.INACTIVE) == (read["status 0"], read["status 1"])


def test_a_status_whose_parts_never_end_is_left() -> None:
    """A printer that always names a next part is asked a bounded number of times."""
    _, asked = in_parts(',"next":1')

    assert 1 < sum(text.startswith('M409 K"sensors.filamentMonitors"') for text in asked) <= MOST_DRIVES
