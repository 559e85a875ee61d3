"""JSON Schema of the section [sweep], beside what its plain words give."""

from __future__ import annotations

from typing import Any, Final

from simcore.scenario.words import GRID, SCATTERS, SPACINGS

Schema = dict[str, Any]

_VALUE: Final[Schema] = {"type": ["number", "string"]}
_NAMES: Final[Schema] = {"type": "array", "minItems": 1, "uniqueItems": True, "items": {"type": "string"}}
LIST_MEANING: Final = {
    "candidates": "Candidates to try. Left out: all.",
    "situations": "Situations to run. Left out: all.",
    "paths": "Inputs that vary together; candidates[*] is the candidate under trial.",
    "grid": "Values that are all tried.",
}
GRID_MEANING: Final = dict(zip(GRID, (
    "Least value of the grid.", "Largest value of the grid.", "Number of values, both ends included.",
    "By equal steps, or by a constant factor.",
), strict=True))  # fmt: skip
_GRID_TYPES: Final[tuple[Schema, ...]] = (
    _VALUE, _VALUE, {"type": ["integer", "string"], "minimum": 2}, {"enum": list(SPACINGS), "default": SPACINGS[0]},
)  # fmt: skip
SCATTER_MEANING: Final = {
    "normal": "Mean of a normal distribution.",
    "lognormal": "Median of a lognormal distribution.",
    "uniform": "Both ends of a uniform distribution.",
    "log_uniform": "Both ends of a distribution whose logarithm is uniform.",
    "triangular": "Low end, mode and high end of a triangular distribution.",
    "measured": "File with one column of measured values below a heading.",
    "sd": "Standard deviation.",
    "sd_log": "Standard deviation of the natural logarithm, a bare number.",
    "low": "Values below are not drawn.",
    "high": "Values above are not drawn.",
}
_PAIR: Final = {"uniform": 2, "log_uniform": 2, "triangular": 3}


def sweep_schema(section: Schema, factor: Schema) -> Schema:
    """The section from the schemas of its plain words and of a factor's plain words."""
    factor["properties"] |= {
        "paths": {**_NAMES, "description": LIST_MEANING["paths"]},
        "grid": {"description": LIST_MEANING["grid"], "anyOf": [_stepped(), _listed()]},
        "scatter": {"description": "The distribution that values are drawn from.", "anyOf": _scatters()},
    }
    factor["not"] = {"anyOf": [{"required": ["grid", "scatter"]}, {"required": ["path", "paths"]}]}
    factor["anyOf"] = [{"required": ["path"]}, {"required": ["paths"]}]
    section["properties"] |= {
        "candidates": {**_NAMES, "description": LIST_MEANING["candidates"]},
        "situations": {**_NAMES, "description": LIST_MEANING["situations"]},
        "factor": {"type": "array", "minItems": 1, "items": factor, "description": "what varies"},
    }
    section["required"] = [*section.get("required", []), "factor"]
    section["description"] = "what is varied in a sweep, and how it is judged"
    return section


def _stepped() -> Schema:
    texts = zip(GRID, _GRID_TYPES, strict=True)
    own = {w: {**given, "description": GRID_MEANING[w]} for w, given in texts}
    return {"type": "object", "properties": own, "required": list(GRID[:3]), "additionalProperties": False}


def _listed() -> Schema:
    return {"type": "array", "minItems": 1, "uniqueItems": True, "items": _VALUE}


def _scatters() -> list[Schema]:
    return [_scatter(word, beside) for word, beside in SCATTERS.items()]


def _scatter(word: str, beside: tuple[str, ...]) -> Schema:
    own: Schema = _VALUE
    if word in _PAIR:
        own = {"type": "array", "minItems": _PAIR[word], "maxItems": _PAIR[word], "items": _VALUE}
    elif word == "measured":
        own = {"type": "string", "minLength": 1}
    properties = {word: {**own, "description": SCATTER_MEANING[word]}}
    properties |= {w: {**_VALUE, "description": SCATTER_MEANING[w]} for w in beside}
    return {"type": "object", "properties": properties, "required": [word, *beside[:1]], "additionalProperties": False}
