"""The tools of the shop: its file, and how often each wrench has been used since it was calibrated.

The file is shop.yaml in the user's configuration folder, or one that is named:

    wrenches:
      - name: inch pound
        say: the quarter-inch drive inch-pound wrench
        kind: click                 # click, beam, dial, electronic
        drive: 1/4 in
        least: 20 lbf.in
        most: 200 lbf.in
        resolution: 1 lbf.in        # the step in which it is set or read
        length: 210 mm              # from the middle of the square to that of the grip
        accuracy: 4 %
        calibrated: 2026-03-31
        uses: 120                   # since then, before this program counted them

Only name, least, most and resolution are needed. Uses are counted by the day in uses.json in the
user's data folder, so that those before a new calibration drop out by themselves once its date is
written into the shop's file. Two programs that count in the same instant can lose one count.
"""

import datetime as dt
from pathlib import Path
from typing import Final

from pydantic import NonNegativeInt, TypeAdapter, ValidationError

from assistant.errors import AssistantError, TorqueError
from assistant.paths import user_config, user_data
from assistant.procedure.yaml_text import Form
from assistant.torque.wrench import Shop, TorqueWrench
from assistant.work.files import read_text, replace

_FORM: Final = Form(Shop, TorqueError, "a list of a shop's tools", "begin it with wrenches: and a list")
_ANEW: Final = "delete the file; the counts then begin anew"
_COUNTS: Final = TypeAdapter(dict[str, dict[dt.date, NonNegativeInt]])


def shop_file() -> Path:
    """Give the place of the shop's file where none is named."""
    return user_config() / "shop.yaml"


def shop_text(named: Path | None = None) -> str | None:
    """Read the shop's file: the named one, else the user's; None where the user has none.

    Raises AssistantError where a named file is missing, or one that is there cannot be read.
    """
    path = named or shop_file()
    if named is None and not path.exists():
        return None
    return read_text(path, "give a YAML file that begins with wrenches:")


def parse_shop(text: str, *, name: str) -> Shop:
    """Make a Shop of YAML text; `name` is the file to name in a mistake.

    Raises TorqueError naming file and line, and what to write instead.
    """
    return _FORM.fill(_FORM.read(text, name), name)


def load_shop(named: Path | None = None) -> Shop:
    """Read the shop's file, and add the uses counted since; a shop without wrenches where there is none.

    Raises AssistantError for a file that cannot be used.
    """
    text = shop_text(named)
    return with_uses(parse_shop(text, name=str(named or shop_file()))) if text is not None else Shop()


def with_uses(shop: Shop) -> Shop:
    """Add to each wrench the uses that were counted since its calibration."""
    counted = uses()
    for wrench in shop.wrenches:
        shop = shop.used(wrench.name, _since_calibration(wrench, counted.get(wrench.name, {})))
    return shop


def uses() -> dict[str, dict[dt.date, int]]:
    """Give the counted uses: by the wrench's name, and then by the day.

    Raises AssistantError where the file of the counts cannot be used.
    """
    path = _uses_file()
    if not path.exists():
        return {}
    try:
        return _COUNTS.validate_json(read_text(path, _ANEW))
    except ValidationError as error:
        raise AssistantError(
            "the counts of the wrenches' uses are damaged", where=str(path), do=_ANEW
        ) from error


def count_uses(name: str, times: int = 1, *, today: dt.date) -> None:
    """Count uses of a wrench, across jobs. The file is replaced as a whole or left as it was.

    Raises AssistantError where it cannot be read or written.
    """
    counted = uses()
    days = counted.setdefault(name, {})
    days[today] = days.get(today, 0) + times
    replace(_uses_file(), f"{_COUNTS.dump_json(counted, indent=2).decode()}\n")


def _uses_file() -> Path:
    return user_data() / "uses.json"


def _since_calibration(wrench: TorqueWrench, days: dict[dt.date, int]) -> int:
    # The day of the calibration counts as after it: rather told too early than too late.
    since = wrench.calibrated or dt.date.min
    return sum(times for day, times in days.items() if day >= since)
