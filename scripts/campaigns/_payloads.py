"""Texts that would do something if a terminal, a browser, a reader of Markdown or a calendar obeyed them."""

from __future__ import annotations

HARMLESS = "an ordinary text"
TRAP = "http://127.0.0.1:{port}/"
"""What a page would call if it obeyed; the port is filled in where somebody listens."""
_TRAP = "http://127.0.0.1:47913/"
PORT = 47913

PAYLOADS = {
    "colour and clear": "\x1b[2J\x1b[31mred\x1b[0m",
    "window title": "\x1b]0;owned\x07",
    "clipboard": "\x1b]52;c;b3duZWQ=\x07",
    "one-byte control": "\x9b31mred\x9d0;owned\x9c",
    "link in a terminal": f"\x1b]8;;{_TRAP}\x1b\\click\x1b]8;;\x1b\\",
    "backspaces": "pass\x08\x08\x08\x08fail\x7f",
    "carriage return": "verdict: fail\rverdict: pass",
    "line breaks": "one\ntwo\n\n# three\n\n- four",
    "odd line breaks": "one\x0btwo\x0cthree\x85four\u2028five\u2029six",
    "direction marks": "\u202eliaf\u202c \u2066x\u2069 \u200f",
    "script": f"<script>fetch('{_TRAP}script')</script>",
    "picture": f'"><img src="{_TRAP}picture" onerror="location=1">',
    "frame": f"<iframe src='{_TRAP}frame'></iframe></style></title></pre>",
    "style": f"</style><style>body{{background:url({_TRAP}style)}}",
    "template": "{{ 7*7 }}{% raw %}${7*7}&lt;b&gt;&#60;b&#62;",
    "comment": f"--><link rel=stylesheet href={_TRAP}link><!--",
    "Markdown link": f"[click]({_TRAP}) ![x]({_TRAP}markdown) <{_TRAP}auto> [a]: {_TRAP}",
    "Markdown table": "a | b | c\n--- | ---\n`code` **bold** ***",
    "formula": f'=HYPERLINK("{_TRAP}")',
    "formula with a sign": "@SUM(1+1)*cmd|' /C calc'!A0",
    "calendar": "x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:owned\r\nATTACH:" + _TRAP,
    "printer command": "x\nG28\nM104 S250\n; \rM502",
}
"""Each by what it is for; none has a NUL, which no command line can hold."""
