"""The commands. Each parses, calls one function and prints; nothing else.

On the road: both ends. Nothing heavy is imported here until a command needs it, so that ``--help``
answers at once.
"""

from __future__ import annotations

import os
import shlex
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from optimizer.cli_many import IMPOSSIBLE, PROVEN, UNPROVEN, BriefPath, JsonFlag, add_to
from optimizer.errors import FaultsFound, KitwrightError

if TYPE_CHECKING:
    from optimizer.choosing.store import LevelStore
    from optimizer.explain.bench import Bench
    from optimizer.job import Job
    from optimizer.problem.records import Kit
    from optimizer.showing import System

FAULT = 2

app = typer.Typer(
    name="kitwright",
    help="The provably cheapest kit for living in a small van away from any hook-up.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
)


def main() -> None:
    """Run a command; every fault becomes sentences and an exit code, never a traceback."""
    try:
        app()
    except FaultsFound as found:
        count = len(found.faults)
        typer.echo(str(found), err=True)
        typer.echo(f"{count} {'fault' if count == 1 else 'faults'} found.", err=True)
        sys.exit(FAULT)
    except KitwrightError as error:
        typer.echo(str(error), err=True)
        sys.exit(FAULT)
    except SystemExit as end:
        # The reader of a pipe has seen enough: the command line's library makes 1 of that, which here means impossible.
        if isinstance(end.__context__, BrokenPipeError):
            sys.exit(0)
        raise


@app.command()
def new(folder: Annotated[Path, typer.Argument(help="Where to put the starter brief.", show_default=False)]) -> None:
    """Write a commented starter brief into FOLDER."""
    from optimizer.brief.starter import write_starter

    path = write_starter(folder)
    typer.echo(f"Wrote {path}. Change it to your van and trip, then: kitwright choose {shlex.quote(str(path))}")


@app.command()
def check(brief: BriefPath) -> None:
    """Read a brief with its catalog and weather, and report every fault and oddity."""
    from optimizer.job import open_job, remarks

    job = open_job(brief)
    problem = job.problem
    for sentence in remarks(job):
        typer.echo(f"Note: {sentence}")
    options = sum(len(group.options) for group in problem.groups)
    typer.echo(
        f"No faults. {len(job.catalog)} parts, {options} options in {len(problem.groups)} groups,"
        f" {len(job.years)} weather {'year' if len(job.years) == 1 else 'years'}."
    )


@app.command()
def choose(
    brief: BriefPath,
    as_json: JsonFlag = False,
    save: Annotated[Optional[Path], typer.Option(help="Save the kit here for later commands.")] = None,  # noqa: UP045
    seconds: Annotated[
        Optional[float],  # noqa: UP045
        typer.Option(help="Stop after so many seconds; as many more to say why there is no kit.", min=0.1),
    ] = None,
    seed: Annotated[int, typer.Option(help="Seed of the search; changes speed, never the kit.")] = 1,
    learn: Annotated[bool, typer.Option("--learn", help="Use and keep what runs learn about the trips.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Say nothing while working.")] = False,
    drawings: Annotated[Optional[Path], typer.Option(help="Draw roof, bays and axles as SVG into this folder.")] = None,  # noqa: UP045
) -> None:
    """Choose the best kit for BRIEF and prove it."""
    from optimizer.choosing.solve import Settings
    from optimizer.choosing.store import LevelStore
    from optimizer.damp import damp_warning
    from optimizer.files import new_folder
    from optimizer.job import choose_kit, open_job, remarks
    from optimizer.kitfile import as_json as data_of
    from optimizer.kitfile import can_be_saved_to, dumps
    from optimizer.kitfile import save as save_kit
    from optimizer.telling import tell

    started = time.monotonic()
    if save is not None:
        can_be_saved_to(save)
    if drawings is not None:
        new_folder(drawings)
    progress = _Progress(quiet)
    progress("reading the brief, the catalog and the weather")
    job = open_job(brief)
    progress.done()
    for sentence in remarks(job):
        typer.echo(f"Note: {sentence}", err=True)
    store = _recalled(job) if learn else None
    learnt = store if store is not None else LevelStore()
    settings = Settings(seconds=seconds, seed=seed)
    result = choose_kit(job, settings, learnt, progress)
    if learn or save is not None:
        _keep(job, learnt)
    why_not, reasons = "", dict[str, object]()
    if result.outcome.status == "impossible":
        from optimizer.explain.hands import Hands
        from optimizer.explain.why import bench_for, why_none

        bench = bench_for(job, settings, learnt, progress, in_all=seconds)
        with bench.stop.at_ctrl_c(), Hands(bench) as hands:
            why_not, reasons = why_none(bench, job, known=True, hands=hands)
        _say_stopped(bench)
    progress.done()
    took = time.monotonic() - started
    if save is not None and result.kit is not None:  # before a word is said: who reads may go away in the middle
        save_kit(result, save)
    if as_json:
        _say(dumps({**data_of(result), **reasons, "timings": {"seconds": round(took, 3)}}))
    else:
        told = "\n\n".join(part for part in (tell(result), why_not) if part)
        _say(f"{told}\n\nSeed {seed}; {_limit_words(seconds)}; {took:.1f} s.\n")
    damp = damp_warning(job, result.kit) if result.kit is not None else None
    if damp is not None:
        typer.echo(f"Note: {damp}", err=True)
    if save is not None and result.kit is not None:
        typer.echo(f"Saved {save}.", err=True)
    if drawings is not None and result.kit is not None:
        _draw(job, result.kit, drawings)
    if result.outcome.status == "impossible":
        raise typer.Exit(IMPOSSIBLE)
    raise typer.Exit(PROVEN if result.outcome.status == "proven" else UNPROVEN)


@app.command()
def parts(
    kind: Annotated[Optional[str], typer.Argument(help="One kind of part; all when left out.")] = None,  # noqa: UP045
    where: Annotated[list[str], typer.Option(help="A filter such as 'price_usd<500'.")] = [],  # noqa: B006
    catalog: Annotated[list[str], typer.Option(help="Catalogs to read, later ones on top.")] = ["generic"],  # noqa: B006
    template: Annotated[bool, typer.Option("--template", help="Print an empty CSV, columns explained.")] = False,
) -> None:
    """List the parts of a catalog, or print an empty table to type data sheets into."""
    from optimizer.parts.describing import template as template_of
    from optimizer.parts.listing import table
    from optimizer.parts.reading import read_catalog

    if template:
        if kind is None:
            typer.echo("Say of which kind: kitwright parts KIND --template", err=True)
            raise typer.Exit(FAULT)
        typer.echo(template_of(kind), nl=False)
        return
    typer.echo(table(read_catalog(catalog), kind, where))


@app.command()
def weather(
    source: Annotated[str, typer.Argument(help="A station such as station:723170, or a file.", show_default=False)],
    picture: Annotated[Optional[Path], typer.Option(help="Draw the year into this PNG or SVG file.")] = None,  # noqa: UP045
    us: Annotated[bool, typer.Option("--us", help="Show US customary units.")] = False,
) -> None:
    """Show what is in a weather year: sun and temperature by month, greyest week, coldest night."""
    from optimizer.weather.reading import read_year
    from optimizer.weather.summary import draw_year
    from optimizer.weather.telling import tell_year

    year = read_year(source)
    units: System = "us" if us else "metric"
    typer.echo(tell_year(year, units))
    if picture is not None:
        draw_year(year, picture, units)
        typer.echo(f"Drew {picture}.", err=True)


@app.command()
def replay(
    brief: BriefPath,
    kit: Annotated[Path, typer.Argument(help="A kit saved by choose.", show_default=False)],
    departure: Annotated[Optional[str], typer.Option(help="Show one trip: its departure day, MM-DD.")] = None,  # noqa: UP045
    hours: Annotated[Optional[Path], typer.Option(help="Write that trip's hours (CSV or Parquet).")] = None,  # noqa: UP045
    picture: Annotated[Optional[Path], typer.Option(help="Draw that trip (SVG or PNG).")] = None,  # noqa: UP045
    as_json: JsonFlag = False,
) -> None:
    """Run every trip of a saved kit hour by hour and tell what happens."""
    from optimizer.job import replay_kit
    from optimizer.replaying import Wanted, tell_replay

    job, chosen = _open_saved(brief, kit)
    wanted = Wanted(departure, hours, picture, as_json)
    typer.echo(tell_replay(replay_kit(job, chosen), job.brief.units, wanted), nl=False)


@app.command()
def buy(
    kit: Annotated[Path, typer.Argument(help="A kit saved by choose.", show_default=False)],
    csv: Annotated[Optional[Path], typer.Option(help="Write the list as CSV.")] = None,  # noqa: UP045
    xlsx: Annotated[Optional[Path], typer.Option(help="Write list, circuits and order of work as XLSX.")] = None,  # noqa: UP045
) -> None:
    """List everything to buy for a saved KIT, how it is wired, and in which order it is fitted."""
    from optimizer.buying.telling import buy_csv, buy_xlsx, tell_buy
    from optimizer.files import write_whole
    from optimizer.frames import named_for
    from optimizer.kitfile import brief_of, load

    named_for(csv, ".csv")
    named_for(xlsx, ".xlsx")
    job, chosen = _open_saved(brief_of(load(kit)), kit)
    if csv is not None:
        write_whole(csv, buy_csv(job, chosen))
    if xlsx is not None:
        write_whole(xlsx, buy_xlsx(job, chosen))
    typer.echo(tell_buy(job, chosen))
    for path in (csv, xlsx):
        if path is not None:
            typer.echo(f"Wrote {path}.", err=True)


@app.command()
def why(
    kit: Annotated[Path, typer.Argument(help="A kit saved by choose.", show_default=False)],
    part: Annotated[Optional[str], typer.Option(help="Why this part is in, or why it is not: its id.")] = None,  # noqa: UP045
    rivals: Annotated[int, typer.Option("--next", help="Show so many next-best kits.", min=0, max=50)] = 0,
    within: Annotated[Optional[float], typer.Option(help="Most different kit within so many %.", min=0)] = None,  # noqa: UP045
    questions: Annotated[bool, typer.Option("--questions", help="One more night, one degree colder, ...")] = False,
    together: Annotated[bool, typer.Option("--together", help="Also find limits that hold only together.")] = False,
    tight: Annotated[bool, typer.Option("--tight", help="Also draw each limit tighter than the kit needs.")] = False,
    as_json: JsonFlag = False,
    seconds: Annotated[Optional[float], typer.Option(help="Seconds for each question.", min=0.1)] = None,  # noqa: UP045
    workers: Annotated[Optional[int], typer.Option(help="Processes that ask; all cores, at most four.", min=1)] = None,  # noqa: UP045
    quiet: Annotated[bool, typer.Option("--quiet", help="Say nothing while working.")] = False,
) -> None:
    """Tell why a saved KIT is the best: what each limit costs, and what a little give would buy."""
    from optimizer.choosing.solve import Settings
    from optimizer.explain.data import unsettled
    from optimizer.explain.hands import Hands
    from optimizer.explain.why import OpenError, Wanted, bench_for
    from optimizer.explain.why import why as answer
    from optimizer.kitfile import brief_of, dumps, load

    progress = _Progress(quiet)
    job, chosen = _open_saved(brief_of(load(kit)), kit)
    bench = bench_for(job, Settings(seconds=seconds), _recalled(job), progress)
    wanted = Wanted(part, rivals, within, questions, together, tight)
    try:
        with bench.stop.at_ctrl_c(), Hands(bench, workers) as hands:
            words, found = answer(bench, job, chosen, wanted, hands)
    except OpenError as error:
        progress.done()
        typer.echo(str(error), err=True)
        raise typer.Exit(UNPROVEN) from error
    _keep(job, bench.store)
    progress.done()
    typer.echo(dumps(found) if as_json else words, nl=not as_json)
    _say_stopped(bench)
    raise typer.Exit(UNPROVEN if unsettled(found) else PROVEN)


@app.command()
def book(
    kit: Annotated[Optional[Path], typer.Argument(help="A kit saved by choose.", show_default=False)] = None,  # noqa: UP045
    out: Annotated[Path, typer.Option("-o", "--out", help="Folder to write the book into.")] = Path("book"),
    pdf: Annotated[
        bool, typer.Option("--pdf", help="Print it as PDF too: A4, or US Letter for a brief in US units.")
    ] = False,
    clock: Annotated[bool, typer.Option("--clock", help="Print today's date in it.")] = False,
    deep: Annotated[
        bool, typer.Option("--deep", help="With break-evens and trade-offs: chooses again, for minutes or longer.")
    ] = False,
    seconds: Annotated[
        Optional[float], typer.Option(help="With --deep: most for a break-even, and for all trade-offs.", min=0.1)  # noqa: UP045
    ] = None,
    compare: Annotated[
        Optional[tuple[Path, Path]], typer.Option(help="Set two saved kits side by side instead.", show_default=False)  # noqa: UP045
    ] = None,
) -> None:
    """Write the build book of a saved KIT: a page to print, buy list, drawings, hours."""
    from optimizer.book.facts import gather
    from optimizer.book.writing import Wanted, left_over, write_book, write_comparison

    today = time.strftime("%Y-%m-%d") if clock else ""
    if (kit is None) == (compare is None):
        typer.echo("Say of which kit: kitwright book KIT -o DIR, or kitwright book --compare A B", err=True)
        raise typer.Exit(FAULT)
    if compare is not None:
        written = write_comparison(gather(compare[0]), gather(compare[1]), out, Wanted(pdf, today))
    else:
        assert kit is not None
        written = write_book(gather(kit), out, Wanted(pdf, today, deep, seconds))
    for path in written:
        typer.echo(f"Wrote {path}.")
    for path in left_over(out, written) if kit is not None else ():
        typer.echo(f"Note: {path} was left by an earlier book and is not of this one.", err=True)


def _draw(job: Job, kit: Kit, folder: Path) -> None:
    """Write the drawings of a kit into a folder."""
    from optimizer.drawings import draw_kit
    from optimizer.files import new_folder, write_whole

    new_folder(folder)
    for name, text in draw_kit(job, kit).items():
        write_whole(folder / name, text)
        typer.echo(f"Drew {folder / name}.", err=True)


def _open_saved(brief: Path, kit: Path) -> tuple[Job, Kit]:
    """A brief and a saved kit that fit each other, with a note when something changed since."""
    from optimizer.job import open_job
    from optimizer.kitfile import changes_since, kit_on_offer, load

    saved = load(kit)
    job = open_job(brief)
    for note in changes_since(saved, job):
        typer.echo(f"Note: {note}", err=True)
    return job, kit_on_offer(saved, job)


def _recalled(job: Job) -> LevelStore | None:
    """What earlier runs learnt about this job's trips; None when it has none."""
    if job.brief.trip.coverage is None:
        return None
    from optimizer.learnt import recall

    return recall(job.scene)


def _keep(job: Job, store: LevelStore) -> None:
    """Keep what a run learnt about this job's trips, beside what earlier ones did."""
    kept = _recalled(job)
    if kept is not None:
        from optimizer.learnt import keep

        kept.add(store)
        kept.add_kits(store.kits)
        keep(job.scene, kept)


def _say(text: str) -> None:
    """Print, and go on where nobody reads any more: what is still to be written is, and the exit code stays true."""
    try:
        typer.echo(text, nl=False)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _say_stopped(bench: Bench) -> None:
    """That Ctrl-C was heard, for whoever wonders why so much is open."""
    if bench.stop.asked:
        typer.echo("Stopped early: what was not settled by then is said to be open.", err=True)


def _limit_words(seconds: float | None) -> str:
    return "no time limit" if seconds is None else f"time limit {seconds:g} s"


class _Progress:
    """One line on a terminal that tells what is going on; silent when nobody looks."""

    def __init__(self, quiet: bool) -> None:
        self._shown = sys.stderr.isatty() and not quiet
        self._width = 0

    def __call__(self, words: str) -> None:
        if self._shown:
            typer.echo("\r" + words.ljust(self._width), nl=False, err=True)
            self._width = len(words)

    def done(self) -> None:
        """Wipe the line."""
        if self._shown:
            typer.echo("\r" + " " * self._width + "\r", nl=False, err=True)


add_to(app)

if __name__ == "__main__":
    main()
