"""What all variants stand on: catalogs and weather years, each read once, with every fault that shows here.

On the road: variants -> *ground* -> workers. It is sent to workers whole, so they need no files.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from optimizer.batch.variants import Variant
from optimizer.brief.brief import Brief
from optimizer.errors import Fault, FaultsFound
from optimizer.job import Job
from optimizer.parts.catalog import Catalog
from optimizer.weather.year import WeatherYear


def catalog_key(brief: Brief) -> str:
    """What decides which catalog a brief has."""
    return repr((brief.catalogs, brief.preferences.own_kinds))


@dataclass(frozen=True)
class Ground:
    """Catalogs by what names them, weather years by their names."""

    catalogs: dict[str, Catalog]
    years: dict[str, WeatherYear]

    def job(self, brief: Brief, file: str = "brief") -> Job:
        """The job of a brief that stands on this ground."""
        years = tuple(self.years[spec] for spec in brief.place.weather)
        return Job(brief, self.catalogs[catalog_key(brief)], years, file)


def lay_ground(variants: Sequence[Variant], base: Path, file: str) -> Ground:
    """Read what the variants name, and see that each meets its catalog.

    Raises
    ------
    FaultsFound
        With every fault of every file and every variant.
    """
    from optimizer.parts.reading import read_catalog
    from optimizer.problem.build import raise_mismatches
    from optimizer.weather.reading import read_year

    catalogs: dict[str, Catalog] = {}
    years: dict[str, WeatherYear] = {}
    tried: set[str] = set()
    faults: list[Fault] = []
    for variant in variants:
        brief = variant.brief
        key = catalog_key(brief)
        try:
            if key not in tried:
                tried.add(key)
                catalogs[key] = read_catalog(brief.catalogs, brief.preferences.own_kinds, base)
            if key in catalogs:
                raise_mismatches(brief, catalogs[key], file)
        except FaultsFound as found:
            faults += _told(found, variant, file)
        for spec in brief.place.weather:
            if spec not in tried:
                tried.add(spec)
                try:
                    years[spec] = read_year(spec, base)
                except FaultsFound as found:
                    faults += _told(found, variant, file)
    if faults:
        raise FaultsFound(faults)
    return Ground(catalogs, years)


def _told(found: FaultsFound, variant: Variant, file: str) -> list[Fault]:
    """Faults of the variant's own say which variant; faults of a file say which file."""
    return [
        Fault(f.file, f.line, f"variant {variant.number}, {f.place}", f.value, f.expected, f.remedy)
        if f.file == file else f
        for f in found.faults
    ]
