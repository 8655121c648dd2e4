"""Inputs that are guided by the lines they reach: coverage-guided search for what no reader knows.

Run as ``python tests/speed/study_guided.py READER FOLDER [--seconds 120] [--keep]``, after
``pip install -e ".[fuzz]"`` (atheris, for Linux and macOS). The readers and what holds of a result
or a refusal are those of ``tests/fuzz.py``. Inputs that reach something new are collected in
FOLDER/READER, and the search goes on from them and from those of ``tests/corpus``; an input that
is neither read nor refused in a sentence ends it, and is left there as ``crash-...``. With
``--keep`` the fewest inputs that reach as much are written to ``tests/corpus/READER.json``, which
the tests read one by one.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import warnings
from pathlib import Path

import atheris

TESTS = Path(__file__).resolve().parents[1]
CORPUS = TESTS / "corpus"
sys.path.insert(0, str(TESTS))

with atheris.instrument_imports(include=["riskkit"]):
    import fuzz

MOST_BYTES = 6000  # of an input: longer ones are slow, and reach no more


def keep(name: str, found: Path, here: list[str]) -> None:
    """Write the fewest inputs that reach what all of them reach."""
    few = found.parent / f"few-{name}"
    few.mkdir(exist_ok=True)
    for path in few.iterdir():
        path.unlink()
    subprocess.run([*here, "-merge=1", str(few), str(found)], check=True)
    texts = sorted({path.read_bytes().decode("utf-8", "replace") for path in few.iterdir()})
    CORPUS.mkdir(exist_ok=True)
    (CORPUS / f"{name}.json").write_text(
        json.dumps(texts, indent=0, ensure_ascii=True) + "\n", encoding="utf-8"
    )
    print(f"{name}: {len(texts)} inputs, {sum(map(len, texts)):,} letters")


def main() -> None:
    """Search, or with --keep write down what was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("reader", choices=fuzz.TEXTS)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=int, default=120)
    parser.add_argument("--keep", action="store_true")
    options, passed = parser.parse_known_args()
    name, found = options.reader, options.folder / options.reader
    kind = fuzz.TEXTS[name]
    found.mkdir(parents=True, exist_ok=True)
    if options.keep:
        keep(name, found, [sys.executable, __file__, name, str(options.folder)])
        return
    before = CORPUS / f"{name}.json"
    goods = json.loads(before.read_text("utf-8")) if before.exists() else []
    for i, text in enumerate((*kind.goods(), *goods)):
        data = text.encode("utf-8", "surrogatepass")
        if len(data) <= MOST_BYTES:
            (found / f"good-{i}").write_bytes(data)
    place = options.folder / f"read-{name}"
    place.mkdir(exist_ok=True)
    warnings.simplefilter("error")
    own = (
        ["-merge=1"] if "-merge=1" in passed else [f"-max_total_time={options.seconds}", str(found)]
    )
    atheris.Setup(
        [sys.argv[0], *own, f"-max_len={MOST_BYTES}", f"-artifact_prefix={found.parent}/{name}-",
         "-timeout=20", "-rss_limit_mb=2000", *(word for word in passed if word not in own)],
        lambda data: fuzz.is_read(kind, kind.written(data, place)),
    )  # fmt: skip
    atheris.Fuzz()


if __name__ == "__main__":
    main()
