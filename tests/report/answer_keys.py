"""Every key of the JSON answer with what it may hold, one a line, as other programs read it.

::

    python tests/report/answer_keys.py

writes the list again; where a key is gone or holds something else, only for a new form version.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from riskkit.report.answer_form import FORM_VERSION, answer_schema

FILE = Path(__file__).with_suffix(".txt")


def keys() -> list[str]:
    """Return the keys of every part of the answer with what they hold."""
    parts = answer_schema()["$defs"]
    return sorted(
        f"{name}.{key}: {_held(value)}"
        for name, part in parts.items()
        for key, value in part.get("properties", {}).items()
    )


def _held(form: dict[str, Any]) -> str:
    if "$ref" in form:
        name = form["$ref"].rpartition("/")[2]
        codes = answer_schema()["$defs"][name].get("enum")
        return name if codes is None else " | ".join(codes)
    if "anyOf" in form:
        return " or ".join(map(_held, form["anyOf"]))
    if "items" in form:
        return f"list of {_held(form['items'])}"
    codes = form.get("enum", [form["const"]] if "const" in form else [])
    return " | ".join(map(str, codes)) or str(form.get("format", form["type"]))


def read() -> tuple[int, list[str]]:
    """Return the version and the keys that were written down."""
    head, *lines = FILE.read_text(encoding="utf-8").splitlines()
    return int(head.rpartition(" ")[2]), lines


def faults() -> list[str]:
    """Say which keys are gone or changed without a new form version."""
    version, written = read()
    return sorted(set(written) - set(keys())) if version == FORM_VERSION else []


def main() -> None:
    """Write the list again."""
    if gone := faults():
        raise SystemExit("\n".join(["These need a new FORM_VERSION:", *gone]))
    FILE.write_text("\n".join([f"form version {FORM_VERSION}", *keys(), ""]), encoding="utf-8")


if __name__ == "__main__":
    main()
