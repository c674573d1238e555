"""The command line: one file per subcommand; the only place that plugs real parts together."""


def main() -> None:
    """Run the command line."""
    raise SystemExit("not built yet")
