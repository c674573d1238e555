"""`commission roster`: which printers there are, and which port each is behind."""

from pathlib import Path

import click

from commission.cli import Program

PLACES = {
    "show": "commission.cli.roster_show:show",
    "propose": "commission.cli.roster_show:propose",
    "complete": "commission.cli.roster_show:complete",
    "prove": "commission.cli.roster_prove:prove",
}


@click.command(cls=Program, places=PLACES)
def roster() -> None:
    """x"""
