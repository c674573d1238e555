"""The date of the next check, as agreed with the owner."""

from datetime import date

import pytest

from commission.evidence.findings.meeting import Consent, NextCheck
from commission.judge.interval import FULL, Demand, History, next_interval
from commission.procedure.consent import consent
from commission.procedure.next_check import Calendar, next_check
from tests.support.scripted_phase import Played, ScriptedPhase

TODAY = date(2031, 3, 14)
FIRST = Calendar(TODAY, TODAY)
USE = {
    "next_check.usual": False,
    "next_check.runouts_per_year": "50",
    "next_check.tolerated_per_year": "1",
    "next_check.print_hours_per_day": "8",
}


def agreed(calendar: Calendar, answers: dict[str, object], *recalled: NextCheck) -> Played[None]:
    """The phase with these answers."""
    return ScriptedPhase(answers, recalled).play(next_check(calendar))


def test_the_usual_intervals_take_two_answers() -> None:
    """Thirty days for the brief check, 182 for the full one (common practice, no source), once the owner agrees."""
    played = agreed(FIRST, {})
    found = played.findings[NextCheck]

    assert ["next_check.usual", "next_check.agreed"] == played.asked
    assert ("2031-04-13", "2031-09-12", True) == (found.brief_due, found.full_due, found.agreed)


def test_the_dates_follow_from_the_use() -> None:
    """Worked out, the full date is that of the interval for this use, with every assumption in the record."""
    found = next_interval(Demand(50, 1, 8), History(0, 1.0), FULL)
    dates = agreed(FIRST, USE).findings[NextCheck]

    assert found.due(TODAY).isoformat() == dates.full_due
    assert found.calculated_days == dates.calculated_days
    assert any("Assumed" in sentence for sentence in dates.sentences)
    assert "At once" in " ".join(dates.sentences)


def test_a_long_clean_history_reaches_the_usual_limit() -> None:
    """After ten clean years and with seldom runouts the calculation exceeds the usual limit, which holds."""
    calendar = Calendar(TODAY, date(2021, 3, 14))
    played = agreed(calendar, USE | {"next_check.runouts_per_year": "2", "next_check.tolerated_per_year": "1"})

    assert (played.findings[NextCheck].calculated_days or 0) > 182
    assert "2031-09-12" == played.findings[NextCheck].full_due


def test_hidden_failures_shorten_the_calculation() -> None:
    """Failures that only checks found make the calculated interval shorter."""
    long_ago = date(2025, 3, 14)
    clean = agreed(Calendar(TODAY, long_ago), dict(USE)).findings[NextCheck].calculated_days
    failed = agreed(Calendar(TODAY, long_ago, hidden_failures=3), dict(USE)).findings[NextCheck].calculated_days

    assert failed is not None
    assert clean is not None
    assert failed < clean


def test_a_brief_check_leaves_the_full_date() -> None:
    """The full check stays due when it was, and the brief one is never later."""
    calendar = Calendar(TODAY, date(2031, 1, 1), full=False, full_due=date(2031, 4, 1))
    found = agreed(calendar, {}).findings[NextCheck]

    assert ("2031-04-01", "2031-04-01") == (found.brief_due, found.full_due)


def test_an_overdue_full_check_stays_overdue_after_a_brief_one() -> None:
    """Its date is not moved, that is said, and the next brief check lies ahead all the same."""
    calendar = Calendar(TODAY, date(2031, 1, 1), full=False, full_due=date(2031, 3, 1))
    found = agreed(calendar, {}).findings[NextCheck]

    assert ("2031-04-13", "2031-03-01") == (found.brief_due, found.full_due)
    assert "The full check was due by 2031-03-01 and still is: a brief one does not replace it." in found.sentences


def test_a_printer_never_tested_whole_gets_a_full_check_next() -> None:
    """Where only brief checks are on record the next check is a full one, at the brief one's date."""
    found = agreed(Calendar(TODAY, TODAY, full=False), {}).findings[NextCheck]

    assert ("2031-04-13", "2031-04-13") == (found.brief_due, found.full_due)
    assert any("the next check is to be a full one" in said for said in found.sentences)


def test_the_use_is_remembered() -> None:
    """What was said last time is offered, and a yes takes it."""
    earlier = agreed(FIRST, dict(USE)).findings[NextCheck]
    played = agreed(FIRST, {"next_check.usual": False}, earlier)

    assert ["next_check.usual", "next_check.as_before", "next_check.agreed"] == played.asked
    assert earlier.full_due == played.findings[NextCheck].full_due


def test_the_owner_may_want_another_date() -> None:
    """Without agreement the owner's own date is taken, once it is one, and the record says whose it is."""
    answers = {"next_check.agreed": False, "next_check.own_date": ["next week", "2031-03-14", "2031-05-01"]}
    played = agreed(FIRST, answers)
    found = played.findings[NextCheck]

    assert ("2031-04-13", "2031-05-01") == (found.brief_due, found.full_due)
    assert (False, True) == (found.agreed, found.owners_own)
    assert "is no date" in " ".join(played.told)
    assert "is not after today" in " ".join(played.told)


def test_a_date_that_never_comes_is_not_asked_for_ever() -> None:
    """After five texts that are no date the proposed one stands, and that is said."""
    played = agreed(FIRST, {"next_check.agreed": False, "next_check.own_date": "yes"})

    assert "2031-09-12" == played.findings[NextCheck].full_due
    assert 5 == played.asked.count("next_check.own_date")


@pytest.mark.parametrize("wrong", [{"first_day": date(2031, 3, 15)}, {"hidden_failures": -1}])
def test_a_history_that_cannot_be_is_refused(wrong: dict[str, object]) -> None:
    """A first day in the future and a negative count are refused."""
    with pytest.raises(ValueError, match="history"):
        Calendar(**({"today": TODAY, "first_day": TODAY} | wrong))  # type: ignore[arg-type]


@pytest.mark.parametrize("granted", [True, False])
def test_either_answer_about_consent_is_kept(granted: bool) -> None:
    """A no is on record as well as a yes."""
    played = ScriptedPhase({"consent.unattended": granted}).play(consent("R. Okafor"))

    assert granted is played.result
    assert (granted, "R. Okafor") == (played.findings[Consent].granted, played.findings[Consent].by)
