"""The name of the computer that writes, as it stands with every entry."""

import os
import platform
from collections.abc import Mapping

VARIABLE = "COMMISSION_BENCH"


def bench_name(named: str = "", environment: Mapping[str, str] = os.environ) -> str:
    """As named on the command line, else in the environment, else as the computer calls itself."""
    return named.strip() or environment.get(VARIABLE, "").strip() or platform.node()
