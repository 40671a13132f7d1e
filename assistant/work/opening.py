"""From what was asked for on the command line to a job that is open and held."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

from assistant.job.folder import JobFolder, list_jobs, slug
from assistant.job.revision import lost
from assistant.job.shelf import open_job_on
from assistant.procedure.load import find_procedure, parse_procedure, read_text
from assistant.procedure.route import Route, revised, route_through
from assistant.torque.wrench import Shop
from assistant.work.shop import parse_shop, with_uses


def open_job(
    named: str, jobs_dir: Path, *, new: str | None, route: str, today: datetime, shop_text: str | None = None
) -> tuple[Route, JobFolder]:
    """Take up the open job on a procedure, or start one; `new` names another.

    A job that is taken up goes on with the very text it was started with; its route knows of a newer revision,
    which is asked about. Raises ProcedureError and JobError.
    """
    path = find_procedure(named)
    text = read_text(path)
    procedure = parse_procedure(text, name=str(path))
    way = route_through(procedure, route, _shop(shop_text, "shop.yaml"))
    taken_up = None if new else open_job_on(jobs_dir, procedure.procedure, route)
    if taken_up is None:
        name = new or _free_name(jobs_dir, f"{path.stem} {today:%Y-%m-%d}")
        return way, JobFolder.create(jobs_dir, name, text, shop_text)
    folder = JobFolder.open(jobs_dir, taken_up)
    return _with_newer(route_of(folder, route), folder, way, text), folder


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
