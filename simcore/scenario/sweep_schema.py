"""JSON Schema of the section [sweep], beside what its plain words give."""

from __future__ import annotations

from typing import Any, Final

from simcore.scenario.words import GRID, SCATTERS, SPACINGS

Schema = dict[str, Any]

_VALUE: Final[Schema] = {"type": ["number", "string"]}
_NAMES: Final[Schema] = {"type": "array", "minItems": 1, "uniqueItems": True, "items": {"type": "string"}}
_GRID_WORDS: Final = dict(zip(GRID, (
    {**_VALUE, "description": "Least value of the grid."},
    {**_VALUE, "description": "Largest value of the grid."},
    {"type": ["integer", "string"], "minimum": 2, "description": "Number of values, both ends included."},
    {"enum": list(SPACINGS), "default": SPACINGS[0], "description": "By equal steps, or by a constant factor."},
), strict=True))  # fmt: skip
_MEANING: Final = {
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
        "paths": {**_NAMES, "description": "Inputs that vary together; candidates[*] is the candidate under trial."},
        "grid": {"description": "Values that are all tried.", "anyOf": [_stepped(), _listed()]},
        "scatter": {"description": "The distribution that values are drawn from.", "anyOf": _scatters()},
    }
    factor["not"] = {"anyOf": [{"required": ["grid", "scatter"]}, {"required": ["path", "paths"]}]}
    factor["anyOf"] = [{"required": ["path"]}, {"required": ["paths"]}]
    section["properties"] |= {
        "candidates": {**_NAMES, "description": "Candidates to try. Left out: all."},
        "situations": {**_NAMES, "description": "Situations to run. Left out: all."},
        "factor": {"type": "array", "minItems": 1, "items": factor, "description": "what varies"},
    }
    section["required"] = [*section.get("required", []), "factor"]
    section["description"] = "what is varied in a sweep, and how it is judged"
    return section


def _stepped() -> Schema:
    return {"type": "object", "properties": _GRID_WORDS, "required": list(GRID[:3]), "additionalProperties": False}


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
    properties = {word: {**own, "description": _MEANING[word]}}
    properties |= {w: {**_VALUE, "description": _MEANING[w]} for w in beside}
    return {"type": "object", "properties": properties, "required": [word, *beside[:1]], "additionalProperties": False}
