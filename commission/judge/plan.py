"""What will be tested how often and which bounds decide, stated before anything is measured."""

from dataclasses import dataclass

from commission import units
from commission.judge.demonstration import upper_bound
from commission.judge.double_sampling import FIRST_SERIES, SECOND_SERIES, for_cycles
from commission.judge.exposure import GAP_LIMIT_S, LONGEST, needed_readings
from commission.judge.polarity import LEAST_CYCLES, MOST_CYCLES, NEEDED_ODDS
from commission.judge.trial import LONGEST_COUNTDOWN_S
from commission.judge.wording import confidence_words, counted

# What a pass takes, whatever the plan says; a plan may ask for more, never for less.
PASS_CYCLES = 22
PASS_WIGGLE_S = 60.0
WIGGLE_READINGS = 600
PASS_POWER_UPS = 2
# A dwell, and a look at an input that nobody works at, in seconds. Why a dwell is no longer: see DEVELOPERS.md.
DWELL_S = 1.2
REST_S = 2.0
# Voided trials beyond this share of the trials planned make the rest unbelievable.
SET_ASIDE_SHARE = 0.1
# A prompt whose trial could not be read comes again at most so often in a row.
MOST_REPEATS = 5


@dataclass(frozen=True)
class Plan:
    """A loop check, fixed beforehand.

    Attributes:
        seed: from which the order of the prompts follows; recorded so that it can be repeated.
        cycles: in and out pairs, 6 to 100.
        countdown_s: from the prompt to the first reading, in seconds.
        readings_per_dwell: readings taken at each trial, odd so that a majority exists.
        dwell_s: over how long they are taken, in seconds.
        rest_s: length of a look at an input that nobody works at (unplugged, powered up), with as many readings.
        leave_it_share: share of prompts that say to leave the filament as it is.
        wiggle_s: length of the wiggle in seconds.
        wiggle_readings: readings that the wiggle aims at; what counts is the time watched.
        power_ups: times the unplugged input is powered up and read.
        confidence: one-sided confidence of every bound.
        needed_odds: likeliest to runner-up that decide the polarity.
        own_pace: the countdown follows the person's own pace (see `pace`), and `countdown_s` is the longest.
    """

    seed: int
    cycles: int = PASS_CYCLES
    countdown_s: float = LONGEST_COUNTDOWN_S
    readings_per_dwell: int = 21
    dwell_s: float = DWELL_S
    rest_s: float = REST_S
    leave_it_share: float = 0.25
    wiggle_s: float = PASS_WIGGLE_S
    wiggle_readings: int = WIGGLE_READINGS
    power_ups: int = PASS_POWER_UPS
    confidence: float = 0.95
    needed_odds: float = NEEDED_ODDS
    own_pace: bool = False

    def __post_init__(self) -> None:
        for broken, demand in (
            (not LEAST_CYCLES <= self.cycles <= 100, f"cycles lie between {LEAST_CYCLES} and 100"),
            (not 0 <= self.countdown_s <= 60, "the countdown takes 0 to 60 s"),
            (self.readings_per_dwell < 5 or self.readings_per_dwell % 2 == 0, "a dwell takes an odd number >= 5"),
            (not 0 < self.dwell_s <= 60, "a dwell lasts up to 60 s"),
            (not 0 < self.rest_s <= 60, "a look at an input that nobody works at lasts up to 60 s"),
            (not 0.1 <= self.leave_it_share <= 1 / 3, "the share of leave-it prompts lies between 0.1 and 1/3"),
            (not 0 <= self.wiggle_s <= 3600 or self.wiggle_readings < 0, "the wiggle lasts 0 to 3600 s"),
            (not 1 <= self.power_ups <= 10, "the unplugged input is powered up 1 to 10 times"),
            (not 0.5 <= self.confidence < 1, "the confidence lies between 0.5 and 1"),
            (not self.needed_odds > 1, "the needed odds are above 1"),
        ):
            if broken:
                raise ValueError(f"This plan cannot be carried out: {demand}.")

    @property
    def rest_beat_s(self) -> float:
        """Seconds between two readings of a look at an input that nobody works at."""
        return self.rest_s / (self.readings_per_dwell - 1)

    @property
    def countdown(self) -> str:
        """The countdown in words."""
        if self.own_pace:
            return (
                f"a countdown that follows your pace in the trials before it, at most {units.seconds(self.countdown_s)}"
            )
        return f"{units.seconds(self.countdown_s)} of countdown"

    @property
    def set_aside_limit(self) -> int:
        """Voided trials that are tolerated."""
        return int(2 * self.cycles * SET_ASIDE_SHARE)

    @property
    def unread_limit(self) -> int:
        """Unread trials that are tolerated: as many as there are moves planned, so that a poor line is only slower."""
        return 2 * self.cycles

    def in_short(self) -> list[str]:
        """What who is to carry it out needs to know of it before it begins; `describe` has all of it."""
        few = self.cycles < for_cycles(FIRST_SERIES, self.cycles).clean
        return [
            f"{counted(self.cycles, 'cycle')} of filament in and filament out, then {units.seconds(self.wiggle_s)} of "
            f"wiggle, then {counted(self.power_ups, 'power-up')} with the sensor unplugged.",
            *(["So few cycles are a conditional pass at best."] if few else []),
            "Stopping deletes nothing: what was read counts when you go on.",
        ]

    def describe(self) -> list[str]:
        """The plan and its decision rule as sentences, each limit describing itself."""
        return [
            f"{counted(self.cycles, 'cycle')} of filament in and filament out, in an order fixed beforehand from seed "
            f"{self.seed}; about {confidence_words(self.leave_it_share)} of the prompts say to leave it as it is.",
            *self.rules(),
        ]

    def rules(self) -> list[str]:
        """What is taken at each prompt, and what decides."""
        bound = units.percent(upper_bound(0, self.cycles, self.confidence))
        sampling = for_cycles(FIRST_SERIES, self.cycles)
        sure = confidence_words(self.confidence)
        return [
            f"Each trial: the prompt, {self.countdown}, then {self.readings_per_dwell} readings over "
            f"{units.seconds(self.dwell_s)} that are taken whatever they show; their majority is the trial's reading.",
            f"Polarity is looked at after whole cycles only, {LEAST_CYCLES} to {MOST_CYCLES}; it is decided when the "
            f"likeliest explanation beats the next by {self.needed_odds:.0f} to 1, and never later.",
            f"A pass takes a direct polarity and, of each kind (filament in, filament out), {sampling.rule}. "
            f"{LEAST_CYCLES} to {sampling.clean - 1} clean trials of a kind, or {sampling.clean} to "
            f"{sampling.with_one - 1} with one misread, are a conditional pass.",
            "Trials are counted over the whole series, whichever run they stand in: stopping, taking up again and "
            "beginning anew delete nothing. A series ends with a pass or a fail; a new one takes a recorded change. If "
            f"an examination finds nothing, one second series may follow: {SECOND_SERIES.rule}.",
            "A trial set aside (v) or held up (p) before its dwell is counted beside the misreads: one of a kind may "
            "be. One set aside later stays a misread if it read wrong. To rest, press p during a dwell: that costs "
            "nothing.",
            f"{sampling.shows}.",
            f"Without a misread, {self.cycles} trials of a kind show at {sure} confidence that at most {bound} are "
            "misread.",
            "A pass takes no unwanted change in any dwell, at any leave-it prompt and in the wiggle. One lasting "
            "change in a dwell, from the former to the asked reading, or at a leave-it prompt, is a misread: a hand "
            "may have come late or moved unasked. A hand that comes late in a dwell, yet within "
            f"{units.seconds(LONGEST_COUNTDOWN_S)} of its prompt, counts for nothing: a longer countdown would have "
            "waited for it.",
            f"The wiggle takes {self.wiggle_s_for_pass:.0f} s watched; a shorter clean one is a conditional pass. Only "
            f"time between known readings at most {units.seconds(GAP_LIMIT_S)} apart is watched; a watch goes on until "
            f"it has that, at most {LONGEST} times its length, or else it is not judged.",
            f"A pass takes an unplugged input that reads out at every reading in {self.power_ups_for_pass} power-ups, "
            "while the filament is moved in and out twice, each after a power-off that was seen; one that rests on the "
            "operator's word is a conditional pass.",
            "A pass takes a proof that something holds the unplugged input: 1 kΩ changes the reading and 220 kΩ does "
            "not, or a meter shows it; without one it is a conditional pass.",
            f"A trial needs {needed_readings(self.readings_per_dwell)} known readings of {self.readings_per_dwell}; "
            f"with fewer it is unread, counts for nothing and is taken again, at most {MOST_REPEATS} times in a row "
            f"and {self.unread_limit} times in all. At most {counted(self.set_aside_limit, 'trial')} that read right "
            "may be set aside later or come late. With more nothing is judged.",
            "What was not done or could not be worked out is not judged, which is no pass.",
        ]

    @property
    def wiggle_s_for_pass(self) -> float:
        """Seconds of wiggle that a pass takes."""
        return max(self.wiggle_s, PASS_WIGGLE_S)

    @property
    def power_ups_for_pass(self) -> int:
        """Power-ups with the sensor unplugged that a pass takes."""
        return max(self.power_ups, PASS_POWER_UPS)
