"""A campaign in slices: added up, they are what the campaign in one go is."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from scripts.commissioning.slices import NotASlice, added_up
from scripts.simulate_commissioning import main

KIND = "fail-danger: changeover"
STICKY = "lever sticks in 10 % of withdrawals"


def slice_file(folder: Path, first: int, end: int, *, kind: str = KIND, **other: Any) -> Path:
    """A slice as the command writes it, without carrying it out; `other` replaces what stands in the file."""
    row = {"kind": kind, "claim": "UNSAFE", "runs": end - first, "verdicts": {"fail": end - first}, "examples": [first]}
    file = folder / f"{len(list(folder.iterdir()))}.json"
    file.write_text(json.dumps({"seed": 1, "slips": None, "numbers": [first, end], "kinds": [row]} | other))
    return file


def counted(files: Sequence[Path]) -> dict[str, dict[str, int]]:
    """The verdicts of each kind in these files together."""
    return {row.kind: row.verdicts for row in added_up(files)[1]}


def test_slices_add_up_to_the_whole(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same commissionings in two slices and in one go come to the same rows, whatever the order of the files."""
    whole, first, second = (tmp_path / f"{name}.json" for name in ("whole", "first", "second"))
    common = ("--only", STICKY, "--processes", "1", "--seed", "3", "--json")
    main([*common, str(whole), "--runs", "12"])
    main([*common, str(second), "--numbers", "5:12"])
    main([*common, str(first), "--numbers", "0:5"])
    capsys.readouterr()
    summed = tmp_path / "summed.json"
    code = main(["--sum", str(second), str(first), "--json", str(summed)])
    said = capsys.readouterr().out

    assert json.loads(whole.read_text())["kinds"] == json.loads(summed.read_text())["kinds"]
    assert [5, 12] == json.loads(second.read_text())["numbers"]
    assert said.startswith("12 commissionings of 1 kinds, seed 3.")
    assert (1, True) == (code, "too few" in said)


def test_a_sum_needs_the_number_that_a_claim_needs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Twenty thousand for the polarity, three thousand of an unsafe kind: with them every figure holds."""
    files = [slice_file(tmp_path, first, first + 5000) for first in range(0, 20_000, 5000)]

    assert 1 == main(["--sum", *map(str, files[:3])])
    assert 0 == main(["--sum", *map(str, files)])
    assert "0 of 20000 (0.00%; 0.00% to 0.01%)" in capsys.readouterr().out


def test_slices_of_several_kinds_stand_side_by_side(tmp_path: Path) -> None:
    """Each kind has its own numbers."""
    files = [slice_file(tmp_path, 0, 5), slice_file(tmp_path, 0, 7, kind=STICKY), slice_file(tmp_path, 5, 9)]

    assert {KIND: {"fail": 9}, STICKY: {"fail": 7}} == counted(files)


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"numbers": [3, 8]}, "hold the same commissionings"),
        ({"numbers": [10, 20]}, "was not carried out whole: 5 of 10"),
        ({"seed": 2, "numbers": [5, 10]}, "is of seed 2"),
        ({"slips": 0.02, "numbers": [5, 10]}, "slips 0.02"),
        ({"numbers": None}, "is no slice"),
        ({"kinds": [{"kind": KIND}], "numbers": [5, 10]}, "holds no counts of a kind"),
        ({"kinds": [{"kind": "none", "claim": "UNSAFE", "runs": 5}], "numbers": [5, 10]}, "a kind that there is not"),
    ],
)
def test_a_slice_that_does_not_fit_is_refused(tmp_path: Path, other: dict[str, Any], said: str) -> None:
    """None is counted twice, left out half, or mixed with other people; the file is named."""
    good, bad = slice_file(tmp_path, 0, 5), slice_file(tmp_path, 5, 10, **other)

    with pytest.raises(NotASlice, match=said) as refused:
        added_up([good, bad])
    assert str(bad) in str(refused.value)


def test_a_damaged_file_ends_with_wrong_usage(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2 and a sentence that names it."""
    (tmp_path / "cut.json").write_text('{"seed": 1')

    assert 2 == main(["--sum", str(tmp_path / "cut.json")])
    assert "cut.json cannot be read" in capsys.readouterr().err


@pytest.mark.parametrize("numbers", ["5", "5:5", "7:5", "-1:5", "a:b", "0:1000001"])
def test_wrong_numbers_of_a_slice_are_refused(numbers: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A slice is at least one commissioning."""
    with pytest.raises(SystemExit) as ended:
        main(["--only", KIND, f"--numbers={numbers}"])

    assert 2 == ended.value.code
    assert "is no slice: give FIRST:END" in capsys.readouterr().err
