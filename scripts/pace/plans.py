"""The plans that are compared, and what a switch reads."""

from __future__ import annotations

from dataclasses import replace

from commission.judge.plan import Plan
from commission.vocabulary import Reading

FIXED = Plan(seed=0, dwell_s=2.0)
PLANS = {
    "fixed 5 s, dwell 2 s": FIXED,
    "own pace, dwell 2 s": replace(FIXED, own_pace=True),
    "fixed 5 s, dwell 1 s": replace(FIXED, dwell_s=1.0),
    "own pace, dwell 1.2 s": Plan(seed=0, own_pace=True),
    "own pace, dwell 1 s": replace(FIXED, own_pace=True, dwell_s=1.0),
}
BEAT_S = 0.1
READS = {True: Reading.ACTIVE, False: Reading.INACTIVE}
