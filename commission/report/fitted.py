"""The sheet of what is fitted: what the next person at the machine must know of sensor, input and printer."""

from collections.abc import Iterator

from commission.evidence.findings.base import Finding
from commission.evidence.findings.function import FunctionTest, Reserve
from commission.evidence.findings.loop import FailSafeFound, Polarity
from commission.evidence.findings.meeting import PrinterIdentity
from commission.evidence.findings.pull import PullProof
from commission.evidence.findings.reported import RunoutControlled
from commission.evidence.findings.wiring import InputClaims, Wiring
from commission.report.document import Pairs, Paragraph, Section
from commission.report.figures import figures
from commission.report.first_sentence import first_sentence
from commission.report.record import RunFacts
from commission.units import millimetres

NOT_ON_RECORD = "not on record"
LONGEST = 400
"""Characters of one value; what is longer stands whole in the findings."""


def fitted_section(run: RunFacts) -> Section:
    """Two columns of names and values; a value that an earlier run established names that run."""
    rows = (*_sensor(run), *_printer(run))
    told = (kept for kept in run.kept if kept.run != run.number and not _says_its_source(kept.finding))
    earlier = sorted({kept.run for kept in told if _told(run, type(kept.finding))})
    blocks = [Pairs(rows, sheet=True)]
    if not earlier:
        return Section("fitted", "What is fitted", tuple(blocks), page=1)
    said = Paragraph(f"What this run did not establish itself is from {', '.join(earlier)}.", "quiet")
    return Section("fitted", "What is fitted", (*blocks, said), page=1)


_SHEET = (Wiring, InputClaims, Polarity, FailSafeFound, PullProof, Reserve, RunoutControlled, FunctionTest)


def _says_its_source(finding: Finding) -> bool:
    """Whether it is no run's: the sheet says beside it where it is from."""
    return isinstance(finding, Wiring) and bool(finding.source)


def _told(run: RunFacts, kind: type) -> bool:
    """Whether a finding of an earlier run stands on the sheet: this run has none of its kind."""
    base = next((each for each in _SHEET if issubclass(kind, each)), None)
    return base is not None and run.finding(base) is None


def _sensor(run: RunFacts) -> Iterator[tuple[str, str]]:
    polarity, reserve = run.known(Polarity), run.known(Reserve)
    yield "Sensor and wiring", _wiring(run)
    yield "Input", _sentence(run, InputClaims)
    yield "Polarity", NOT_ON_RECORD if polarity is None else polarity[0].behaviour.value
    yield "With a wire off", _sentence(run, FailSafeFound)
    yield "Pull of the input", _sentence(run, PullProof)
    yield "Runout detection", _detection(run)
    yield "Filament reserve", _reserve(None if reserve is None else reserve[0])
    yield "Function test", _sentence(run, FunctionTest)


def _printer(run: RunFacts) -> Iterator[tuple[str, str]]:
    identity = run.known(PrinterIdentity)
    announced = (None, None) if identity is None else (identity[0].machine, identity[0].firmware_name)
    yield "Machine, as announced", announced[0] or NOT_ON_RECORD
    yield "Firmware, as announced", announced[1] or NOT_ON_RECORD
    yield "Site", run.started.site or "not given"
    yield "Port", run.started.port or "none"


def _sentence(run: RunFacts, kind: type[InputClaims | FailSafeFound | PullProof | FunctionTest]) -> str:
    found = run.known(kind)
    sentences = () if found is None else found[0].sentences
    return _cut(first_sentence(sentences[0])) if sentences else NOT_ON_RECORD


def _wiring(run: RunFacts) -> str:
    """As it was declared, in words; what an earlier version drew says so itself."""
    found = run.known(Wiring)
    if found is None:
        return NOT_ON_RECORD
    drawn = figures(found[0])
    said = drawn[0].caption if drawn else " ".join(found[0].sentences)
    source = found[0].source
    declared = [f"{source[:1].upper()}{source[1:]}."] if source else []
    return " ".join([*([_cut(said)] if said else []), *declared]) or NOT_ON_RECORD


def _detection(run: RunFacts) -> str:
    found = run.known(RunoutControlled)
    if found is None:
        return NOT_ON_RECORD
    enabled = {True: "on", False: "off", None: "not stated"}[found[0].enabled]
    distance_mm = found[0].distance_mm
    return enabled if distance_mm is None else f"{enabled}; leftover distance {millimetres(distance_mm)}"


def _reserve(found: Reserve | None) -> str:
    if found is None or found.path is None:
        return NOT_ON_RECORD
    most = "not known" if found.leftover_max_mm is None else millimetres(found.leftover_max_mm)
    return f"trip point to gear {millimetres(found.path.trip_to_gear_mm)}; leftover at most {most}"


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[:LONGEST].rstrip()}…"
