"""What the book of each example costs on top of choosing, chapter by chapter, and how big it is.

Run with ``PYTHONPATH=. python tests/benchmarks/bench_book.py [RUNS]`` from the top of the repository. Made from the
kept answers, so nothing is chosen. CPU seconds of this process, the least of RUNS (3) runs, libraries loaded and
compiled before; JSON last. Bars: seconds for the largest example, its page under 3 MB.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))
from book_cases import golden_kit, html_of

from optimizer.book.answer import answer
from optimizer.book.bounds import limits
from optimizer.book.chosen import chosen
from optimizer.book.energy import energy
from optimizer.book.facts import gather
from optimizer.book.living import living
from optimizer.book.loads import loads
from optimizer.book.ordering import ordering
from optimizer.book.plans import plans
from optimizer.book.printing import pdf
from optimizer.book.shopping import shopping
from optimizer.book.using import using
from optimizer.book.wiring import wiring
from optimizer.book.writing import Wanted, write_book

NAMES = ("high_plains_spring", "fjord_winter", "gulf_autumn")
BARS = {"seconds": 10.0, "megabytes": 3.0}
CHAPTERS: dict[str, Callable[[Any], Any]] = {
    "answer": answer, "kit": chosen, "energy": energy, "living": living, "mass": loads, "plans": plans,
    "wiring": wiring, "ordering": ordering, "buy list": shopping, "living with it": using, "limits": limits,
}  # fmt: skip


def spent(call: Callable[[], Any]) -> tuple[float, Any]:
    """CPU seconds of a call, and what it gave."""
    start = time.process_time()
    given = call()
    return time.process_time() - start, given


def measured(name: str, runs: int) -> dict[str, Any]:
    """One example: seconds of gathering, each chapter, the whole folder and the PDF; bytes of page and PDF."""
    with tempfile.TemporaryDirectory() as folder:
        kit = golden_kit(name, Path(folder) / "kit.json")
        best: dict[str, float] = {}
        for _ in range(runs):
            took, facts = spent(lambda: gather(kit))
            times = {"gathering": took}
            for chapter, make in CHAPTERS.items():
                times[chapter] = spent(lambda make=make, facts=facts: make(facts))[0]  # type: ignore[misc]
            fresh = gather(kit)
            times["whole book"] = spent(lambda fresh=fresh: write_book(fresh, Path(folder) / "out", Wanted()))[0]  # type: ignore[misc]
            best = {what: min(seconds, best.get(what, seconds)) for what, seconds in times.items()}
        html = html_of(gather(kit))
        seconds, printed = spent(lambda: pdf(html, "A4"))
        size = {"page": len(html.encode()) / 1e6, "PDF": len(printed) / 1e6}
    return {"seconds": {**best, "PDF": seconds}, "megabytes": size}


def main() -> None:
    """Prints the table."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    with tempfile.TemporaryDirectory() as folder:  # libraries are loaded and loops compiled before the clock runs
        write_book(gather(golden_kit(NAMES[-1], Path(folder) / "kit.json")), Path(folder) / "out", Wanted())
    found = {name: measured(name, runs) for name in NAMES}
    print(f"{'CPU seconds':24}" + "".join(f"{name:>22}" for name in NAMES))
    for what in found[NAMES[0]]["seconds"]:
        print(f"{what:24}" + "".join(f"{found[name]['seconds'][what]:>22.2f}" for name in NAMES))
    for what in ("page", "PDF"):
        print(f"{what + ', MB':24}" + "".join(f"{found[name]['megabytes'][what]:>22.2f}" for name in NAMES))
    whole, page = found[NAMES[0]]["seconds"]["whole book"], found[NAMES[0]]["megabytes"]["page"]
    print(f"bars: {BARS['seconds']:g} s ({'met' if whole <= BARS['seconds'] else 'missed'}),"
          f" {BARS['megabytes']:g} MB ({'met' if page <= BARS['megabytes'] else 'missed'})")  # fmt: skip
    print(json.dumps(found))


if __name__ == "__main__":
    main()
