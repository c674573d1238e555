"""From answers to an installation, and which question comes next."""

import pytest

from commission.wiring.declaration import QUESTIONS, assumptions, declared_installation, next_question
from commission.wiring.installation import Changeover, DryContact, OpenCollector, PushPull, Terminal, WiringError
from tests.wiring.cases import GROUND, IN, NO, SIGNAL, SUPPLY

BOARD = {"pull": "up", "absent": "high"}
TWO_WIRES = {"sensor": "switch", "contact": "NO", "to": "ground", **BOARD}
CHANGEOVER = {"sensor": "switch", "common": "signal", "no-side": "ground", "nc-side": "supply", **BOARD}


def asked(known: dict[str, str], answers: dict[str, str]) -> list[str]:
    """The names of the questions a person is asked, answering each from `answers`, else as is usual or possible."""
    given, names = dict(known), []
    possible = {"common": "signal", "no-side": "ground", "nc-side": "supply"}
    while (question := next_question(given)) is not None:
        names.append(question.name)
        usual = question.default or possible.get(question.name) or question.choices[0]
        given[question.name] = answers.get(question.name) or usual
    return names


@pytest.mark.parametrize(
    ("answers", "sensor"),
    [
        (TWO_WIRES, DryContact(NO, GROUND)),
        (CHANGEOVER, Changeover(SIGNAL, GROUND, SUPPLY)),
        ({"sensor": "open-collector", "conducts-when": "in", **BOARD}, OpenCollector(IN)),
        ({"sensor": "hall", "wires": "3", "conducts-when": "in", **BOARD}, OpenCollector(IN)),
        ({"sensor": "ball-and-lever", "conducts-when": "in", **BOARD}, OpenCollector(IN)),
        ({"sensor": "ball-and-lever", "contact": "NO", "to": "ground", **BOARD}, DryContact(NO, GROUND)),
    ],
)
def test_answers_declare_a_sensor(answers: dict[str, str], sensor: object) -> None:
    """Each way of answering declares the sensor it means, whatever else is left to its usual value."""
    assert sensor == declared_installation(answers).sensor


def test_push_pull_is_declared_by_what_it_drives_with_filament_in() -> None:
    """A push-pull module is declared by its level with filament in."""
    answers = {"sensor": "push-pull", "output-when-in": "low", **BOARD}

    assert PushPull(output_when_in=declared_installation(TWO_WIRES).absent.LOW) == declared_installation(answers).sensor


def test_what_is_not_declared_is_taken_and_told() -> None:
    """Logic voltage, header voltage and class of input have usual values, and each is told as taken for granted."""
    found = declared_installation(TWO_WIRES)

    assert (3.3, 3.3, "32-bit") == (found.logic_v, found.supply_v, found.input.name)
    assert 3 == len(assumptions(TWO_WIRES))
    assert () == assumptions({**TWO_WIRES, "logic": "5", "supply": "5", "input": "8-bit"})


@pytest.mark.parametrize("given", [{}, {"absent": "unknown"}], ids=["left-out", "unknown"])
@pytest.mark.parametrize(
    ("wiring", "level"),
    [
        ({"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up"}, "high"),
        ({"sensor": "switch", "contact": "NC", "to": "ground", "pull": "up"}, "low"),
        ({"sensor": "switch", "contact": "NO", "to": "supply", "pull": "down"}, "low"),
        ({"sensor": "hall", "conducts-when": "out", "pull": "up"}, "low"),
        ({"sensor": "switch", "contact": "NO", "to": "ground", "pull": "none"}, "high"),
        ({"sensor": "switch", "contact": "NO", "to": "ground", "pull": "down"}, "low"),
    ],
)
def test_an_absent_level_that_is_not_known_is_the_one_that_suits(
    wiring: dict[str, str], level: str, given: dict[str, str]
) -> None:
    """The level with filament out is taken, at an input that floats its resting level, and it is told."""
    answers = {**wiring, **given}

    assert level == declared_installation(answers).absent.value
    assert any(f"was not declared: {level} is assumed" in sentence for sentence in assumptions(answers))


def test_a_contact_on_a_three_wire_module_has_its_supply_wire() -> None:
    """A plain contact with three wires has a supply wire that a fault can break."""
    assert set(Terminal) == declared_installation({**TWO_WIRES, "wires": "3"}).conductors
    assert {SIGNAL, GROUND} == declared_installation(TWO_WIRES).conductors


@pytest.mark.parametrize(
    ("answers", "complaint"),
    [
        ({}, "--sensor"),
        ({"sensor": "radar"}, "--sensor is one of"),
        ({"sensor": "motion-wheel"}, "not a presence input"),
        ({"sensor": "switch", "contact": "NO"}, "--to, --pull as well"),
        ({**TWO_WIRES, "conducts-when": "in"}, "--conducts-when does not belong"),
        ({**TWO_WIRES, "common": "signal"}, "--contact does not belong"),
        ({**TWO_WIRES, "to": "signal"}, "--to is one of"),
        ({**TWO_WIRES, "to": "nowhere"}, "--to is one of"),
        ({**TWO_WIRES, "supply": "much"}, "number of volts"),
        ({**TWO_WIRES, "supply": "-5"}, "no supply"),
        ({**TWO_WIRES, "inside": "beam"}, "--inside does not belong"),
        ({**CHANGEOVER, "nc-side": "ground"}, "each once"),
        ({**CHANGEOVER, "wires": "2"}, "needs three wires"),
        ({"sensor": "hall", "wires": "2", "conducts-when": "in", **BOARD}, "needs three wires"),
        ({"sensor": "hall", "contact": "NO", "conducts-when": "in", **BOARD}, "--contact does not belong"),
        ({"sensor": "push-pull", **BOARD}, "--output-when-in"),
    ],
)
def test_what_cannot_be_is_refused_by_the_name_of_the_option(answers: dict[str, str], complaint: str) -> None:
    """Missing, foreign and impossible answers are refused, and the complaint names the option."""
    with pytest.raises(WiringError, match=complaint):
        declared_installation(answers)


@pytest.mark.parametrize(
    ("answers", "names"),
    [
        ({"sensor": "motion-wheel"}, ["sensor"]),
        ({"sensor": "switch", "wires": "2", "contact": "NO"}, ["sensor", "wires", "contact", "to", "pressed-when"]),
        ({"sensor": "switch", "wires": "3"}, ["sensor", "wires", "common", "no-side", "nc-side", "pressed-when"]),
        ({"sensor": "ball-and-lever", "inside": "beam"}, ["sensor", "inside", "conducts-when"]),
        (
            {"sensor": "ball-and-lever", "inside": "switch", "wires": "2"},
            ["sensor", "inside", "wires", "contact", "to"],
        ),
        ({"sensor": "push-pull"}, ["sensor", "output-when-in"]),
    ],
)
def test_a_person_is_asked_only_what_the_sensor_needs(answers: dict[str, str], names: list[str]) -> None:
    """The questions follow from the kind of sensor, and the board's come last."""
    found = asked({}, {"pull": "up", **answers})

    assert names == found[: len(names)]
    assert ["sensor"] == found or ["pull", "pull-by", "absent", "logic", "supply"] == found[-5:]


def test_without_a_pull_nobody_asks_where_it_sits() -> None:
    """Answering that there is no pull skips the question of its place."""
    assert "pull-by" not in asked({}, {"sensor": "push-pull", "pull": "none"})


def test_the_usual_header_voltage_is_the_logic_voltage_just_given() -> None:
    """The question for the header's voltage offers the logic voltage."""
    known = {**TWO_WIRES, "pressed-when": "in", "pull-by": "board", "logic": "5"}
    question = next_question(known)

    assert question is not None
    assert ("supply", "5") == (question.name, question.default)


def test_every_question_ends_as_a_question() -> None:
    """Each question is one sentence with its mark."""
    assert all(question.text.endswith("?") for question in QUESTIONS.values())
