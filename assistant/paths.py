"""Where the data that travels with the program is: inside the wheel, or beside a checkout."""

from pathlib import Path

import platformdirs

from assistant.errors import AssistantError

_PACKAGE = Path(__file__).resolve().parent


def shipped(name: str) -> Path:
    """Give the folder `grammars` or `procedures`, from the wheel or from the checkout.

    Raises AssistantError where the installation lacks it.
    """
    for folder in (_PACKAGE / "shipped" / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise AssistantError(
        f"the folder {name} is missing from this installation", do="install the package again"
    )


def user_data() -> Path:
    """Give the user's data folder, where jobs live unless told otherwise."""
    return Path(platformdirs.user_data_dir("callout"))


def user_cache() -> Path:
    """Give the user's cache folder, where joined model weights live."""
    return Path(platformdirs.user_cache_dir("callout"))


def user_config() -> Path:
    """Give the user's configuration folder, where the shop's tools are listed."""
    return Path(platformdirs.user_config_dir("callout"))
