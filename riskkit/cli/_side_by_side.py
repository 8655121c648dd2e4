"""Years side by side: several homes, two spans of a record, a record and generated seasons."""

from __future__ import annotations

import argparse
import contextlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.cli._console import open_console, print_json
from riskkit.cli._options import (
    PAGE,
    PICTURE,
    TABLE,
    need_apart,
    need_endings,
    picture_bytes,
    rain_files,
    rain_of,
)
from riskkit.errors import InputError
from riskkit.quantities.units import UnitSystem

if TYPE_CHECKING:
    from riskkit.risk.design_rain import DesignRain
    from riskkit.years.records import Replay, ReplaySettings

Tell = Callable[[str, float], None]


def home_files(given: Sequence[Path]) -> list[Path]:
    """Return the home files that are meant: those given, and all of the folders given."""
    found: list[Path] = []
    for path in given:
        if not path.is_dir():
            found.append(path)
            continue
        inside = sorted(p for p in path.glob("*.toml") if not p.name.startswith("."))
        if not inside:
            raise InputError(str(path), "the folder holds no home file", "put one there, *.toml")
        found += inside
    same = [path for i, path in enumerate(found) if path in found[:i]]
    if same:
        raise InputError(str(same[0]), "it is given twice", "name each home once")
    return found


def check_side_by_side(options: argparse.Namespace, homes: Sequence[Path]) -> None:
    """Refuse options that do not go together, before anything is read."""
    if options.generated is not None:
        from riskkit.years.generated import need_years

        need_years(options.generated)
    parted = options.parted_at is not None or options.generated is not None
    if parted and len(homes) > 1:
        name = "--parted-at" if options.parted_at is not None else "--generated"
        raise InputError(name, f"there are {len(homes)} homes", "name one home")
    if parted or len(homes) > 1:
        for name in ("storms", "months", "storm_picture"):
            if getattr(options, name) is not None:
                raise InputError(
                    f"--{name.replace('_', '-')}",
                    "there is more than one replay",
                    "run one home, or use --compared",
                )
    elif options.compared is not None:
        raise InputError(
            "--compared", "there is nothing to compare",
            "name several homes, or use --parted-at or --generated",
        )  # fmt: skip


def run_side_by_side(
    options: argparse.Namespace,
    paths: Sequence[Path],
    settings: ReplaySettings,
    bar: Callable[[], AbstractContextManager[Tell]],
) -> int:
    """Run them, set them side by side, and print or write that."""
    from riskkit.files import write_bytes, write_text
    from riskkit.options.replays import years_study
    from riskkit.options.side_by_side import side_by_side
    from riskkit.report.replay_view import replay_csv
    from riskkit.report.side_view import print_side, side_form, side_page, side_spec

    outputs = [options.compared, options.html, options.picture]
    need_apart(outputs, [*paths, options.rain, options.table])
    need_endings(options, compared=TABLE, html=PAGE, picture=PICTURE)
    system = UnitSystem(options.units)
    with bar() as tell:
        found = side_by_side(_replays(options, paths, settings, tell))
    title = "Years side by side"
    if options.parted_at is not None or options.generated is not None:
        title = f"{found.replays[0].home.name}: {title.lower()}"
    texts = []
    if options.compared is not None:
        texts.append((options.compared, replay_csv(found.to_frame())))
    if options.html is not None:
        texts.append((options.html, side_page(found, system, title)))
    picture = None
    if options.picture is not None:
        picture = picture_bytes(options.picture, side_spec(found, system))
    for path, text in texts:
        write_text(path, text)
    if picture is not None:
        write_bytes(options.picture, picture)
    if options.json:
        print_json(side_form(found, [years_study(one) for one in found.replays]))
    else:
        print_side(found, open_console(), system)
    return 0


def _replays(
    options: argparse.Namespace, paths: Sequence[Path], settings: ReplaySettings, tell: Tell
) -> dict[str, Replay]:
    from riskkit.home.home import load_home
    from riskkit.options.side_by_side import months_before, ranked_by_floods, two_periods
    from riskkit.years.cache import cached_replay
    from riskkit.years.generated import generated_rain
    from riskkit.years.run import replayed_months

    # all are read before the first is run
    homes = [load_home(path, outside=options.outside) for path in paths]
    for home, path in zip(homes, paths, strict=True):
        need_apart([options.compared, options.html, options.picture], rain_files(home, path))
    many = len(homes) + (options.generated is not None)
    found: dict[str, Replay] = {}
    made: DesignRain | None = None
    for i, (home, path) in enumerate(zip(homes, paths, strict=True)):
        options.home = path

        def part(words: str, share: float, done: int = i, name: str = home.name) -> None:
            tell(f"{name}: {words}", (done + share) / many)

        part("reading the rain", 0.0)
        name = home.name if home.name not in found else f"{home.name} ({path.name})"
        with _told_of(path):
            rain = rain_of(home, options)
            months = replayed_months(home, rain)
        # what cannot be divided or generated is refused before years are run
        if options.parted_at is not None:
            months_before(months, options.parted_at)
        if options.generated is not None:
            made = generated_rain(
                rain, options.generated, options.seed, tell=lambda words: tell(words, 0.0)
            )
        with _told_of(path):
            found[name] = cached_replay(home, rain, settings, progress=part)
    if options.parted_at is not None:
        return two_periods(next(iter(found.values())), options.parted_at)
    if made is not None:
        again = cached_replay(
            homes[0], made, settings, progress=lambda w, s: tell(w, (1 + s) / many)
        )
        return {"record": next(iter(found.values())), "generated": again}
    return ranked_by_floods(found)


@contextlib.contextmanager
def _told_of(path: Path) -> Iterator[None]:
    """Say of which home file a refusal is."""
    try:
        yield
    except InputError as error:
        raise error.within(path.name) from None
