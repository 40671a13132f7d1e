"""From what was asked for on the command line to a job that is open and held."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

from assistant.errors import JobError, ProcedureError
from assistant.job.folder import JobFolder, list_jobs, slug
from assistant.job.revision import lost
from assistant.job.shelf import JobSummary, open_jobs_on, summary
from assistant.procedure.load import find_procedure, parse_procedure, read_text
from assistant.procedure.route import Route, revised, route_through
from assistant.torque.wrench import Shop
from assistant.work.shop import parse_shop, with_uses


def open_job(
    named: str,
    jobs_dir: Path,
    *,
    new: str | None,
    route: str,
    today: datetime,
    job: str | None = None,
    shop_text: str | None = None,
) -> tuple[Route, JobFolder]:
    """Take up the open job on a procedure, or start one; `new` names another, `job` the one of several.

    A job that is taken up goes on with the very text it was started with; its route knows of a newer revision,
    which is asked about. Raises ProcedureError and JobError.
    """
    path = _procedure_file(named, jobs_dir)
    text = read_text(path)
    procedure = parse_procedure(text, name=str(path))
    taken_up = _taken_up(jobs_dir, procedure.procedure, new=new, job=job, route=route)
    route = taken_up.route if taken_up else route
    way = route_through(procedure, route, _shop(shop_text, "shop.yaml"))
    if taken_up is None:
        name = new or _free_name(jobs_dir, f"{path.stem} {today:%Y-%m-%d}")
        return way, JobFolder.create(jobs_dir, name, text, shop_text)
    folder = JobFolder.open(jobs_dir, taken_up.name)
    return _with_newer(route_of(folder, route), folder, way, text), folder


def _procedure_file(named: str, jobs_dir: Path) -> Path:
    """Give the procedure's file. Raises ProcedureError where a job was named instead."""
    path = find_procedure(named)
    if not path.exists() and named in list_jobs(jobs_dir):
        of = summary(jobs_dir, named).procedure
        raise ProcedureError(
            "there is no such procedure, but a job of this name",
            where=named,
            do=f"name its procedure ({of}) and then the job: callout work PROCEDURE --job '{named}'",
        )
    return path


def _taken_up(
    jobs_dir: Path, title: str, *, new: str | None, job: str | None, route: str
) -> JobSummary | None:
    """Give the open job that is taken up: the one that was named, else the latest on the route; None for a new one."""
    if job is not None:
        return _meant(jobs_dir, job, title=title, new=new, route=route)
    if new:
        return None
    return next((each for each in open_jobs_on(jobs_dir, title) if each.route == route), None)


def _meant(jobs_dir: Path, job: str, *, title: str, new: str | None, route: str) -> JobSummary:
    """Give the open job that was named. Raises JobError where it cannot be taken up as it was asked for."""
    if new:
        raise JobError("a job is either taken up or new", do="give --job or --new, not both")
    found = summary(jobs_dir, job)
    if found.procedure != title:
        do = f"name that procedure, or choose another job ({_names(open_jobs_on(jobs_dir, title)) or 'none is open'})"
        raise JobError(f"the job {found.name} is on another procedure: {found.procedure}", do=do)
    if found.closed:
        do = f"choose one that is open ({_names(open_jobs_on(jobs_dir, title)) or 'none'}), or begin another with --new"
        raise JobError(f"the job {found.name} is finished", do=do)
    if route not in {"", found.route}:
        raise JobError(f"the job {found.name} is on {_route_said(found.route)}", do="leave out --route")
    return found


def open_beside(jobs_dir: Path, way: Route, folder: JobFolder) -> str:
    """Tell which open jobs could have been meant too, and how to take one up; nothing where there is none.

    Of a job that nobody named, before anything happens in it.
    """
    jobs = open_jobs_on(jobs_dir, way.procedure.procedure)
    mine = next((each for each in jobs if each.name == folder.name), None)
    others = tuple(each for each in jobs if each is not mine and (mine is None or each.route == mine.route))
    if not others:
        return ""
    if mine is not None:
        return f"several such jobs are open; {mine.name} is taken up. To take another: --job with {_names(others)}"
    route = _route_said(others[0].route)
    return f"a new job is begun, {folder.name}; one on {route} is open. To go on with that: --job '{others[0].name}'"


def _names(jobs: tuple[JobSummary, ...]) -> str:
    return ", ".join(f"'{each.name}'" for each in jobs)


def _route_said(route: str) -> str:
    return f"the route {route}" if route else "the full way"


def changed_unasked(named: str, route: Route, folder: JobFolder) -> bool:
    """Tell whether the file says something else than the job's text, and is not a newer revision of it."""
    text = read_text(find_procedure(named))
    revision = parse_procedure(text, name=named).revision
    return text != folder.procedure_text and revision <= route.procedure.revision


def _with_newer(route: Route, folder: JobFolder, newer: Route, text: str) -> Route:
    if newer.procedure.revision <= route.procedure.revision:
        return route
    newer = replace(newer, shop=route.shop)
    return revised(route, newer, text, lost(folder.journal.entries(), route, newer))


def route_of(folder: JobFolder, route: str) -> Route:
    """Give the route of a job, from the text and the tools it was started with."""
    procedure = parse_procedure(folder.procedure_text, name=f"{folder.name}/procedure.yaml")
    return route_through(procedure, route, _shop(folder.shop_text, f"{folder.name}/shop.yaml"))


def _shop(text: str | None, name: str) -> Shop:
    return with_uses(parse_shop(text, name=name)) if text is not None else Shop()


def _free_name(jobs_dir: Path, name: str) -> str:
    """Give the name, with a number behind it where there is such a job already."""
    taken = {slug(job) for job in list_jobs(jobs_dir)}
    return next(
        free for free in (name, *(f"{name} {again}" for again in range(2, 1000))) if slug(free) not in taken
    )
