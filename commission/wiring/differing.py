"""Where two declarations of one sensor's wiring differ, in words."""

from commission.wiring.declaration import QUESTIONS, Answers, declared_installation
from commission.wiring.installation import WiringError

NOT_SAID = "not said"


def differing(before: Answers, now: Answers) -> tuple[str, ...]:
    """What was answered otherwise, one phrase each; empty where both come to the same installation."""
    if _same(before, now):
        return ()
    words = ((name, _word(before, name), _word(now, name)) for name in QUESTIONS)
    return tuple(f"{name} {then}, now {after}" for name, then, after in words if then != after)


def _same(before: Answers, now: Answers) -> bool:
    """Whether they come to the same; of a sensor without an installation, whether they are the same word by word."""
    try:
        return dict(before) == dict(now) or declared_installation(before) == declared_installation(now)
    except WiringError:
        return False


def _word(answers: Answers, name: str) -> str:
    """The answer, or the usual one to what was not asked."""
    return answers.get(name) or QUESTIONS[name].default or NOT_SAID
