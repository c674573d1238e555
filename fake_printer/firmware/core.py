"""One life of the firmware: what it holds in working memory, what goes on by itself, and what its handlers may use."""

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware.actions import prompt_lines
from fake_printer.firmware.beats import Beats
from fake_printer.firmware.body import Body
from fake_printer.firmware.command import Command
from fake_printer.firmware.dialogue import Dialogue, Job
from fake_printer.firmware.heat import Heater
from fake_printer.firmware.intake import Refusal
from fake_printer.firmware.motion import Planner
from fake_printer.firmware.movement import Movement
from fake_printer.firmware.outbox import Outbox
from fake_printer.firmware.reception import Reception
from fake_printer.firmware.runner import Meddler, Runner
from fake_printer.firmware.runout import Runout
from fake_printer.firmware.settings import Settings
from fake_printer.firmware.timers import Timer
from fake_printer.firmware.voice import Voice
from fake_printer.memory import Memory, Retrieval
from fake_printer.specs import InputSpec


class Firmware:
    """Everything in it is lost with it; `memory` is not.

    Attributes:
        relative, relative_e: how positions in moves are meant.
        heat_wait: a command waits for a temperature. killed: stopped for good, until a restart.
    """

    def __init__(
        self,
        spec: FirmwareSpec,
        pin: InputSpec,
        voice: "Voice[Firmware]",
        body: Body,
        memory: Memory,
        meddler: "Meddler[Firmware]",
    ) -> None:
        self.spec = spec
        self.input = pin
        self.voice = voice
        self.body = body
        self.memory = memory
        self.settings = Settings(spec)
        self.outbox = Outbox()
        self.reception = Reception(spec, self._obey)
        self.runner = Runner(self, voice, meddler)
        self.planner = Planner()
        self.hotend = Heater(rise_c_s=spec.nozzle_rise_c_s, decay_s=150.0)
        self.bed = Heater(rise_c_s=0.7, decay_s=500.0)
        self.job = Job()
        self.dialogue = Dialogue()
        self.runout = Runout(
            left_to_host=spec.runout.left_to_host,
            distance_mm=lambda: voice.leftover_mm(self),
            empty_start=spec.runout.empty_start,
        )
        self.movement = Movement(spec.runout.motion_distance_mm if spec.runout.senses == "motion" else 0.0)
        self.relative = self.relative_e = self.cold_allowed = self.echoes = False
        self.coldest_extrusion_c = spec.coldest_extrusion_c
        self.keepalive_s = spec.keepalive_s
        self.message = ""
        self.heat_wait = self.killed = False
        self._beats = Beats(idle_word=spec.idle_wait)
        self._refused: Refusal | None = None
        self._deaf_s = self._settling_s = 0.0
        self._cause = ""
        self._runouts = 0
        self._has_banner = True

    # beginning

    def wake(self) -> None:
        """Be as if it had been running for long: settings loaded, nothing said."""
        self._load()
        if self.spec.runout.switched_on:
            self.settings.overlay({"M412": {"S": 1.0}})
        self.voice.begins(self)

    def boot(self, cause: str, *, boot_s: float, settle_s: float, has_banner: bool) -> None:
        """Begin with a restart: silence, then the banner (where anybody can hear it), then service."""
        self._cause = cause
        self._deaf_s, self._settling_s = max(boot_s, 1e-6), settle_s
        self._has_banner = has_banner

    @property
    def booting(self) -> bool:
        """Whether it does not serve yet."""
        return self.deaf or self._settling_s > 0

    @property
    def deaf(self) -> bool:
        """Whether bytes that arrive now are lost."""
        return self._deaf_s > 0

    def _load(self) -> Retrieval | None:
        found = self.settings.retrieve(self.memory) if self.spec.has_storage else None
        self.runout.reset()
        return found

    # what handlers use

    def say(self, *lines: str) -> None:
        """Add lines to the reply that is being given."""
        self.runner.say(lines)

    def say_on_ok(self, data: str) -> None:
        """Have this on the line of the acknowledgement."""
        self.runner.data = data

    def announce(self, *lines: str) -> None:
        """Send lines that belong to no reply."""
        self.outbox.put_lines(lines)

    def action(self, text: str) -> None:
        """Tell the host of an action, in builds that do."""
        if self.spec.tells_host:
            self.say(f"//action:{text}")

    def prompt(self, text: str, *buttons: str) -> None:
        """Put a question to the host's person, in builds that do."""
        if self.spec.tells_host and self.spec.asks_host:
            self.say(*prompt_lines(text, *buttons))

    def feed(self, distance_mm: float) -> None:
        """Turn the drive gear, if there is power to do it."""
        if self.body.motors_powered():
            self.body.draw(distance_mm)
            self.movement.fed(distance_mm)

    def report_every(self, interval_s: float) -> None:
        """Report the temperatures by itself; 0 ends it."""
        self._beats.report = Timer(interval_s)

    def begin_busy(self) -> None:
        """A command has begun: the keepalives count from here, and a line that was refused before it is forgotten."""
        self._beats.busy = Timer(self.keepalive_s)
        self._refused, self._beats.again = None, Timer()

    def begin_idle(self) -> None:
        """A command has ended: the idle word counts from here."""
        self._beats.idle.restart()

    def kill(self) -> None:
        """Emergency stop: last words, heaters off, and silence until a restart."""
        self.killed = True
        self.hotend.target_c = self.bed.target_c = 0.0
        self.planner.drop()
        self.runner.clear()
        self.reception.clear()
        self.announce(*self.voice.killed())

    @property
    def may_extrude(self) -> bool:
        """Whether it is hot enough, or does not have to be."""
        return self.cold_allowed or self.hotend.temperature_c >= self.coldest_extrusion_c

    @property
    def runout_enabled(self) -> bool:
        """Whether the runout logic is built in and switched on."""
        return self.spec.runout.compiled and self.voice.watching_on(self)

    def filament_absent(self) -> bool:
        """What the build concludes from the input."""
        return self._absent(high=self.body.pin_high())

    def _absent(self, *, high: bool) -> bool:
        return high == (self.input.absent_level == "high")

    def disable_runout(self) -> None:
        """Switch watching off in working memory."""
        self.settings.overlay({"M412": {"S": 0.0}})

    def temperature_text(self) -> str:
        """Both temperatures as the reports give them."""
        hotend, bed = self.hotend, self.bed
        heating = [127 if h.target_c > h.temperature_c else 0 for h in (hotend, bed)]
        measured = f"T:{hotend.temperature_c:.2f} /{hotend.target_c:.2f} B:{bed.temperature_c:.2f} /{bed.target_c:.2f}"
        return f"{measured} @:{heating[0]} B@:{heating[1]}"

    # bytes in

    def receive(self, data: bytes) -> None:
        """Take bytes from the line; what does not fit into the buffer is lost."""
        for _ in () if self.deaf or self.killed else self.reception.take(data):
            self._poll()
            if self.killed:
                return

    def _obey(self, word: Command) -> None:
        if word.code == "M108":
            self.heat_wait = False
            self.dialogue.go_on()
        elif word.code == "M112":
            self.kill()
        elif word.code == "M410":
            self.planner.drop()
        elif (choice := word.number_of("S")) is not None:
            self.dialogue.choose(int(choice))

    def _poll(self) -> None:
        more = not self.booting
        while more and not self.killed:
            for refusal in self.reception.gather():
                self.announce(*self.voice.refused(refusal))
                self._refused, self._beats.again = refusal, Timer(self.voice.asks_again_s)
            more = not self.killed and self.runner.step()

    # time

    def advance(self, elapsed_s: float) -> None:
        """Let time pass, at most `until_next_s` at a time; what is due then is done by `serve`."""
        if self.booting:
            self._advance_boot(elapsed_s)
            return
        for heater in (self.hotend, self.bed):
            heater.advance(elapsed_s, powered=self.body.motors_powered())
        if self.killed:
            return
        self.voice.passes(elapsed_s)
        self.planner.advance(elapsed_s, self.feed, self.runout.move_done)
        self.job.advance(elapsed_s)
        high = self.body.pin_high()
        self.movement.look(high=high)
        missing = self.movement.missing(absent=self._absent(high=high))
        if self.runout.watch(elapsed_s, absent=missing, armed=self.watching):
            self._run_out()
        self.runner.advance(elapsed_s)
        self._beats.advance(elapsed_s, running=self.runner.running is not None)

    def serve(self) -> None:
        """Do and say what has become due, with everything around as it is now."""
        self._poll()
        due = self._beats.take_due()
        if not self.killed:
            self._speak_by_itself(due)

    def _advance_boot(self, elapsed_s: float) -> None:
        if self._deaf_s == 0:
            self._settling_s = max(0.0, self._settling_s - elapsed_s)
            return
        self._deaf_s = max(0.0, self._deaf_s - elapsed_s)
        if self._deaf_s == 0:
            found = self._load()
            self.voice.begins(self)
            self.announce(*(self.voice.banner(self._cause, self, found) if self._has_banner else ()))

    @property
    def watching(self) -> bool:
        """Whether the runout logic looks at the input."""
        return self.voice.in_job(self) and self.runout_enabled

    @property
    def heeds_the_input(self) -> bool:
        """Whether anything in it could notice a change of the input that is over in a moment."""
        return self.runner.running is not None or self.movement.watched or self.watching

    @property
    def drawing_mm_s(self) -> float:
        """How fast the drive gear turns; negative draws back."""
        return self.planner.drawing_mm_s if self.body.motors_powered() else 0.0

    def _run_out(self) -> None:
        self._runouts += 1
        self.voice.run_out(self, self._runouts)

    def _speak_by_itself(self, due: set[Timer]) -> None:
        """Say what is due, unless what was done meanwhile has made an end of it."""
        beats, running = self._beats, self.runner.running is not None
        if beats.report in due:
            self.announce(f" {self.temperature_text()}")
        if beats.again in due and self._refused is not None:
            self.announce(*self.voice.refused(self._refused))
        if beats.idle in due and not running:
            self.announce("wait")
        if beats.busy in due and running:
            state = "paused for user" if self.dialogue.waiting else "processing"
            self.announce(*self.voice.busy(state))

    def until_next_s(self) -> float:
        """Seconds for which nothing here happens by itself."""
        if self.booting:
            return min(self._deaf_s or self._settling_s, self.outbox.until_next_s())
        if self.killed:
            return self.outbox.until_next_s()
        return min(
            self.outbox.until_next_s(),
            self.planner.until_next_s(),
            self.runout.until_next_s(absent=self.movement.missing(absent=self.filament_absent()), armed=self.watching),
            self.movement.until_missed_s(self.drawing_mm_s),
            self.runner.until_next_s(),
            self._beats.until_next_s(running=self.runner.running is not None),
        )
