"""Torque on the command line: units, adapters, orders, plans, a value judged, a group drawn.

Text is rounded to what a mechanic can use; `--json` gives one object with every value exact, as text.
"""

import datetime as dt
import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer
from rich.console import Console

from assistant.errors import ProcedureError, TorqueError

if TYPE_CHECKING:
    from assistant.procedure.model import Procedure
    from assistant.torque.group import FastenerGroup
    from assistant.torque.strength import Material
    from assistant.torque.units import Quantity

torque_app = typer.Typer(
    help="Units, adapters, orders, plans, a value judged, a group drawn.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    add_completion=False,
)

AsJson = Annotated[bool, typer.Option("--json", help="One JSON object, every value exact.")]
Torque = Annotated[
    list[str], typer.Argument(metavar="VALUE", help="A torque with its unit, such as 110 lbf.in.")
]
Named = Annotated[str, typer.Argument(help="A procedure's file, or the name of a shipped one.")]
Group = Annotated[str, typer.Argument(help="The group of fasteners, by its name in the procedure.")]

_OUT: Final = Console(highlight=False)


@torque_app.command(context_settings={"ignore_unknown_options": True})  # -5 degC is a value
def convert(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="VALUE [UNIT]",
            help="A number with its unit, and the unit wanted: 110 lbf.in N.m, 1/4 turn. Without it, each there is.",
        ),
    ],
    as_json: AsJson = False,
) -> None:
    """Convert a torque, length, angle, time or other quantity by its exact factor."""
    from assistant.torque.spellings import UNITS  # noqa: PLC0415
    from assistant.work.plan_table import shown  # noqa: PLC0415
    from assistant.work.typed import unquoted  # noqa: PLC0415

    given, unit = unquoted(words)
    alike = [symbol for symbol, known in UNITS.items() if known.dimension == given.dimension]
    try:
        found = [given.to(wanted) for wanted in ([unit] if unit else alike)]
    except TorqueError as error:
        raise TorqueError(error.what, do=f"the units of {given.dimension} are {', '.join(alike)}") from error
    if as_json:
        _print_json({"value": str(given), "in": {each.unit: str(each) for each in found}})
        return
    for each in found:
        typer.echo(f"{given} {'=' if shown(each) == str(each) else 'is about'} {shown(each)}")


@torque_app.command()
def adapter(
    value: Torque,
    *,
    length: Annotated[
        str, typer.Option("--adapter", metavar="LENGTH", help="From the square to the fastener, as 50 mm.")
    ],
    wrench: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help="From the square to the middle of the grip, as 12 in."),
    ] = None,
    angle: Annotated[
        str, typer.Option(metavar="DEG", help="Between adapter and handle: 0 in line, 90 square, 180 back.")
    ] = "0",
    from_setting: Annotated[
        bool, typer.Option("--from-setting", help="VALUE is what the wrench is set to, not what is wanted.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Work out what to set a wrench to that holds an adapter (crowfoot), or what the fastener gets."""
    from assistant.torque.adapter import CAUTIONS, setting_for, target_of  # noqa: PLC0415
    from assistant.torque.units import read_quantity  # noqa: PLC0415
    from assistant.work.plan_table import shown  # noqa: PLC0415
    from assistant.work.typed import in_degrees  # noqa: PLC0415

    lever = read_quantity(wrench, "length") if wrench is not None else None
    work_out = target_of if from_setting else setting_for
    reach, turned = read_quantity(length, "length"), read_quantity(in_degrees(angle), "angle")
    found = work_out(_torque(value), lever, reach, turned)
    unknown = ["The wrench's effective length is not known; at right angles it makes no difference."]
    cautions = [*(unknown if lever is None else []), *found.cautions]
    cautions += [CAUTIONS[between] for between in ("extension", "universal joint")]
    if as_json:
        asked = {"wrench": _text(lever), "adapter": str(reach), "angle": str(turned)}
        worked_out = {"from": "setting" if from_setting else "target", "cautions": cautions}
        _print_json(asked | found.model_dump(mode="json") | worked_out)
        return
    setting, target = shown(found.setting), shown(found.target)
    if from_setting:
        typer.echo(f"Set to {setting}, the wrench gives the fastener {target}.")
        typer.echo("  torque at the fastener = setting x (L + E cos angle) / L")
    else:
        typer.echo(f"For {target} at the fastener, set the wrench to {setting}.")
        typer.echo("  setting = torque at the fastener x L / (L + E cos angle)")
    typer.echo(f"  L, the wrench: {_text(lever) or 'not known'}; E, the adapter: {reach}; angle: {turned}")
    for caution in cautions:
        typer.echo(f"Mind: {caution}")


@torque_app.command()
def order(
    *,
    circle: Annotated[int | None, typer.Option(help="So many, clockwise from the top.")] = None,
    rectangle: Annotated[
        str | None, typer.Option(metavar="RxC", help="Rows x columns, as 2x4, row by row from the top left.")
    ] = None,
    line: Annotated[int | None, typer.Option(help="So many, from the left.")] = None,
    points: Annotated[
        Path | None, typer.Option(help="CSV with x and y in each line, or YAML with points: [[0, 0], ...].")
    ] = None,
    pattern: Annotated[
        str, typer.Option(help="derived, crosswise, centre-out or alternate-ends.")
    ] = "derived",
    loosen: Annotated[bool, typer.Option("--loosen", help="The order of loosening.")] = False,
    as_json: AsJson = False,
) -> None:
    """Give the order in which a layout is tightened or loosened, and what holds for it."""
    from assistant.torque.order import PATTERNS, loosening  # noqa: PLC0415
    from assistant.work.layouts import only_one, properties  # noqa: PLC0415

    if pattern not in PATTERNS:
        raise TorqueError(f"{pattern!r} is no pattern", do=f"write one of {', '.join(PATTERNS)}")
    form, size, layout = only_one({"circle": circle, "rectangle": rectangle, "line": line, "points": points})
    placed = layout.placed()
    tightening = PATTERNS[pattern](placed)
    holds = properties(tightening, placed)
    if loosen:
        tightening = loosening(tightening)
        holds = {"each position once": holds["each position once"], "tightening the other way round": True}
    if as_json:
        about = {"layout": form, "size": str(size), "positions": len(placed), "pattern": pattern}
        _print_json(about | {"loosen": loosen, "order": tightening, "points": placed, "properties": holds})
        return
    typer.echo(f"{'Loosen' if loosen else 'Tighten'}: {' '.join(str(position) for position in tightening)}")
    typer.echo(f"What holds: {'; '.join(text for text, held in holds.items() if held)}.")


@torque_app.command()
def plan(
    procedure: Named,
    group: Group,
    shop: Annotated[
        Path | None, typer.Option(help="The shop's tools; by default shop.yaml in your configuration folder.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Give every single act of a group's plan in its order, each with the tool that suits."""
    from assistant.torque.plan import expand  # noqa: PLC0415
    from assistant.torque.values import doubted_values  # noqa: PLC0415
    from assistant.work.plan_table import as_row, heading, table_of  # noqa: PLC0415
    from assistant.work.shop import load_shop, shop_file  # noqa: PLC0415
    from assistant.work.tooling import reaches, tools_for  # noqa: PLC0415

    loaded, chosen = _group(procedure, group)
    acts, today = expand(chosen), dt.datetime.now(dt.UTC).astimezone().date()
    listed = load_shop(shop)
    tooling = tools_for(chosen, acts, listed, today, reaches(loaded, chosen))
    findings = tooling.findings if acts else ("the procedure gives no stages for this group",)
    findings = (*(f"stage {each.stage}: {each.verdict.text}" for each in doubted_values(chosen)), *findings)
    steps = tuple(zip(acts, tooling.choices, strict=True))
    if as_json:
        about = {"procedure": loaded.procedure, "group": group, "thread": chosen.thread}
        about |= {"class": chosen.property_class, "condition": chosen.condition}
        rows = [as_row(number, *step) for number, step in enumerate(steps, start=1)]
        _print_json({**about, "acts": rows, "findings": findings})
    else:
        typer.echo(heading(chosen))
        _OUT.print(table_of(steps))
        for finding in findings:
            typer.echo(f"Finding: {finding}")
        if not listed.wrenches:
            typer.echo(f"No wrench is chosen: list yours in {shop or shop_file()}, as README shows.")
    if findings:
        raise typer.Exit(1)


@torque_app.command()
def judge(
    thread: Annotated[str, typer.Argument(help="M10, M10x1.25, 1/4-20, #10-32")],
    property_class: Annotated[str, typer.Argument(metavar="CLASS", help="8.8, SAE 5, A2-70")],
    value: Torque,
    *,
    condition: Annotated[
        str | None, typer.Option(help="dry, oiled, plated, waxed, threadlocker, anti-seize or sealant.")
    ] = None,
    material: Annotated[
        str, typer.Option(help="What holds the thread: steel, cast iron or aluminium.")
    ] = "steel",
    engagement: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="How deep the thread engages, as 12 mm.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Judge whether a torque can be meant for a fastener: exit 0 plausible, 1 a finding."""
    from assistant.torque import strength  # noqa: PLC0415
    from assistant.torque.threads import read_thread  # noqa: PLC0415
    from assistant.work.typed import whole_class  # noqa: PLC0415

    property_class, value = whole_class(property_class, value)
    holder = strength.read_material(material)
    depth = _depth(engagement, holder)
    verdict = strength.judge(
        thread, property_class, _torque(value), condition, material=holder, engagement=depth
    )
    wanted_mm = strength.engagement_mm(read_thread(thread), holder)
    if as_json:
        around = {"material": holder, "engagement": _text(depth), "usual_engagement": f"{wanted_mm:g} mm"}
        asked = {"thread": thread, "class": property_class, "value": " ".join(value), "condition": condition}
        _print_json(asked | verdict.model_dump(mode="json") | around)
    else:
        much, usual, little = (f"{share:.0%}" for share in verdict.share_of_proof)
        typer.echo(verdict.text)
        typer.echo(
            f"  With much, usual and little friction: {much}, {usual}, {little} of what the joint bears."
        )
        typer.echo(f"  In {holder}, {wanted_mm:.3g} mm of engaged thread hold any usual fastener.")
    if not verdict.clean:
        raise typer.Exit(1)


@torque_app.command()
def draw(
    procedure: Named,
    group: Group,
    out: Annotated[Path, typer.Option(help="The SVG file to write.")],
    as_json: AsJson = False,
) -> None:
    """Draw a group: where its positions lie, their numbers and their order."""
    from assistant.torque.draw import draw as drawn  # noqa: PLC0415
    from assistant.work.files import replace  # noqa: PLC0415

    loaded, chosen = _group(procedure, group)
    replace(out, drawn(chosen))
    if as_json:
        _print_json(
            {"procedure": loaded.procedure, "group": group, "positions": chosen.count, "out": str(out)}
        )
    else:
        typer.echo(out)


def _print_json(found: dict[str, Any]) -> None:
    typer.echo(json.dumps(found, ensure_ascii=False))


def _text(quantity: "Quantity | None") -> str | None:
    return None if quantity is None else str(quantity)


def _torque(words: list[str]) -> "Quantity":
    from assistant.torque.units import read_quantity  # noqa: PLC0415

    torque = read_quantity(" ".join(words), "torque")
    if torque.value <= 0:
        raise TorqueError(f"{torque} tightens nothing", do="write a torque above zero, such as 12 N.m")
    return torque


def _depth(engagement: str | None, material: "Material") -> "Quantity | None":
    from assistant.torque.units import read_quantity  # noqa: PLC0415

    depth = read_quantity(engagement, "length") if engagement else None
    if depth and depth.value <= 0:
        raise TorqueError(f"a thread engaged by {depth} holds nothing", do="write a length above zero")
    if depth and material == "steel":
        raise TorqueError(
            "in steel the depth of engagement is not judged",
            do="leave --engagement out, or add --material aluminium or --material 'cast iron'",
        )
    return depth


def _group(procedure: str, group: str) -> "tuple[Procedure, FastenerGroup]":
    """Give the procedure and its group; ProcedureError where there is no such group."""
    from assistant.procedure.load import find_procedure, load_procedure  # noqa: PLC0415

    loaded = load_procedure(find_procedure(procedure))
    if group not in loaded.groups:
        known = ", ".join(loaded.groups) or "none"
        raise ProcedureError(f"the procedure has no group {group!r}", where=procedure, do=f"it has {known}")
    return loaded, loaded.groups[group]
