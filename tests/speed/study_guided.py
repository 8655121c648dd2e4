"""Inputs that are guided by the lines they reach: coverage-guided search for what no reader knows.

Run as ``python tests/speed/study_guided.py READER FOLDER [--seconds 120] [--keep]``, after
``pip install -e ".[fuzz]"`` (atheris, for Linux and macOS). The readers and what holds of a result
or a refusal are those of ``tests/fuzz.py``. Inputs that reach something new are collected in
FOLDER/READER, and the search goes on from them and from those of ``tests/corpus``; an input that
is neither read nor refused in a sentence ends it, and is left there as ``crash-...``. With
``--keep`` the shortest input for each thing that became of one, read or refused in this sentence or
that, is written to ``tests/corpus/READER.json``; ``tests/properties/test_inputs.py`` reads them.
"""

from __future__ import annotations

import argparse
import json
import sys
import warnings
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
CORPUS = TESTS / "corpus"
sys.path.insert(0, str(TESTS))

MOST_BYTES = 20_000  # of an input: longer ones are slow, and reach no more


def keep(name: str, found: Path, place: Path) -> None:
    """Write the shortest input for each thing that may become of one."""
    import fuzz

    kind, shortest = fuzz.TEXTS[name], dict[str, str]()
    for path in sorted(found.iterdir()):
        data = path.read_bytes()
        what = fuzz.outcome(kind, kind.written(data, place))
        text = data.decode("utf-8", "replace")
        if len(text) < len(shortest.get(what, " " * MOST_BYTES)):
            shortest[what] = text
    CORPUS.mkdir(exist_ok=True)
    texts = json.dumps(sorted(shortest.values()), indent=0)
    (CORPUS / f"{name}.json").write_text(texts + "\n", encoding="utf-8")
    print(f"{name}: {len(shortest)} inputs of {len(list(found.iterdir()))}")


def main() -> None:
    """Search, or with --keep write down what was found."""
    import atheris  # of the extra "fuzz", which the tests do without

    with atheris.instrument_imports(include=["riskkit"]):
        import fuzz

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("reader", choices=fuzz.TEXTS)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=int, default=120)
    parser.add_argument("--keep", action="store_true")
    options = parser.parse_args()
    name, found = options.reader, options.folder / options.reader
    kind = fuzz.TEXTS[name]
    found.mkdir(parents=True, exist_ok=True)
    place = options.folder / f"read-{name}"
    place.mkdir(exist_ok=True)
    if options.keep:
        keep(name, found, place)
        return
    before = CORPUS / f"{name}.json"
    goods = json.loads(before.read_text("utf-8")) if before.exists() else []
    for i, text in enumerate((*kind.goods(), *goods)):
        data = text.encode("utf-8", "surrogatepass")
        if len(data) <= MOST_BYTES:
            (found / f"good-{i}").write_bytes(data)
    warnings.simplefilter("error")
    atheris.Setup(
        [sys.argv[0], str(found), f"-max_total_time={options.seconds}", f"-max_len={MOST_BYTES}",
         f"-artifact_prefix={found.parent}/{name}-", "-timeout=20", "-rss_limit_mb=2000"],
        lambda data: fuzz.is_read(kind, kind.written(data, place)),
    )  # fmt: skip
    atheris.Fuzz()


if __name__ == "__main__":
    main()
