"""Seeded histories of ten checks; the whole of 200 each is printed by scripts/simulate_checks.py."""

from scripts.simulate_checks import Rates, simulate

HISTORIES = 40


def test_alarms_are_rarely_false_and_soon_true() -> None:
    """At most one steady history in twenty raises an alarm; wear at three times its limit is found in two checks."""
    rates: Rates = simulate(HISTORIES, seed=1)

    assert 0.05 >= rates.false_alarm_share
    assert 0.8 * HISTORIES <= rates.slow_found
    assert 0.8 * HISTORIES <= rates.misreading_found
