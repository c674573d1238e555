"""From answers, given as options or one by one, to an installation; and the next question while answers are missing.

An answer is a plain word under the name of its question, so that a command line and a guided run can both give it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from commission.vocabulary import Contact, Level, Presence, Pull
from commission.wiring.behaviour import state
from commission.wiring.cautions import MEASURE_THE_HEADER
from commission.wiring.installation import (
    Changeover,
    DryContact,
    Installation,
    OpenCollector,
    PullBy,
    PushPull,
    Sensor,
    Terminal,
    WiringError,
)
from commission.wiring.parts import SensorKind, parts
from commission.wiring.situation import Situation

Answers = Mapping[str, str]

_TERMINALS = tuple(terminal.value for terminal in Terminal)
_PRESENCES = tuple(presence.value for presence in Presence)
UNKNOWN = "unknown"
"""The answer to a question that need not be known: the assessment then says what was taken instead."""
_CHANGEOVER = ("common", "no-side", "nc-side")


@dataclass(frozen=True)
class Question:
    """Something that must be known of the wiring.

    Attributes:
        name: the word under which the answer is kept.
        text: the question, as a person is asked it.
        choices: the answers there are; none when any number of volts will do.
        default: the usual answer, or empty when there is none.
        cautions: what goes with finding it out.
    """

    name: str
    text: str
    choices: tuple[str, ...] = ()
    default: str = ""
    cautions: tuple[str, ...] = ()


QUESTIONS = {
    question.name: question
    for question in (
        Question("sensor", "What kind of sensor is it?", tuple(kind.value for kind in SensorKind), "switch"),
        Question(
            "inside", "What do ball and lever work: a switch, or a flag in a light beam?", ("switch", "beam"), "switch"
        ),
        Question("wires", "Which wires go to it?", ("2", "3"), "2"),
        Question("contact", "Which contact is used, normally open or normally closed?", ("NO", "NC")),
        Question("to", "What does the contact join the signal to?", ("ground", "supply"), "ground"),
        Question("common", "Where does the common terminal of the switch go?", _TERMINALS),
        Question("no-side", "Where does its normally-open terminal go?", _TERMINALS),
        Question("nc-side", "Where does its normally-closed terminal go?", _TERMINALS),
        Question("pressed-when", "When is the lever pressed, with filament in or out?", _PRESENCES, "in"),
        Question("conducts-when", "When does the output conduct to ground, with filament in or out?", _PRESENCES),
        Question("output-when-in", "What does the output drive with filament in?", ("high", "low")),
        Question("pull", "Which pull resistor gives the input its resting level?", ("up", "down", "none")),
        Question("pull-by", "Where does that resistor sit?", ("board", "module"), "board"),
        Question("absent", "Which level does the firmware treat as no filament?", ("high", "low", UNKNOWN)),
        Question("logic", "What is the logic voltage of the board, in volts?", ("3.3", "5"), "3.3"),
        Question(
            "supply",
            "What voltage was measured at the header's supply terminal, in volts?",
            cautions=MEASURE_THE_HEADER,
        ),
        Question(
            "own-pull", "Does the module carry a pull-up of its own, from signal to supply?", ("yes", "no", UNKNOWN)
        ),
        Question("input", "Which class of input is it?", tuple(parts().inputs)),
    )
}
_BOARD = ("pull", "pull-by", "absent", "logic", "supply", "own-pull", "input")
_NEEDED = {"contact", "to", *_CHANGEOVER, "conducts-when", "output-when-in", "pull"}


def next_question(answers: Answers) -> Question | None:
    """The next thing to ask a person, or nothing when all is known that is worth asking.

    Raises:
        WiringError: an answer that was given is impossible.
    """
    name = next((name for name in _worth_asking(answers) if name not in answers), None)
    if name == "supply":
        return replace(QUESTIONS[name], default=answers["logic"])
    return QUESTIONS[name] if name else None


def _worth_asking(answers: Answers) -> tuple[str, ...]:
    """The questions a person is asked, in order, as far as the answers so far decide them."""
    if "sensor" not in answers:
        return ("sensor",)
    kind = _kind(answers)
    if not parts().sensors[kind].presence_input:
        return ()
    if kind is SensorKind.BALL_AND_LEVER and not {"inside", "conducts-when"} & set(answers):
        return ("inside",)
    if _is_switch(answers) and not _form_known(answers):
        return ("wires",)
    board = tuple(name for name in _BOARD if name != "input")
    if answers.get("pull") == "none":
        board = tuple(name for name in board if name != "pull-by")
    needed = (*_form(answers), *board)
    if set(needed) - {"own-pull"} <= set(answers) and not _own_pull_matters(answers):
        return tuple(name for name in needed if name != "own-pull")
    return needed


def _own_pull_matters(answers: Answers) -> bool:
    """Whether a module could bring more volts to the pin by a pull-up of its own than the pin bears."""
    made = _installation({name: answer for name, answer in answers.items() if name != "own-pull"})
    at_the_module = made.pull is Pull.UP and made.pull_by is PullBy.MODULE  # then it is the pull that was declared
    return made.is_module and made.supply_v > made.bears_v and not at_the_module


def sensor_kind(answers: Answers) -> SensorKind:
    """The kind of sensor that was declared.

    Raises:
        WiringError: none, or one that is not known.
    """
    if "sensor" not in answers:
        raise WiringError("No sensor was named: say which kind it is with --sensor.")
    return _kind(answers)


def declared_installation(answers: Answers) -> Installation:
    """The installation these answers declare; what was not answered takes its usual value.

    Raises:
        WiringError: an answer is missing, impossible, or does not belong to this sensor; the text names it.
    """
    kind = sensor_kind(answers)
    if not parts().sensors[kind].presence_input:
        raise WiringError(f"A {parts().sensors[kind].title} is not a presence input, so there is no wiring to assess.")
    _check(kind, answers)
    installation = _installation(answers)
    suited = _suited(installation) if _absent_unknown(answers) else _absent(answers)
    return replace(installation, absent=suited, own_pull_up=_own_pull_up(answers))


def _own_pull_up(answers: Answers) -> bool:
    """As declared; where nobody said, it is taken for there where it would do harm."""
    said = answers.get("own-pull", UNKNOWN)
    return said == "yes" or (said == UNKNOWN and _own_pull_matters(answers))


def _installation(answers: Answers) -> Installation:
    """What these answers declare, with nothing said of a pull-up on the module and of the absent level."""
    kind, logic_v = sensor_kind(answers), float(_word(answers, "logic"))
    input_class = parts().inputs[answers["input"]] if "input" in answers else parts().input_for(logic_v)
    return Installation(
        kind,
        _sensor(answers),
        Pull(_word(answers, "pull")),
        PullBy(_word(answers, "pull-by")),
        Level.HIGH,
        logic_v,
        _volts(answers, logic_v),
        input_class,
        frozenset(Terminal) if answers.get("wires") == "3" else frozenset(),
    )


def _absent(answers: Answers) -> Level:
    return Level(_word(answers, "absent"))


def _absent_unknown(answers: Answers) -> bool:
    return answers.get("absent", UNKNOWN) == UNKNOWN


def _suited(installation: Installation) -> Level:
    """The level that reads out with filament out; where no level does, what an input at rest reads."""
    level = state(installation, Situation(Presence.OUT)).level
    if level is not Level.FLOATING:
        return level
    return Level.LOW if installation.pull is Pull.DOWN else Level.HIGH


def declared_absent(answers: Answers) -> Level | None:
    """The level that the firmware takes for missing filament; None when it was not asked for, or is not known.

    Raises:
        WiringError: it is no level.
    """
    return None if _absent_unknown(answers) else _absent(answers)


def assumptions(answers: Answers) -> tuple[str, ...]:
    """What was taken for granted because it was not declared, one sentence each."""
    if not parts().sensors[sensor_kind(answers)].presence_input:
        return ()
    logic = _word(answers, "logic")
    told = []
    if _absent_unknown(answers):
        level = declared_installation(answers).absent.value
        told.append(
            f"What the firmware treats as no filament was not declared: {level} is assumed, the level that the "
            f"wired input has with filament out. The check shows what is configured."
        )
    if "logic" not in answers:
        told.append(f"The logic voltage was not declared: {logic} V is assumed.")
    if "supply" not in answers:
        told.append(
            f"The voltage of the header was not declared: {logic} V is assumed. Measure it before plugging in. "
            + " ".join(MEASURE_THE_HEADER)
        )
    if answers.get("own-pull", UNKNOWN) == UNKNOWN and declared_installation(answers).own_pull_up:
        told.append(
            "Whether the module has a pull-up of its own to its supply was not declared: one is assumed to be there. "
            "Most have one; the meter shows it as a few kilohm from signal to supply at the free plug."
        )
    if "input" not in answers:
        told.append(f"The class of input was not declared: {parts().input_for(float(logic)).title} is assumed.")
    return tuple(told)


def _kind(answers: Answers) -> SensorKind:
    return SensorKind(_word(answers, "sensor"))


def _is_switch(answers: Answers) -> bool:
    kind = _kind(answers)
    if kind is SensorKind.BALL_AND_LEVER:
        return "conducts-when" not in answers and answers.get("inside") != "beam"
    return kind is SensorKind.SWITCH


def _form_known(answers: Answers) -> bool:
    return bool({"wires", "contact", "to", *_CHANGEOVER} & set(answers))


def _form(answers: Answers) -> tuple[str, ...]:
    """The questions that belong to the output of this sensor."""
    if _is_switch(answers):
        three = answers.get("wires") == "3" and not {"contact", "to"} & set(answers)
        changeover = three or set(_CHANGEOVER) & set(answers)
        return (*_CHANGEOVER, "pressed-when") if changeover else ("contact", "to", "pressed-when")
    return ("output-when-in",) if _kind(answers) is SensorKind.PUSH_PULL else ("conducts-when",)


def _check(kind: SensorKind, answers: Answers) -> None:
    form = _form(answers)
    title = parts().sensors[kind].title
    inside = {"inside"} if kind is SensorKind.BALL_AND_LEVER else set()
    foreign = sorted(set(answers) - {"sensor", "wires", *inside, *form, *_BOARD})
    if foreign:
        together = " with the contact declared so" if _is_switch(answers) else ""
        raise WiringError(f"--{foreign[0]} does not belong to a {title}{together}; leave it out.")
    if answers.get("wires") == "2" and (not _is_switch(answers) or "common" in form):
        raise WiringError(f"A {title} declared so needs three wires: signal, ground and supply.")
    missing = [f"--{name}" for name in (*form, *_BOARD) if name in _NEEDED and name not in answers]
    if missing:
        raise WiringError(f"Not enough is known of the {title}: give {', '.join(missing)} as well.")


def _sensor(answers: Answers) -> Sensor:
    form = _form(answers)
    if "contact" in form:
        contact, to = Contact(_word(answers, "contact")), Terminal(_word(answers, "to"))
        return DryContact(contact, to, Presence(_word(answers, "pressed-when")))
    if "common" in form:
        ends = [Terminal(_word(answers, name)) for name in _CHANGEOVER]
        return Changeover(ends[0], ends[1], ends[2], Presence(_word(answers, "pressed-when")))
    if "conducts-when" in form:
        return OpenCollector(Presence(_word(answers, "conducts-when")))
    return PushPull(Level(_word(answers, "output-when-in")))


def _word(answers: Answers, name: str) -> str:
    question = QUESTIONS[name]
    word = answers.get(name, question.default)
    if word not in question.choices:
        raise WiringError(f"--{name} is one of {', '.join(question.choices)}; not {word!r}.")
    return word


def _volts(answers: Answers, logic_v: float) -> float:
    if "supply" not in answers:
        return logic_v
    try:
        return float(answers["supply"])
    except ValueError as error:
        raise WiringError(f"--supply is a number of volts; not {answers['supply']!r}.") from error
