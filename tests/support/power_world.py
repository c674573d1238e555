"""What is plugged in, open and on, by the words of the steps alone: an independent reading of what a person is told.

The sentences stand here as they are printed, each with what it does to the bench, or with what must be true when it is
said. Nothing is taken from the procedures. A sentence about power that is not here is an error: whoever writes a new
one has to say here what it does, or that it holds whatever the state.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

_T = TypeVar("_T")


class Contradiction(AssertionError):
    """A step that cannot be followed safely, or a sentence that is not so."""


@dataclass
class PowerWorld:
    """A printer with a sensor on its cable.

    Attributes:
        usb_powers: whether the USB cable keeps this board's logic alive by itself.
        at_board, at_sensor: whether the sensor's cable is plugged in at that end.
        mains, usb: whether mains plug and USB cable are in.
        switched_on: how the power switch stands.
        cover_open: whether hands reach the board.
        leads: test leads are clipped to the header.
        bridged: a resistor is on the header.
        endstop: the plug of an endstop whose socket is borrowed is in that socket; in_socket: the sensor's is.
    """

    usb_powers: bool = True
    at_board: bool = True
    at_sensor: bool = True
    mains: bool = True
    usb: bool = True
    switched_on: bool = True
    cover_open: bool = False
    leads: bool = False
    bridged: bool = False
    endstop: bool = True
    in_socket: bool = False

    @property
    def dead(self) -> bool:
        """Nothing feeds the board."""
        return not self.mains and not self.usb

    @property
    def readable(self) -> bool:
        """It has power and its line is there."""
        return self.usb and (self.usb_powers or (self.mains and self.switched_on))

    @property
    def in_use(self) -> bool:
        """Closed, on, and nothing on the header that does not belong there."""
        return self.readable and self.mains and self.switched_on and not self.open_or_altered

    @property
    def open_or_altered(self) -> bool:
        """Something is as nobody should find it."""
        return self.cover_open or self.leads or self.bridged or self.in_socket or not self.endstop

    @property
    def sensor_in_place(self) -> bool:
        """What is read now is read of the sensor."""
        return self.readable and self.at_board and self.at_sensor and not self.leads and not self.bridged

    def follow(self, step: str) -> None:
        """Do what a step says.

        Raises:
            Contradiction: it is not known, or cannot be done safely as things stand.
        """
        for sentence in sentences(step):
            deed = _found(DEEDS, sentence)
            if deed is None and _found(SAID, sentence) is None and not _RECOMMENDED.match(sentence):
                raise Contradiction(f"no deed is known for the step {sentence!r}")
            if deed is not None:
                self._do(deed, sentence)

    def _do(self, deed: Callable[["PowerWorld"], None], sentence: str) -> None:
        try:
            deed(self)
            need(not (self.cover_open and self.mains), "the cover is open with the mains plug in")
        except Contradiction as wrong:
            raise Contradiction(f"{sentence!r}: {wrong}; {self}") from wrong

    def check(self, text: str) -> None:
        """Hold a text that is no step against how things stand.

        Raises:
            Contradiction: a sentence about power is not known, or is not so.
        """
        for sentence in sentences(text):
            claim = _found(SAID, sentence)
            if claim is None and ABOUT_POWER.search(sentence):
                raise Contradiction(f"nothing is known of the sentence {sentence!r}")
            if claim is not None and not claim(self):
                raise Contradiction(f"{sentence!r} is not so: {self}")


def sentences(text: str) -> list[str]:
    """The sentences of a text."""
    return [part for part in re.split(r"(?<=[.?!])\s+", text.strip()) if part]


def need(condition: bool, otherwise: str) -> None:
    """Demand it.

    Raises:
        Contradiction: it is not so.
    """
    if not condition:
        raise Contradiction(otherwise)


ABOUT_POWER = re.compile(
    r"\b(mains|USB|cover)\b|[Pp]ower (off|on|switch|comes|is|goes)|\b([Uu]n)?plug(ged)? (it|the|this|them|in)\b"
    r"|unplugged\.$|\b[Ss]witch (it|the printer|the power)|(still|again) (on|off|out|in)\b"
)
"""What a sentence about power has in it."""
_RECOMMENDED = re.compile(r"(Recommended|Safer|Safer still|Keep this wiring|Then |Fit |Invert |Change the contact)\b.*")
"""What the assessment recommends stands inside the step that changes the wiring."""


# What a step does ---------------------------------------------------------------------------------------------------


def _nothing(_world: PowerWorld) -> None:
    """Nothing to do with power."""


def _off(world: PowerWorld) -> None:
    world.switched_on = world.mains = False


def _usb_out(world: PowerWorld) -> None:
    world.usb = False


def _open(world: PowerWorld) -> None:
    need(not world.mains, "it is opened with the mains plug in")
    world.cover_open = True


def _close(world: PowerWorld) -> None:
    world.cover_open = False


def _reach_in(world: PowerWorld) -> None:
    need(world.dead, "hands go in with mains or USB in")
    need(world.cover_open, "hands go in through a closed cover")


def _unplug_at_board(world: PowerWorld) -> None:
    need(world.at_board, "it is unplugged already")
    _maybe_unplug(world)


def _maybe_unplug(world: PowerWorld) -> None:
    _reach_in(world)
    world.at_board = False


def _plug_in_at_board(world: PowerWorld) -> None:
    _reach_in(world)
    need(not world.at_board, "it is plugged in already")
    need(not world.leads and not world.bridged, "something else is on the header")
    world.at_board = True


def _unplug_at_sensor(world: PowerWorld) -> None:
    need(world.dead, "the plug is touched with mains or USB in")
    need(world.at_sensor, "it is unplugged already")
    world.at_sensor = False


def _plug_in_at_sensor(world: PowerWorld) -> None:
    need(world.dead, "the plug is touched with mains or USB in")
    need(not world.at_sensor, "it is plugged in already")
    world.at_sensor = True


def _plug_back(world: PowerWorld) -> None:
    _reach_in(world)
    need(not (world.at_board and world.at_sensor), "it is plugged in already")
    need(not world.leads and not world.bridged, "something else is on the header")
    world.at_board = world.at_sensor = True


def _cable_worked_on(world: PowerWorld) -> None:
    need(world.dead and not world.at_board, "the cable is on the board, or the board has power")


def _leads_on(world: PowerWorld) -> None:
    _reach_in(world)
    need(not world.at_board, "the sensor is on that header")
    world.leads = True


def _leads_off(world: PowerWorld) -> None:
    _reach_in(world)
    world.leads = False


def _bridge(world: PowerWorld) -> None:
    _reach_in(world)
    need(not world.at_board, "the sensor is on that header")
    world.bridged = True


def _take_bridge(world: PowerWorld) -> None:
    need(world.bridged, "there is no resistor")
    _maybe_take_bridge(world)


def _maybe_take_bridge(world: PowerWorld) -> None:
    _reach_in(world)
    world.bridged = False


def _endstop_out(world: PowerWorld) -> None:
    _reach_in(world)
    need(not world.in_socket, "the sensor's plug is in that socket")
    world.endstop = False


def _into_socket(world: PowerWorld) -> None:
    _reach_in(world)
    need(not world.endstop and not world.leads, "something else is in that socket")
    need(not world.at_board, "the sensor is plugged in at its own header")
    world.in_socket = True


def _out_of_socket(world: PowerWorld) -> None:
    _reach_in(world)
    world.in_socket = False


def _endstop_in(world: PowerWorld) -> None:
    _reach_in(world)
    need(not world.in_socket and not world.leads, "something else is in that socket")
    world.endstop = True


def _leads_on_socket(world: PowerWorld) -> None:
    _reach_in(world)
    need(not world.endstop and not world.in_socket, "a plug is in that socket")
    world.leads = True


def _leave_unplugged(world: PowerWorld) -> None:
    need(not world.at_board, "it is not unplugged")


def _leave_mains(world: PowerWorld) -> None:
    need(not world.mains, "the mains plug is not out")


def _usb_in(world: PowerWorld) -> None:
    world.usb = True


def _mains_where_needed(world: PowerWorld) -> None:
    if not world.usb_powers:
        world.cover_open = False
        world.mains = world.switched_on = True


def _all_in(world: PowerWorld) -> None:
    need(not world.cover_open, "mains comes back with the cover open")
    world.mains = world.usb = world.switched_on = True


def _switch_off(world: PowerWorld) -> None:
    world.switched_on = False


def _usb_in_and_on(world: PowerWorld) -> None:
    need(world.mains, "switching on does nothing: the mains plug is out")
    world.usb = world.switched_on = True


def _runs(world: PowerWorld) -> None:
    need(world.readable and world.mains and world.switched_on, "the printer is not on")


def _out_at_once(world: PowerWorld) -> None:
    world.switched_on = world.usb = False


def _out_and_unplugged(world: PowerWorld) -> None:
    world.mains = False
    _open(world)
    _unplug_at_board(world)


DEEDS: dict[str, Callable[[PowerWorld], None]] = {
    # a borrowed socket
    r"Note which way round the endstop's plug sits, then unplug it from the socket of \w+, if it is in there\.": (
        _endstop_out
    ),
    r"Lead the board's end of the sensor's cable out of the printer\.": _cable_worked_on,
    r"For the voltage of the socket: clip one test lead to its ground and one to its supply terminal, so that nothing "
    r"slips, and lead both out\.": _leads_on_socket,
    r"Skip this where hands would come near mains parts, or where the socket has no supply terminal\.": _nothing,
    r"Take the test leads off the socket, if they are on it\.": _leads_off,
    r"Clip one test lead to the socket's signal and one to its ground, each found by function, so that nothing "
    r"slips\.": _leads_on_socket,
    r"Touch the frame, then plug the sensor's cable into the socket of \w+, each terminal by its function: not by "
    r"colour, and not by its place\.": _into_socket,
    r"Touch the frame, then unplug the sensor's cable from the socket of \w+, if it is in there\.": _out_of_socket,
    r"Plug the endstop's cable into it as it sat before\.": _endstop_in,
    r"Switch the printer off and pull its mains plug, if it is not out yet\.": _off,
    r"Pull the USB cable: it powers the board too\.": _usb_out,
    r"Let hot parts near (your hands|the sensor) cool\.": _nothing,
    r"Open the cover, if it is closed\.": _open,
    r"Touch the frame, then unplug the sensor's cable at the main board\.": _unplug_at_board,
    r"Touch the frame, then unplug the sensor's cable at the main board, if it is plugged in there\.": _maybe_unplug,
    r"Touch the frame, then plug the sensor's cable in at the main board, each terminal by its function\.": (
        _plug_in_at_board
    ),
    r"Touch the frame, then unplug the sensor's cable at the sensor\.": _unplug_at_sensor,
    r"Touch the frame, then plug the sensor's cable in at the sensor\.": _plug_in_at_sensor,
    r"Touch the frame, then plug the sensor's cable in wherever it is unplugged, each terminal by its function\.": (
        _plug_back
    ),
    r"Lead that end of the cable out of the printer\.": _cable_worked_on,
    r"For the voltage of the header: clip one test lead to its ground and one to its supply terminal, so that nothing "
    r"slips, and lead both out\.": _leads_on,
    r"Clip one test lead to the header's signal and one to its (ground|supply), each found by function, so that "
    r"nothing slips\.": _leads_on,
    r"Clip a third lead to the header's ground and lead it out as well, for the meter\.": _leads_on,
    r"Lead their free ends out of the housing, apart\.": _nothing,
    r"Skip this where hands would come near mains parts\.": _nothing,
    r"Take the test leads off the header, if they are on it\.": _leads_off,
    r"Put a resistor of \d+ ohm between signal and ground of the board's header, found by function, not by colour or "
    r"place\.": _bridge,
    r"Take the resistor off the header\.": _take_bridge,
    r"Take the resistor off the header, if it is on it\.": _maybe_take_bridge,
    r"With the meter on ohms at the free end of the cable, note: .*": _cable_worked_on,
    r"Wait ten seconds\.": _nothing,
    r"Leave the sensor unplugged\.": _leave_unplugged,
    r"Leave the sensor unplugged: it is plugged in once it has been checked with a meter\.": _leave_unplugged,
    r"Leave the sensor's cable as it is\.": _nothing,
    r"Leave the filament as it is\.": _nothing,
    r"Push the filament in\.": _nothing,
    r"See that the switch reads filament in and out before the printer is used\.": _nothing,
    r"Leave the mains plug out\.": _leave_mains,
    r"Plug only the USB cable in\.": _usb_in,
    r"Only where the USB cable does not power the board: close the cover, then plug the mains plug in too and switch "
    r"the printer on\.": _mains_where_needed,
    r"Close the cover, if it is open\.": _close,
    r"Plug the mains plug and the USB cable in and switch the printer on\.": _all_in,
    r"Switch the printer off at its power switch\.": _switch_off,
    r"Plug the USB cable back in and switch the printer on\.": _usb_in_and_on,
    r"Change the wiring\.": _cable_worked_on,
    r"Move the signal wire to the other contact of the switch .*": _cable_worked_on,
    r"Measure at the cable's free plug, from supply to ground: it must be open with the lever pressed and free\.": (
        _cable_worked_on
    ),
    r"If it is not, the wire is on the wrong contact: plug nothing in before it is open\.": _leave_unplugged,
    r"Build the firmware so that all reflash conditions are met\.": _nothing,
    r"Put it on the board as the board's maker describes\.": _nothing,
    r"The port may vanish and come back under another name\.": _nothing,
    r"Let the printer start\.": _runs,
    r"See that the printer is on and the USB cable is in\.": _runs,
    r"See that there is a record of the printer's settings: a new firmware may lose them\.": _nothing,
    r"In the firmware's build configuration, invert the logic of the runout input\.": _nothing,
    r"Change nothing else\.": _nothing,
    r"Build it, put it on the board as its maker describes, and let the printer start\.": _runs,
    # what to do at once where the supply may be shorted
    r"Suspected supply short through the switch\.": _nothing,
    r"Power switch off and USB cable out first\.": _out_at_once,
    r"Then pull the mains plug, let hot parts cool, open the cover and unplug the sensor at the main board\.": (
        _out_and_unplugged
    ),
    r"Then the meter decides, for one restart is only a suspicion: at the free end of the sensor's cable measure ohms "
    r"from supply to ground, with filament in and with filament out\.": _cable_worked_on,
    r"It must be open both times\.": _nothing,
    r"Leave the sensor unplugged until the meter has shown that\.": _leave_unplugged,
}


# What must be so when it is said ------------------------------------------------------------------------------------


def _always(_world: PowerWorld) -> bool:
    """It says nothing of how things stand."""
    return True


SAID: dict[str, Callable[[PowerWorld], bool]] = {
    # the questions that release a hold point
    r"Is the sensor unplugged at the board and USB plugged back in\?": lambda w: w.usb and not w.at_board,
    r"Are the free ends of the leads outside and apart, and is USB plugged back in\?": (
        lambda w: w.usb and w.leads and not w.at_board
    ),
    r"Is it plugged in at the board, unplugged at the sensor, and USB back in\?": (
        lambda w: w.usb and w.at_board and not w.at_sensor
    ),
    r"Is the sensor plugged in( again)? and the printer on\?": lambda w: w.in_use and w.sensor_in_place,
    r"Is the sensor unplugged and the printer on\?": lambda w: w.in_use and not w.at_board,
    r"Is the sensor still unplugged, the printer closed, and on\?": lambda w: w.in_use and not w.at_board,
    r"Is the sensor's cable free at the board's end, and is USB plugged back in\?": lambda w: w.usb and not w.at_board,
    r"Is it done, and is USB plugged back in\?": lambda w: w.usb,
    r"Is it done, the printer closed, and on\?": lambda w: w.in_use,
    r"Is it (done|changed), and is the printer on\?": lambda w: w.in_use,
    r"Is the printer on and USB plugged in\?": lambda w: w.usb and w.switched_on,
    r"Is the new firmware on the board and running\?": lambda w: w.in_use,
    r"Is the endstop unplugged, the sensor's cable free, and USB plugged back in\?": (
        lambda w: w.readable and not w.endstop and not w.at_board
    ),
    r"Is the socket empty, and is USB plugged back in\?": lambda w: w.readable and not w.endstop and not w.in_socket,
    r"Is the sensor plugged into the socket of \w+, and is USB plugged back in\?": (
        lambda w: w.readable and w.in_socket and not w.leads
    ),
    r"Is the endstop plugged in as it was, and is the printer on\?": lambda w: w.in_use,
    # a borrowed socket
    r"It takes the power off once more\.": _always,
    r"Is a meter at hand, to check the sensor's cable and the socket before anything is plugged in\?": (
        lambda w: w.endstop and w.in_use
    ),
    r"Switch the printer off and pull its mains plug and the USB cable\.": _always,
    r"It takes two test leads from signal and ground of the empty socket, led out with the power off\.": _always,
    r"Outside, 1 kΩ then changes the reading where the pull goes up, and does not where it goes down\.": _always,
    r"The reading follows the endstop's own switch: its plug is still in\.": lambda w: w.readable,
    r"The trial was broken off: the endstop \w+ may be unplugged\.": _always,
    r"Find .* with mains and USB both out, then run this again\.": _always,
    r"What is plugged into the socket of \w+\?": lambda w: w.endstop,
    r"Nothing was unplugged\.": lambda w: w.endstop,
    r"(See|And see) that the endstop's plug sits as it did, by function\.": _always,
    r"Then, with the printer on, press the switch by hand and see that its reading changes and returns\.": _always,
    # the names of the hold points
    r"Power off.*": _always,
    r"Reflash.*": _always,
    # what holds whatever the state
    r"Hands go to the connector only with mains and USB both out\.": _always,
    r"Switch the printer off and pull its mains plug before opening it\.": _always,
    r"The USB cable still powers the logic when the mains is off: unplug it too before touching wiring\.": _always,
    r"Know where the power switch is\.": _always,
    r"With a yes you say: the bed is clear, there is room above and beside the head, hands are off, and the power "
    r"switch is in reach\.": lambda w: w.in_use,
    r"It takes the power off once more, two test leads, and 1 kΩ and 220 kΩ, or a meter with 1 kΩ\.": _always,
    r"A board that USB does not power needs mains for this: only with the leads led out and the cover closed, and by "
    r"somebody competent to do it under the rules that apply where you are\.": _always,
    r"(Run a full check, and prove the pull in its unplug test: .*|A module whose own pull goes away with its plug "
    r"needs a pull at the board first\.)": _always,
    r"Not judged: the pull .*|The pull is not proven.*": _always,
    r"Where that cannot be done without reaching near mains parts, leave it, or let a qualified person do it\.": (
        _always
    ),
    r"Do the unplug test again, and take both away each time, mains and USB, for ten seconds\.": _always,
    r"(.*: )?Mains and USB are both out whenever a hand is at a plug\.": _always,
    r"Touch nothing but the free ends\.": lambda w: w.leads and w.readable and not w.at_board,
    r"Is (1|220) kΩ between the leads, hands off\?": lambda w: w.leads and w.readable and not w.at_board,
    r"It takes the power off (\d times|once more)( and shows what a broken wire would do)?\.": _always,
    r"the USB, serial or programming port": _always,
    r"Is the sensor plugged in at the main board\?": _always,
    r"With this wiring it must not stay there\.": _always,
    r"with the power off; then the questions come again": _always,
    r"the power is taken off to plug it in; then it is read once more": _always,
    r"the sensor is not plugged in": _always,
    r"If it is plugged in now: choose below to keep or to change it, and it is unplugged with the power off\.": (
        _always
    ),
    r"(.*: )?To measure the header: with mains and USB both out, clip one test lead to its ground and one to its "
    r"supply terminal, so that nothing slips, and lead both out of the printer\.": _always,
    r"What it takes: .*": _always,
    r"Leave the mains plug out and plug only the USB cable in\.": _always,
    r"(Read the meter outside, and t|T)ouch nothing inside\.": _always,
    r"A board that USB does not power needs mains for this: close the cover before the mains plug goes in\.": _always,
    r"(.*: )?Measure the supply at the header, with leads that are clipped on before the power comes back\.": _always,
    r"Measure the level with the contact open, by leads that are clipped on before the power comes back, .*": _always,
    r"(.*: )?Press the crimps home at both plugs, then bend the cable outside the closed cover and look at the "
    r"reading\.": _always,
    r"(.*: )?Recommended: an output that is .*, each taken off with mains and USB both out\.": _always,
    r"With its supply or its ground lost this output may do anything: take that wire off with mains and USB both out, "
    r"then read it on USB alone\.": _always,
    r"(.*: )?Unplug the sensor\.": _always,
    r"Unplug the sensor with mains and USB both out, and read the input on USB alone, before anything is changed: .*": (
        _always
    ),
    r"Find it out with mains and USB both out, a meter and the firmware's configuration; then run this again\.": (
        _always
    ),
    r"See that the sensor is plugged in again, which pins decide how the board starts, and whether the pull is "
    r"switched on that early\.": _always,
    r"\s*(detection on )?and save the settings; then take the power off and read it( again\.)?": _always,
    r"is still in, and was": _always,  # the filament
    r"\d+ cycles of filament in and filament out, then .* of wiggle, then \d+ power-ups? with the sensor unplugged\.": (
        _always
    ),
    r"Only the unplugged sensor tells a safe wiring from two errors that cancel\.": _always,
    r"Read the input with the sensor unplugged, before anything is changed: unplug it with mains and USB both out, "
    r"then read on USB alone\.": _always,
    r"With the sensor unplugged the filament is moved in and out twice, to see that it was the sensor's plug\.": (
        _always
    ),
    r"A power cycle: runout detection was still on\.": _always,
    r"Before anything is put back, the new firmware begins with its own defaults: load, save, power off, check\.": (
        _always
    ),
    r"A full check is no pass without: .*": _always,
    r"The unplug test was broken off: the sensor may still be unplugged, and the printer without mains or USB\.": (
        _always
    ),
    r"The meter check was broken off: the sensor may be unplugged, and the printer open, without mains or USB\.": (
        _always
    ),
    r"The diagnosis was broken off: the sensor's cable may be unplugged, a resistor may be on the header, and the "
    r"printer open, without mains or USB\.": _always,
    r"Broken off at the hold point '.*': the printer may stand open, without mains or USB\.": _always,
    # the cover stays as it is while something is looked at or answered
    r"Leave the cover closed: answer for the (board's end|inside) as you saw it\.": lambda w: not w.cover_open,
    r"Answer from the board's drawing, or from what you noted with the power off: leave the cover closed now\.": (
        lambda w: not w.cover_open
    ),
    r"The cover stays closed and the motors off; keep hands away from heaters and gears\.": lambda w: not w.cover_open,
    r"Then bend the cable and tug at it gently outside the closed cover, and tap the sensor\.": (
        lambda w: not w.cover_open
    ),
    # where the sensor's plug is
    r"Is the sensor plugged in again, and the filament (in|out)\?": lambda w: w.in_use,
    r"With the sensor unplugged the reading must not follow: one that follows shows the wrong plug\.": (
        lambda w: not (w.at_board and w.at_sensor)
    ),
    r"The input is read with the sensor unplugged\.": lambda w: w.readable and not (w.at_board and w.at_sensor),
    r"Set the meter to ohms\.": lambda w: not w.at_board,
    r"Probe the free end of the cable: it is on nothing, so nothing can happen\.": lambda w: not w.at_board,
    r"then nothing is plugged in": lambda w: not w.at_board,
    r"Leave the sensor unplugged\.": lambda w: not w.at_board,
    r"Leave the sensor unplugged: a line of the sheet failed\.": lambda w: not w.at_board,
    r"Supply and ground are joined: do not plug this in, it shorts the supply\.": lambda w: not w.at_board,
    r"The meter shows supply and ground joined: nothing is plugged in before that is put right\.": (
        lambda w: not w.at_board
    ),
    r"No test is asked for: this wiring must not be plugged in\.": lambda w: not w.at_board,
    r"Near 0 V means that USB does not feed this header: it may get 12 or 24 V from mains\.": lambda w: w.leads,
    r"Set the meter to volts and read it at the ends of the two test leads, outside the printer\.": (
        lambda w: w.leads and w.readable
    ),
}


def _found(table: Mapping[str, Callable[[PowerWorld], _T]], sentence: str) -> Callable[[PowerWorld], _T] | None:
    pattern = _pattern(tuple(table), sentence)
    return None if pattern is None else table[pattern]


@cache
def _pattern(patterns: tuple[str, ...], sentence: str) -> str | None:
    """The first that the whole sentence fits; the same sentences are said on many ways through a job."""
    return next((pattern for pattern in patterns if re.fullmatch(pattern, sentence)), None)


def followed(world: PowerWorld, steps: Iterable[str]) -> PowerWorld:
    """The same world after these steps."""
    for step in steps:
        world.follow(step)
    return world
