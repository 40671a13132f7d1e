"""The guide for authors, as it travels with the program."""

from importlib.resources import files


def guide_text() -> str:
    """Give the guide; a test runs every example in it."""
    return files("assistant.author").joinpath("GUIDE.md").read_text(encoding="utf-8")
