"""What an entry belongs to, as far as it and the entries before it tell."""

from commission.dialect.sources.spelling import kind_and_name
from commission.evidence.entry import About, Entry
from commission.evidence.findings.loop import SwitchNamed
from commission.evidence.findings.series import TrialSeries
from commission.evidence.findings.several import SensorBegun, SensorsJudged
from commission.evidence.found import Established
from commission.evidence.measured import MovesBegan, Trial, TrialBegan, Watch, WatchBegan
from commission.evidence.soaked import SoakBegan


def told_by(entry: Entry, about: About) -> About:
    """What this entry and those after it belong to, given what those before it did.

    The series is the one that was named last. The sensor under test is the switch that was named last: when its name
    was settled, or by a prompt or watch; its name tells how it is read. Where several are tested one after the other,
    each begins by a finding, and once all are judged what follows belongs to none.
    """
    match entry:
        case Established(finding=TrialSeries(series=series)):
            return About(about.sensor, about.source, series, about.bench)
        case Established(finding=SensorsJudged()):
            return About(bench=about.bench)
    sensor = _sensor(entry)
    return About(sensor, kind_and_name(sensor)[0].value, about.series, about.bench) if sensor else about


def _sensor(entry: Entry) -> str:
    match entry:
        case TrialBegan(switch=name) | Trial(switch=name) | WatchBegan(switch=name) | Watch(switch=name):
            return name
        case MovesBegan(switch=name) | SoakBegan(switch=name):
            return name
        case Established(finding=SwitchNamed(switch=settled)):
            return settled or ""
        case Established(finding=SensorBegun(sensor=sensor)):
            return sensor
    return ""
