# ruff: noqa: RUF001  (signs that look alike are what this table is about)
"""LaTeX as it stands in reference lists to plain text: accents, letters, dashes, quotes, a few signs.

Commands: L. Lamport, LaTeX: A Document Preparation System, 2nd ed. 1994, sections 3.2 and 3.3. A command that is not
known here is reported, never dropped in silence: a missing sign can change what a title says.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping

_ACCENTS: Mapping[str, str] = {
    "`": "\u0300", "'": "\u0301", "^": "\u0302", "~": "\u0303", "=": "\u0304", "u": "\u0306", ".": "\u0307",
    '"': "\u0308", "r": "\u030a", "H": "\u030b", "v": "\u030c", "d": "\u0323", "c": "\u0327", "k": "\u0328",
    "b": "\u0331", "t": "\u0361",
}  # fmt: skip
"""Command to the Unicode mark that follows the letter it stands on."""

_SIGNS: Mapping[str, str] = {
    "ss": "ß", "o": "ø", "O": "Ø", "l": "ł", "L": "Ł", "ae": "æ", "AE": "Æ", "oe": "œ", "OE": "Œ", "aa": "å",
    "AA": "Å", "i": "ı", "j": "ȷ", "dh": "ð", "DH": "Ð", "th": "þ", "TH": "Þ", "dj": "đ", "DJ": "Đ", "ng": "ŋ",
    "NG": "Ŋ", "&": "&", "%": "%", "$": "$", "#": "#", "_": "_", "{": "{", "}": "}", "S": "§", "P": "¶",
    "pounds": "£", "euro": "€", "texteuro": "€", "copyright": "©", "textregistered": "®", "texttrademark": "™",
    "dots": "…", "ldots": "…", "textellipsis": "…", "textendash": "–", "textemdash": "—", "textquotesingle": "'",
    "textquoteleft": "‘", "textquoteright": "’", "textquotedblleft": "“", "textquotedblright": "”", "lq": "‘",
    "rq": "’", "textquotedbl": '"', "textasciitilde": "~", "textasciicircum": "^", "textbackslash": "\\",
    "textunderscore": "_", "textless": "<", "textgreater": ">", "textbar": "|", "textbullet": "•",
    "textdegree": "°", "degree": "°", "circ": "°", "textmu": "µ", "micro": "µ", "textperthousand": "‰",
    "textonehalf": "½", "textpm": "±", "texttimes": "×", "pm": "±", "mp": "∓", "times": "×", "div": "÷",
    "cdot": "·", "textperiodcentered": "·", "leq": "≤", "le": "≤", "geq": "≥", "ge": "≥", "lt": "<", "gt": ">",
    "neq": "≠", "ne": "≠", "approx": "≈", "sim": "∼", "infty": "∞", "rightarrow": "→", "to": "→", "prime": "′",
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "varepsilon": "ε", "zeta": "ζ",
    "eta": "η", "theta": "θ", "iota": "ι", "kappa": "κ", "lambda": "λ", "mu": "µ", "nu": "ν", "xi": "ξ", "pi": "π",
    "rho": "ρ", "sigma": "σ", "tau": "τ", "upsilon": "υ", "phi": "φ", "varphi": "φ", "chi": "χ", "psi": "ψ",
    "omega": "ω", "Gamma": "Γ", "Delta": "Δ", "Theta": "Θ", "Lambda": "Λ", "Xi": "Ξ", "Pi": "Π", "Sigma": "Σ",
    "Phi": "Φ", "Psi": "Ψ", "Omega": "Ω", "TeX": "TeX", "LaTeX": "LaTeX",
    " ": " ", ",": " ", ";": " ", ":": " ", "\\": " ", "newline": " ", "quad": " ", "qquad": " ", "space": " ",
}  # fmt: skip

_WITHOUT_TEXT = frozenset({
    "emph", "textit", "textbf", "textsc", "textrm", "texttt", "textsf", "textup", "textmd", "textsl", "textnormal",
    "text", "mbox", "mathrm", "mathit", "mathbf", "mathsf", "mathnormal", "ensuremath", "url", "path", "nolinkurl",
    "textsubscript", "textsuperscript", "em", "it", "bf", "rm", "sc", "sf", "tt", "sl", "itshape", "bfseries",
    "scshape", "rmfamily", "upshape", "normalfont", "protect", "relax", "!", "/", "-", "@", "(", ")", "\n",
})  # fmt: skip
"""Commands that change only how their text looks: they go, the text stays."""

_TOKEN = re.compile(r"\\[A-Za-z]+[ \t\r\n]*|\\.|---|--|``|''|[{}$~]|[^\\{}$~^_`'-]+|.", re.DOTALL)
_SPACE = re.compile(r"\s+")


def plain_text(text: str) -> tuple[str, tuple[str, ...]]:
    """The text without LaTeX, and the commands in it that are not known, which stay in the text."""
    text = re.sub(r"\\textsuperscript\s*\{(?=[-+0-9])", "^{", text)
    out: list[str] = []
    unknown: list[str] = []
    accent, is_math, dollars = "", False, _paired_dollars(text)
    for token in _TOKEN.findall(text):
        name = (token[1:].rstrip() or token[1:]) if len(token) > 1 and token[0] == "\\" else ""
        if accent and token == "}":
            unknown.append(accent)
            accent = ""
        if name in _ACCENTS:
            accent = token.strip()
            continue
        if accent and name in ("i", "j"):
            piece = name
        elif name:
            piece = "" if name in _WITHOUT_TEXT else _SIGNS.get(name, token)
            if name not in _WITHOUT_TEXT and name not in _SIGNS:
                unknown.append("\\" + name)
        elif token == "$" and next(dollars):
            is_math, piece = not is_math, ""
        elif token == "_" and is_math:
            piece = ""
        else:
            piece = _PLAIN.get(token, token)
        if accent and piece.strip():
            piece = piece.lstrip()
            piece = piece[0] + _ACCENTS[accent[1:]] + piece[1:]
            accent = ""
        out.append(piece)
    if accent:
        unknown.append(accent)
    plain = unicodedata.normalize("NFC", "".join(out).replace("^°", "°"))
    return _SPACE.sub(" ", plain).strip(), tuple(unknown)


_PLAIN: Mapping[str, str] = {"{": "", "}": "", "~": " ", "--": "–", "---": "—", "``": "“", "''": "”"}


def _paired_dollars(text: str) -> Iterator[bool]:
    """For each dollar sign that is not escaped, whether it opens or closes a formula: an odd last one is money."""
    count = len(re.findall(r"(?<!\\)(?:\\\\)*\$", text))
    for place in range(count):
        yield place < count - count % 2
    while True:
        yield False


def verbatim_text(text: str) -> str:
    """A DOI or an address without the LaTeX that people put around its special signs."""
    text = re.sub(r"\\(?:url|path|nolinkurl)\s*\{", "{", text)
    text = re.sub(r"\\textasciitilde(?:\{\}|\s*)", "~", text)
    text = re.sub(r"\\([_%&#$~{}])", r"\1", text)
    return re.sub(r"[{}\s]", "", text)
