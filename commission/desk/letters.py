"""Letters and digits seven lines high, drawn for this desk so that a word can be read from across a bench.

A terminal's cells are about twice as high as wide. Upright strokes are therefore two cells wide and level strokes one
cell high, which gives both the same thickness.
"""

HEIGHT = 7
_GAP = "  "
_INK = "#"

_DRAWN = """
A       C       D       E       H       I      K       L
.#####. .#####. ######. ####### ##...## ###### ##...## ##.....
##...## ##...## ##...## ##..... ##...## ..##.. ##..##. ##.....
##...## ##..... ##...## ##..... ##...## ..##.. ##.##.. ##.....
####### ##..... ##...## #####.. ####### ..##.. ####... ##.....
##...## ##..... ##...## ##..... ##...## ..##.. ##.##.. ##.....
##...## ##...## ##...## ##..... ##...## ..##.. ##..##. ##.....
##...## .#####. ######. ####### ##...## ###### ##...## #######

N       P       R       S       T        U       V       W
##...## ######. ######. .#####. ######## ##...## ##...## ##...##
###..## ##...## ##...## ##...## ...##... ##...## ##...## ##...##
####.## ##...## ##...## ##..... ...##... ##...## ##...## ##...##
##.#### ######. ######. .#####. ...##... ##...## ##...## ##.#.##
##..### ##..... ##.##.. .....## ...##... ##...## .##.##. #######
##...## ##..... ##..##. ##...## ...##... ##...## .##.##. ###.###
##...## ##..... ##...## .#####. ...##... .#####. ..###.. ##...##

0       1      2       3       4       5       6       7       8       9
.#####. ..##.. .#####. ######. ##...## ####### .#####. ####### .#####. .#####.
##...## ####.. ##...## .....## ##...## ##..... ##..... .....## ##...## ##...##
##...## ..##.. .....## .....## ##...## ##..... ##..... ....##. ##...## ##...##
##...## ..##.. ...###. .#####. ####### ######. ######. ...##.. .#####. .######
##...## ..##.. .###... .....## .....## .....## ##...## ..##... ##...## .....##
##...## ..##.. ##..... .....## .....## .....## ##...## ..##... ##...## .....##
.#####. ###### ####### ######. .....## ######. .#####. ..##... .#####. .#####.
"""


def _glyphs() -> dict[str, list[str]]:
    drawn: dict[str, list[str]] = {" ": ["    "] * HEIGHT}
    for block in _DRAWN.strip().split("\n\n"):
        names, *rows = (line.split() for line in block.splitlines())
        for name, *cells in zip(names, *rows, strict=True):
            drawn[name] = [row.replace(".", " ") for row in cells]
    return drawn


_GLYPHS = _glyphs()


def large(word: str, ink: str = _INK) -> list[str]:
    """The word in `HEIGHT` lines.

    Args:
        word: capitals, digits and spaces that have been drawn.
        ink: the character to draw with.

    Raises:
        ValueError: a character that has not been drawn.
    """
    missing = sorted(set(word) - _GLYPHS.keys())
    if missing:
        raise ValueError(f"No large form is drawn for {', '.join(missing)}")
    return [_GAP.join(_GLYPHS[letter][row] for letter in word).replace(_INK, ink) for row in range(HEIGHT)]


def spaced(text: str) -> str:
    """Capitals with a space after each, the next larger thing to a drawn letter."""
    return " ".join(text.upper())
