"""Every key of the JSON answer with what it may hold, one a line, as other programs read it.

::

    python tests/report/answer_keys.py

writes the lists again, of the answer and of the years of a home; where a key is gone or holds
something else, only for a new form version.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from riskkit.report.answer_form import FORM_VERSION, answer_schema
from riskkit.report.replay_form import REPLAY_VERSION, replay_schema
from riskkit.report.side_form import SIDE_VERSION, side_schema

FORMS: dict[str, tuple[int, Callable[[], dict[str, Any]]]] = {
    "answer": (FORM_VERSION, answer_schema),
    "replay": (REPLAY_VERSION, replay_schema),
    "replays": (SIDE_VERSION, side_schema),
}


def file_of(form: str) -> Path:
    """Return where the keys of a form are written down."""
    return Path(__file__).with_name(f"{form}_keys.txt")


def keys(form: str = "answer") -> list[str]:
    """Return the keys of every part of a form with what they hold."""
    schema = FORMS[form][1]()
    parts = schema["$defs"]
    if "properties" in schema:
        parts = {**parts, "": schema}
    return sorted(
        f"{name}.{key}: {_held(value, parts)}"
        for name, part in parts.items()
        for key, value in part.get("properties", {}).items()
    )


def _held(form: dict[str, Any], parts: dict[str, Any]) -> str:
    if "$ref" in form:
        name = form["$ref"].rpartition("/")[2]
        codes = parts[name].get("enum")
        return name if codes is None else " | ".join(codes)
    if "anyOf" in form:
        return " or ".join(_held(part, parts) for part in form["anyOf"])
    if "prefixItems" in form:
        return f"{' and '.join(_held(part, parts) for part in form['prefixItems'])}"
    if "items" in form:
        return f"list of {_held(form['items'], parts)}"
    codes = form.get("enum", [form["const"]] if "const" in form else [])
    return " | ".join(map(str, codes)) or str(form.get("format", form["type"]))


def read(form: str = "answer") -> tuple[int, list[str]]:
    """Return the version and the keys that were written down."""
    head, *lines = file_of(form).read_text(encoding="utf-8").splitlines()
    return int(head.rpartition(" ")[2]), lines


def faults(form: str = "answer") -> list[str]:
    """Say which keys are gone or changed without a new form version."""
    version, written = read(form)
    return sorted(set(written) - set(keys(form))) if version == FORMS[form][0] else []


def main() -> None:
    """Write the lists again."""
    there = [form for form in FORMS if file_of(form).exists()]
    if gone := [line for form in there for line in faults(form)]:
        raise SystemExit("\n".join(["These need a new form version:", *gone]))
    for form, (version, _) in FORMS.items():
        text = "\n".join([f"form version {version}", *keys(form), ""])
        file_of(form).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
