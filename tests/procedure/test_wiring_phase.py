"""The wiring phase: declared by question, assessed, kept with its picture, and never plugged in over a hazard."""

from collections.abc import Callable
from contextlib import suppress

import pytest
from msgspec import structs

from commission.asking.message import Establish
from commission.asking.request import Choose, Confirm, Recall, Request
from commission.evidence.findings.wiring import Wiring
from commission.procedure.wiring.declaration import (
    TRIES,
    Declared,
    assessed,
    declared_before,
    wiring,
    wiring_found,
)
from commission.vocabulary import PunchClass
from tests.procedure.unit_hands import ScriptedHands

RECOMMENDED = {
    "sensor": "switch",
    "wires": "2",
    "contact": "NO",
    "to": "ground",
    "pressed-when": "in",
    "pull": "up",
    "pull-by": "board",
    "absent": "high",
    "logic": "3.3",
    "supply": "",
}
SHORTS = RECOMMENDED | {"wires": "3", "common": "ground", "no-side": "supply", "nc-side": "signal"}


def declares(answers: dict[str, str], **others: object) -> Callable[[str], object]:
    """An operator who answers these questions so."""
    known = {f"wiring.{name}": answer for name, answer in answers.items()}
    return lambda key: others.get(key.replace(".", "_"), known.get(key))


def declared(answers: dict[str, str], **others: object) -> tuple[Declared | None, ScriptedHands]:
    """What a declaration came to."""
    hands = ScriptedHands("sound", declares(answers, **others))
    return hands.carry_out(wiring()), hands


def test_the_recommended_wiring_is_right() -> None:
    """A normally open contact to ground with a pull-up and high for absent is direct and fails safe, and is kept."""
    found, hands = declared(RECOMMENDED)

    assert found is not None
    assert found.right
    assert [] == hands.items
    assert "up" == hands.findings[Wiring].answers["pull"]


def test_the_record_says_what_the_picture_shows() -> None:
    """The wiring stands in words, and as the answers it can be drawn from; no drawing is kept."""
    _, hands = declared(RECOMMENDED)
    found = hands.findings[Wiring]

    assert "signal to normally open" in found.sentences[1]
    assert found.drawn_before is None
    assert "<svg" not in str(found)


def test_a_supply_shorted_by_the_switch_must_not_be_plugged_in() -> None:
    """The common on ground and the supply on the pressed side: forbidden, taken off the board, an item of class A."""
    found, hands = declared(SHORTS)

    assert found is not None
    assert found.forbidden
    assert not hands.host.printer.plant.cable.plugged_at_board
    assert {PunchClass.UNSAFE} == {item.grade for item in hands.items}


def test_what_is_not_known_is_an_open_item() -> None:
    """An operator who does not know the contact is asked no further; the wiring is not assessed."""
    found, hands = declared(RECOMMENDED | {"contact": "unknown"})

    assert found is None
    assert "wiring.logic" not in hands.asked
    assert [PunchClass.INCOMPLETE] == [item.grade for item in hands.items]


def test_the_absent_level_need_not_be_known() -> None:
    """Without it the level that suits the wiring is taken, and the operator is told which and what to do with it."""
    found, hands = declared(RECOMMENDED | {"absent": "unknown"})

    assert found is not None
    assert found.right
    assert [] == hands.items
    assert any("treats as no filament was not declared: high is assumed" in text for text in hands.told)


def test_answers_that_do_not_fit_are_asked_for_anew_and_not_for_ever() -> None:
    """Two terminals of a switch on one wire are refused in words; after three such tries the phase gives up."""
    found, hands = declared(SHORTS | {"no-side": "ground"})

    assert found is None
    assert TRIES == hands.asked.count("wiring.sensor")
    assert any("each once" in text for text in hands.told)


def test_a_slip_may_be_answered_again() -> None:
    """Answered again, the last declaration is the one on record."""
    choices = iter(["again", "keep"])
    hands = ScriptedHands("sound")
    known = declares(RECOMMENDED)
    hands.answer_with(lambda key: next(choices) if key == "wiring.stands" else known(key))

    hands.carry_out(wiring())

    assert 2 == hands.asked.count("wiring.sensor")


def test_the_wiring_may_be_changed_at_once_with_the_power_off() -> None:
    """Changing it opens a power hold point with the recommendation in it, and the questions come again."""
    choices = iter(["change", "keep"])
    hands = ScriptedHands("sound")
    known = declares(RECOMMENDED | {"contact": "NC"})
    hands.answer_with(lambda key: next(choices) if key == "wiring.stands" else known(key))

    hands.carry_out(wiring())

    assert "wiring.change" in hands.asked
    assert 2 == hands.asked.count("wiring.contact")


def test_the_wiring_of_the_last_time_need_not_be_typed_again() -> None:
    """Where an earlier run holds a declaration, one yes takes it over."""
    hands = ScriptedHands("sound")
    answers = {name: answer for name, answer in RECOMMENDED.items() if answer}
    hands.earlier.keep(wiring_found(assessed(answers)))

    found = hands.carry_out(wiring())

    assert found is not None
    assert answers == found.answers
    assert "wiring.sensor" not in hands.asked


def test_a_wiring_declared_without_a_run_names_its_source() -> None:
    """The question says who declared it and when; the yes makes it the run's own declaration."""
    answers = {name: answer for name, answer in RECOMMENDED.items() if answer}
    before = wiring_found(assessed(answers), on="2031-03-15", by="R. Okafor")
    asked: list[Confirm] = []

    def respond(request: Request) -> object:
        match request:
            case Recall():
                return before if request.earlier else None
            case Choose():
                return "keep"
            case Confirm():
                asked.append(request)
        return True

    steps, found = wiring(), []
    request = next(steps)
    with suppress(StopIteration):
        while True:
            found += [request.finding] if isinstance(request, Establish) else []
            request = steps.send(respond(request))

    assert [("wiring.same", "As it was declared on 2031-03-15 by R. Okafor, without a run:")] == [
        (question.key, question.lines[0]) for question in asked
    ]
    assert [wiring_found(assessed(answers))] == found


@pytest.mark.parametrize("answers", [{}, {"sensor": "lantern"}])
def test_a_record_that_cannot_be_used_is_no_declaration(answers: dict[str, str]) -> None:
    """A record without answers, or with words nobody knows any more, is taken for none."""
    hands = ScriptedHands("sound")
    whole = wiring_found(assessed({name: answer for name, answer in RECOMMENDED.items() if answer}))
    hands.earlier.keep(structs.replace(whole, answers=answers))

    assert hands.carry_out(declared_before(earlier=True)) is None


def test_a_motion_wheel_is_recognised_and_not_assessed() -> None:
    """A motion wheel is no presence input: said, and left as an open item."""
    found, hands = declared({"sensor": "motion-wheel"})

    assert found is not None
    assert found.installation is None
    assert [PunchClass.INCOMPLETE] == [item.grade for item in hands.items]
