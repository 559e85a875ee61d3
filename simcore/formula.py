r"""Formulas of the docstrings, written in TeX, in letters that a terminal shows: ``\varphi^2`` becomes ``φ²``."""

from __future__ import annotations

import codecs
import re
from typing import Final

SIGNS: Final = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "varepsilon": "ε", "zeta": "ζ", "eta": "η", "theta": "θ",
    "vartheta": "ϑ", "kappa": "κ", "lambda": "λ", "mu": "μ", "nu": "ν", "pi": "π", "rho": "ρ", "sigma": "σ",
    "tau": "τ", "varphi": "φ", "psi": "ψ", "omega": "ω", "ell": "ℓ", "sum": "Σ", "int": "∫", "partial": "∂",
    "Delta": "Δ", "infty": "∞", "cdot": " · ", "times": "×", "le": "≤", "ge": "≥", "neq": "≠", "approx": "≈",
    "sim": "~", "pm": "±", "mp": "∓", "to": "→", "in": "∈", "circ": "°",
    "lceil": "⌈", "rceil": "⌉", "lfloor": "⌊", "rfloor": "⌋",
    "quad": "   ", "qquad": "   ", "left": "\x01", "right": "", "displaystyle": "",
    ",": " ", ";": " ", ">": " ", " ": " ", "!": "", "{": "(", "}": ")",
}  # fmt: skip
FUNCTIONS: Final = ("arcsin", "arccos", "arctan", "sinh", "tanh", "sin", "cos", "tan", "cot", "exp", "log", "ln", "lg")
TEXTS: Final = ("mathrm", "text")
HIGH: Final = dict(zip("0123456789+-n", "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻ⁿ", strict=True))
SUPERIOR: Final = "".join(HIGH.values())
SPELLED: Final = {
    **{sign: name for name, sign in SIGNS.items() if name.isalpha() and len(sign) == 1 and ord(sign) > 127},
    "φ": "phi", "ϑ": "theta", "ε": "epsilon", "ℓ": "l", "·": "*", "×": "x", "≤": "<=", "≥": ">=", "≠": "!=", "≈": "~",
    "±": "+-", "∓": "-+", "→": "->", "°": " deg", "∂": "d", "∞": "inf", "√": "sqrt", "²": "^2", "³": "^3",
    "⌈": "ceil(", "⌉": ")", "⌊": "floor(", "⌋": ")", "∈": " in ",
    **{high: f"^{low}" for low, high in HIGH.items()},
}  # fmt: skip
"""What stands for a sign where the terminal's encoding lacks it."""

_OPEN, _BEFORE, _AFTER = "\x01", "\x02", "\x03"
"""Marks of a tall bracket and of both ends of a fraction: a space where a letter stands beside it."""

_TOKEN: Final = re.compile(r"\\[A-Za-z]+|\\.|[{}^_]|[0-9.]*[0-9]|[ \n]+|.")
_ATOM: Final = re.compile(r"\d+(\.\d+)?|d?[^\W\d_](_\w+(,\w+)?)?('*[⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻ⁿ]*|\*|\^[\d.]+)")
_NAMED: Final = re.compile(rf"({'|'.join(FUNCTIONS)}|sgn|clip)(?![a-z])")
_INDEX: Final = re.compile(r"_\w+$")


def plain_formula(text: str) -> str:
    r"""TeX in plain letters; products stay as they were set, fractions and powers get the brackets they need.

    >>> plain_formula(r"T = S\,\frac{g(\nu)}{1 + g_0^2}")
    'T = S g(ν)/(1 + g_0²)'
    """
    out = _Formula(_TOKEN.findall(text.replace("\n", " "))).run()
    return re.sub(r" {2,}", lambda m: "   " if len(m[0]) > 2 else " ", out).strip(" ")


class _Formula:
    """Reads tokens from the left; each method returns what it has read as text."""

    def __init__(self, tokens: list[str]) -> None:
        self.tokens = tokens
        self.at = 0

    def run(self) -> str:
        out = ""
        while self.next() and self.next() != "}":
            out = _joined(out, self.piece())
        return _settled(out)

    def next(self) -> str:
        return self.tokens[self.at] if self.at < len(self.tokens) else ""

    def skip(self, *what: str) -> None:
        while self.next() in what or (self.next().isspace() and " " in what):
            self.at += 1

    def piece(self) -> str:
        """One token with its group."""
        token = self.next()
        self.at += 1
        if token == "{":
            inside = self.run()
            self.at += 1
            return inside
        if token == "^":
            return _raised(self.piece().strip())
        if token == "_":
            return f"_{self.piece().strip()}"
        return self.command(token[1:]) if token.startswith("\\") else token

    def command(self, name: str) -> str:
        if name in TEXTS:
            return self.verbatim()
        if name in ("frac", "tfrac"):
            over, under = self.argument(), self.argument()
            return f"{_BEFORE}{_numerator(over)}/{_bracketed(under)}{_AFTER}"
        if name == "sqrt":
            return f"√{_bracketed(self.argument(), root=True)}"
        if name == "dot":
            return self.rate()
        if name in FUNCTIONS:
            return self.function(name)
        return SIGNS.get(name, name)

    def argument(self) -> str:
        """A group, a command or one digit or letter; spaces before it count for nothing."""
        self.skip(" ")
        token = self.next()
        if token[0].isdigit() and len(token) > 1:
            self.tokens[self.at] = token[1:]
            return token[0]
        return self.piece().strip(f" {_BEFORE}{_AFTER}")

    def rate(self) -> str:
        """A dotted letter, its index kept."""
        letter = self.argument()
        index = self.piece() if self.next() == "_" else ""
        text = f"d{letter}{index}/dt"
        return f"({text})" if self.next() == "/" else f"{_BEFORE}{text}{_AFTER}"

    def function(self, name: str) -> str:
        """Its power or base, and brackets around a fraction that follows."""
        while self.next() in ("^", "_"):
            name += self.piece()
        self.skip(r"\,", r"\!", " ")
        if self.next() in (r"\frac", r"\tfrac"):
            return f"{name}({self.piece().strip(f'{_BEFORE}{_AFTER}')})"
        if self.next() == r"\left":
            self.at += 1
        closed = self.next() in ("(", "}", ")", ",", "") or self.next().startswith(r"\q")
        return name if closed else f"{name} "

    def verbatim(self) -> str:
        """Words, their spaces kept."""
        depth, start = 0, self.at
        while True:
            depth += {"{": 1, "}": -1}.get(self.next(), 0)
            self.at += 1
            if depth == 0:
                break
        words = "".join(SIGNS.get(t[1:], t) if t[0] == "\\" else t for t in self.tokens[start + 1 : self.at - 1])
        if words == "clip":
            self.skip(r"\!", r"\left", " ")
        return words


def _joined(before: str, after: str) -> str:
    """Two pieces side by side, with a space where they would run together."""
    if not before or not after or before[-1].isspace() or after[0].isspace():
        return before + after
    start = after[0] in "√Σ∫" or (after[0].isalnum() and after[0] not in SUPERIOR)
    if (start and _INDEX.search(before)) or (after[0] in "Σ∫" and before[-1].isalnum()):
        return f"{before} {after}"
    if _NAMED.match(after) and (before[-1].isalnum() or before[-1] in ")'"):
        return f"{before} {after}"
    return before + after


def _settled(text: str) -> str:
    """Marks turned into a space where a letter or bracket stands on their other side, else into nothing."""
    text = re.sub(rf"(?<=[\w)'\]]){_BEFORE}|{_AFTER}(?=[\w(√Σ∫{_OPEN}])|(?<=[\w)']){_OPEN}", " ", text)
    text = re.sub(rf"{_AFTER}{_BEFORE}", " ", text)
    return re.sub(rf"[{_OPEN}{_BEFORE}{_AFTER}]", "", text)


def _raised(power: str) -> str:
    if power in ("°", "*"):
        return power
    if all(c in HIGH for c in power):
        return "".join(HIGH[c] for c in power)
    return f"^{power}" if re.fullmatch(r"[\d.]+|\w", power) else f"^({power})"


def _numerator(text: str) -> str:
    """Brackets around a sum; a product needs none."""
    return f"({text})" if re.search(r"[-+±∓/]", _outside(text.lstrip("-"))) else text


def _bracketed(text: str, root: bool = False) -> str:
    """Brackets around all but a single symbol or bracket."""
    if root and not re.fullmatch(r"[^\W_]", text):
        return f"({text})"
    whole = re.match(r"√?\w*\(", text) and re.fullmatch(rf"√?\w*[{SUPERIOR}]*", _outside(text))
    return text if whole or _ATOM.fullmatch(text) else f"({text})"


def _outside(text: str) -> str:
    """What stands in no bracket."""
    while (less := re.sub(r"\([^()]*\)", "", text)) != text:
        text = less
    return text


def _spelled(error: UnicodeError) -> tuple[str, int]:
    """Signs as words where an encoding lacks them, other letters as codes."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    out = ""
    for at in range(error.start, error.end):
        sign, before = error.object[at], out[-1:] or error.object[at - 1 : at]
        word = SPELLED.get(sign) or sign.encode("ascii", "backslashreplace").decode()
        out += f" {word}" if "Α" <= sign <= "ϖ" and before.isalnum() else word
    after = error.object[error.end : error.end + 1]
    return out + " " * ("Α" <= sign <= "ϖ" and after.isalnum()), error.end


codecs.register_error("spelled", _spelled)
