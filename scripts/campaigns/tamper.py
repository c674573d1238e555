"""A book that was altered is found out: by SQL, in its file, and in the schema that shows it.

    python3 scripts/campaigns/tamper.py [--quick] [--seed N] [--only WORDS]

The book is a real one: two runs, one of them on the simulated printer, and notes. Each case alters a copy of it and has
`commission book verify` look. Held means:

- an altered book is refused: verify says that it is not as it was written or cannot be used, and does not crash;
- a copy whose alteration changed nothing that can be read is passed, and does not crash either;
- a tail cut off, or a whole chain worked out anew, is found with the digest of the newest entry given by `--digest`.
  What verify says of these without the digest is counted and decides nothing: no look at the book alone can know.

Whether a copy is altered is decided here with sqlite3 and hashlib alone: its entries read without any index, the same
read through each index, its schema, its two numbers, and the database's own integrity check.

Counts: 328 by SQL, 200 in the file, every forgery of the schema; --quick 82, 50, and every forgery. The same seed gives
the same alterations at the same places of the list; the book itself has today's date in it.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.campaigns._shape import Result, again, main, own_environment

own_environment()

from scripts.campaigns._alteration import Alteration  # noqa: E402 - once the environment is there
from scripts.campaigns._alterations import alterations  # noqa: E402
from scripts.campaigns._book import seen_of  # noqa: E402
from scripts.campaigns._real_book import make_book  # noqa: E402
from scripts.campaigns._tool import Ended, Tool, Tools  # noqa: E402

NAME = "tamper"
SQL, FILE = 328, 200
QUICK_SQL, QUICK_FILE = 82, 50
ALTERED, UNUSABLE, SOUND = 1, 9, 0
HELD = ("found", "nothing altered", "found by its digest")


def run(*, quick: bool, seed: int, only: str = "") -> Result:
    """Alter the book in every way and have it verified.

    Args:
        quick: a quarter of the alterations by SQL and in the file.
        seed: where chance begins.
        only: words in the name of the cases to try; all of them when empty.
    """
    counts: dict[str, Counter[str]] = {}
    broken: list[str] = []
    without = Counter[str]()
    with tempfile.TemporaryDirectory(prefix="tamper-") as folder, Tools(1) as tools, tools.one() as tool:
        book = make_book(Path(folder), tool)
        whole = _verified(tool, book)
        if whole.code != SOUND:
            raise RuntimeError(f"The book was not sound before it was altered: {whole.told}")
        for number, one in enumerate(alterations(book, seed, *((QUICK_SQL, QUICK_FILE) if quick else (SQL, FILE)))):
            if only not in one.name:
                continue
            came, told, alone = _tried(one, book, Path(folder) / str(number), tool)
            counts.setdefault(one.group, Counter())[came] += 1
            without.update([alone] if alone else [])
            if came not in HELD:
                repeat = again(NAME, quick=quick, seed=seed, case=one.name)
                broken.append(f"BROKEN: {one.name}: {came}: {told}; {repeat}")
    tried = sum(sum(each.values()) for each in counts.values())
    table = [f"{group}: {_in_words(each)}" for group, each in counts.items()]
    table += [f"cut or worked out anew, looked at without its digest: {_in_words(without)}"] if without else []
    return Result(NAME, tried, tried - len(broken), len(broken), seed, (*table, *broken))


def _in_words(counts: Counter[str]) -> str:
    return ", ".join(f"{count} {what}" for what, count in counts.most_common())


def _verified(tool: Tool, book: Path, *digest: str) -> Ended:
    return tool.run("book", "verify", "--book", book, *digest, folder=book.parent)


def _tried(one: Alteration, book: Path, folder: Path, tool: Tool) -> tuple[str, str, str]:
    """What became of it, what verify said, and what it says without a digest where it needs one."""
    folder.mkdir()
    copy, judged = folder / "book.sqlite3", folder / "judged.sqlite3"
    copy.write_bytes(book.read_bytes())
    one.alter(copy)
    judged.write_bytes(copy.read_bytes())
    same = seen_of(judged) == seen_of(book)
    if not one.needs_digest:
        said = _verified(tool, copy)
        return _came(said, same=same), said.told, ""
    alone = _verified(tool, copy)
    said = _verified(tool, copy, "--digest", one.head)
    if same:
        return "nothing altered", "", ""
    if said.crashed or said.code != ALTERED:
        return _came(said, same=False), said.told, ""
    return "found by its digest", "", "missed" if alone.code == SOUND else "found"


def _came(said: Ended, *, same: bool) -> str:
    if said.crashed:
        return "crashed"
    if said.code in (ALTERED, UNUSABLE):
        return "refused, though nothing was altered" if same else "found"
    if said.code == SOUND:
        return "nothing altered" if same else "missed"
    return "ended with another code"


if __name__ == "__main__":
    main(run)
