"""The simulated plant and board against the wiring table of the trade (common practice, no source)."""

import dataclasses

import pytest

from fake_printer.board import Board
from fake_printer.circuit import solve
from fake_printer.plant import Plant
from fake_printer.specs import BoardSpec, CableSpec, ContactSpec, FilamentSpec, InputSpec, PlantSpec

SG, SV, VG = ("signal", "ground"), ("signal", "supply"), ("supply", "ground")
PRESSED, RELEASED = "pressed", "released"


def level(contacts: list[tuple[tuple[str, str], str]], pull: str, presence: str, **wires: str) -> str:
    """What stands at the input of such a sensor; `short` when the supply is down."""
    built = tuple(ContactSpec(between=between, closed_when=when) for between, when in contacts)  # type: ignore[arg-type]
    supply = "sound" if any("supply" in between for between, _ in contacts) else "absent"
    cable = dataclasses.replace(CableSpec(supply=supply), **wires)  # type: ignore[arg-type]
    plant = Plant(PlantSpec(FilamentSpec(start=presence), contacts=built, cable=cable), "0")  # type: ignore[arg-type]
    board = Board(BoardSpec(input=InputSpec(pull=pull)), "0")  # type: ignore[arg-type]
    board.look(plant.links())
    return "short" if board.circuit.supply_shorted else board.level


NO_TO_GROUND = [(SG, PRESSED)]
NC_TO_GROUND = [(SG, RELEASED)]
NO_TO_SUPPLY = [(SV, PRESSED)]
NC_TO_SUPPLY = [(SV, RELEASED)]
NO_SUPPLY_NC_GROUND = [(SV, PRESSED), (SG, RELEASED)]
NO_GROUND_NC_SUPPLY = [(SG, PRESSED), (SV, RELEASED)]
COMMON_SUPPLY = [(SV, PRESSED), (VG, RELEASED)]


@pytest.mark.parametrize(
    ("contacts", "pull", "filament_in", "filament_out"),
    [
        (NO_TO_GROUND, "up", "low", "high"),
        (NC_TO_GROUND, "up", "high", "low"),
        (NO_TO_SUPPLY, "down", "high", "low"),
        (NC_TO_SUPPLY, "down", "low", "high"),
        (NO_TO_GROUND, "down", "low", "low"),
        (NO_TO_SUPPLY, "up", "high", "high"),
        (NO_TO_GROUND, "none", "low", "floating"),
        (NC_TO_SUPPLY, "none", "floating", "high"),
        (NO_SUPPLY_NC_GROUND, "up", "high", "low"),
        (NO_SUPPLY_NC_GROUND, "down", "high", "low"),
        (NO_GROUND_NC_SUPPLY, "up", "low", "high"),
        (NO_GROUND_NC_SUPPLY, "down", "low", "high"),
        (COMMON_SUPPLY, "up", "high", "short"),
    ],
)
def test_sound_wiring(contacts: list, pull: str, filament_in: str, filament_out: str) -> None:  # type: ignore[type-arg]
    """Each wiring gives the level of its row with filament in and out."""
    assert (filament_in, filament_out) == (level(contacts, pull, "in"), level(contacts, pull, "out"))


@pytest.mark.parametrize(
    ("contacts", "pull", "wire", "filament_in", "filament_out"),
    [
        (NO_TO_GROUND, "up", "signal", "high", "high"),
        (NO_TO_GROUND, "up", "ground", "high", "high"),
        (NC_TO_GROUND, "up", "signal", "high", "high"),
        (NO_TO_SUPPLY, "down", "supply", "low", "low"),
        (NO_GROUND_NC_SUPPLY, "up", "ground", "high", "high"),
        (NO_GROUND_NC_SUPPLY, "up", "supply", "low", "high"),
        (NO_SUPPLY_NC_GROUND, "up", "ground", "high", "high"),
    ],
)
def test_one_wire_broken(contacts: list, pull: str, wire: str, filament_in: str, filament_out: str) -> None:  # type: ignore[type-arg]
    """One broken wire leaves the input to its pull, or to the wires that are left."""
    broken = {wire: "open"}

    assert (filament_in, filament_out) == (
        level(contacts, pull, "in", **broken),
        level(contacts, pull, "out", **broken),
    )


def test_chafed_cable_holds_the_signal_low() -> None:
    """Signal and ground touching in the cable hold the input low until the plug is pulled at the board."""
    plant = Plant(PlantSpec(cable=CableSpec(chafed=("signal", "ground"))), "0")

    assert "low" == solve(plant.links()).held

    plant.cable.plugged_at_board = False

    assert solve(plant.links()).held is None


def test_transistor_conducts_only_with_supply() -> None:
    """A contact that needs supply does not conduct once the supply wire is broken."""
    spec = ContactSpec(needs_supply=True)
    plant = Plant(PlantSpec(FilamentSpec(start="in"), contacts=(spec,), cable=CableSpec(supply="sound")), "0")

    assert "low" == solve(plant.links()).held

    plant.cable.conductors["supply"] = "open"

    assert solve(plant.links()).held is None


@pytest.mark.parametrize(("fault", "expected"), [("welded", "low"), ("dead", None)])
def test_faulty_contact_ignores_the_lever(fault: str, expected: str | None) -> None:
    """A welded contact holds the signal low and a dead one never does, with filament in and out."""
    for start in ("in", "out"):
        spec = ContactSpec(fault=fault)  # type: ignore[arg-type]
        plant = Plant(PlantSpec(FilamentSpec(start=start), contacts=(spec,)), "0")

        assert expected == solve(plant.links()).held
