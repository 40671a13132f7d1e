"""The page in a real browser: nothing is fetched, nothing fails, all is there at 200 % and on paper.

Chromium is run without a window by its own command line: its log of the network says what it asked for,
and a probe written into a copy of the page measures what was laid out.
"""

import json
import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
import soundfile

from assistant.job.folder import JobFolder
from assistant.record.gather import gather
from assistant.record.render import draw_groups, render
from assistant.record.write import write_record
from assistant.torque.draw import draw
from assistant.torque.group import FastenerGroup
from tests.record.sample import PROCEDURE, demonstration, png, sample_entries, write_job

REQUIRED = "CALLOUT_TEST_CHROMIUM"
"""Set where the browser has to be there, so that a missing one is a failure."""

BROWSER = "not an origin"

PROBE = """
<script>
addEventListener("load", () => {
  const wide = [...document.querySelectorAll("body *")].filter(e => !e.closest(".wide") && e.getClientRects().length
    && e.getBoundingClientRect().right > innerWidth + 1).map(e => e.tagName + "#" + e.id + "." + e.className);
  const small = [...document.querySelectorAll("body *")].filter(e => [...e.childNodes].some(n => n.nodeType == 3
    && n.data.trim()) && parseFloat(getComputedStyle(e).fontSize) < 11).map(e => e.tagName);
  const images = [...document.images].map(i => ({source: i.src.slice(0, 30), width: i.naturalWidth,
    shown: i.getBoundingClientRect().width, own: parseFloat(i.style.getPropertyValue("--own"))}));
  const open = document.querySelector("#open h2").getBoundingClientRect();
  const sounds = [...document.querySelectorAll("audio")].map(a => a.duration);
  const found = {wide, sounds, small, images, open: open.bottom, height: innerHeight, width: innerWidth,
    sideways: document.documentElement.scrollWidth - document.documentElement.clientWidth,
    items: document.querySelectorAll("#open li").length};
  document.documentElement.dataset.found = JSON.stringify(found);
});
</script>
"""


@pytest.fixture(scope="session")
def chromium() -> str:
    """Name the browser; where there is none the tests are skipped, or fail where it was asked for."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        if found := shutil.which(name):
            return found
    why = "there is no chromium here (Debian: apt install chromium)"
    if os.environ.get(REQUIRED):
        pytest.fail(why)
    pytest.skip(why)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write the record of the made-up job, with a sound and a picture."""
    root = tmp_path_factory.mktemp("record")
    with _job(root / "jobs") as folder:
        write_record(folder, root / "out")
    return root / "out" / "record.html"


def _job(home: Path) -> JobFolder:
    folder = JobFolder.create(home, "Generator at the mill", PROCEDURE.read_text(encoding="utf-8"))
    write_job(folder.journal)
    soundfile.write(folder.sound / "note-0001.flac", np.zeros(16_000), 16_000, format="FLAC")
    folder.pictures.mkdir()
    (folder.pictures / "picture-0001.jpg").write_bytes(png())
    return folder


def browse(chromium: str, page: Path, home: Path, *more: str) -> subprocess.CompletedProcess[str]:
    """Open a page without a window; a profile of its own, so that nothing is left over."""
    command = [
        chromium,
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-features=NetworkTimeServiceQuerying",
        "--no-first-run",
        "--enable-logging=stderr",
        f"--user-data-dir={home}",
        *more,
        page.as_uri(),
    ]
    return subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)


def measured(chromium: str, page: Path, home: Path, size: str) -> dict[str, Any]:
    """Lay a copy of the page out in a window of a size, and measure it."""
    html = page.read_text(encoding="utf-8")
    html = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", html)
    copy = page.with_name("probed.html")
    copy.write_text(html.replace("</head>", f"{PROBE}</head>"), encoding="utf-8")
    done = browse(chromium, copy, home, f"--window-size={size}", "--hide-scrollbars", "--dump-dom")
    found = re.search(r'data-found="([^"]*)"', done.stdout)
    assert found is not None, done.stderr
    found_values: dict[str, Any] = json.loads(found[1].replace("&quot;", '"').replace("&amp;", "&"))
    return found_values


def test_nothing_fails_and_nothing_is_fetched(chromium: str, page: Path, tmp_path: Path) -> None:
    """The browser reports no error of the page, and asks no other machine for anything."""
    done, fetched = _fetched(chromium, page, tmp_path)
    assert "15 open" in done.stdout
    assert "CONSOLE" not in done.stderr, done.stderr
    assert fetched == set()


def test_what_is_fetched_would_be_seen(chromium: str, tmp_path: Path) -> None:
    """A page that does ask for something, and has an error, is caught by the same look."""
    page = tmp_path / "bad.html"
    page.write_text('<img src="http://127.0.0.1:9/x.png"><script>nothing.there()</script>', encoding="utf-8")
    done, fetched = _fetched(chromium, page, tmp_path)
    assert fetched == {"http://127.0.0.1:9/x.png"}
    assert "CONSOLE" in done.stderr


def _fetched(chromium: str, page: Path, folder: Path) -> tuple[subprocess.CompletedProcess[str], set[str]]:
    """Open a page; give what the browser said, and the addresses of other machines that it asked for."""
    log = folder / "net.json"
    done = browse(chromium, page, folder / "home", f"--log-net-log={log}", "--dump-dom")
    asked = [event.get("params", {}) for event in json.loads(log.read_text(encoding="utf-8"))["events"]]
    # What the browser asks for on its own account has no origin.
    pages = {params["url"] for params in asked if params.get("initiator", BROWSER) != BROWSER}
    return done, {address for address in pages if not address.startswith(("file:", "data:"))}


@pytest.mark.parametrize("size", ["1280,1043", "640,593"], ids=["100 %", "200 %"])
def test_all_is_readable(chromium: str, page: Path, tmp_path: Path, size: str) -> None:
    """In a window of 900 lines, at 100 and at 200 %, nothing hangs over the side, and all items and figures show."""
    found = measured(chromium, page, tmp_path / "home", size)
    record = gather(demonstration(), sample_entries())
    assert found["width"] == int(size.split(",", maxsplit=1)[0])
    assert found["wide"] == []
    assert found["small"] == []
    assert found["sideways"] <= 0
    assert found["items"] == len(record.open_items) == 15
    assert found["open"] < found["height"], "what is open is not on the first screen"
    assert len(found["images"]) == len(record.groups) + len(record.measurements) + 2
    assert all(image["width"] > 0 and image["shown"] > 100 for image in found["images"])


def test_page_by_itself_holds_sound_and_pictures(chromium: str, tmp_path: Path) -> None:
    """The page that is to be passed on plays its notes and shows its pictures where no file lies beside it."""
    with _job(tmp_path / "jobs") as folder:
        page, *_ = write_record(folder, tmp_path / "out", one_file=True)
    alone = page.rename(tmp_path / "alone.html")
    found = measured(chromium, alone, tmp_path / "home", "1280,1043")
    assert found["sounds"] == [1.0]
    assert all(image["width"] > 0 for image in found["images"])
    done, fetched = _fetched(chromium, alone, tmp_path)
    assert "CONSOLE" not in done.stderr, done.stderr
    assert fetched == set()


@pytest.mark.parametrize("size", ["500,900", "1280,1043"], ids=["phone", "desk"])
def test_words_in_drawings_can_be_read(chromium: str, tmp_path: Path, size: str) -> None:
    """However long a row of fasteners is, and however narrow the window, its drawing is not shrunk to nothing."""
    row = FastenerGroup.model_validate({"name": "row", "layout": {"line": 16}})
    record = gather(demonstration(), sample_entries())
    drawings = {**draw_groups(demonstration(), record), record.groups[0].name: draw(row, {})}
    page = tmp_path / "record.html"
    page.write_text(render(drawings, record), encoding="utf-8")
    found = measured(chromium, page, tmp_path / "home", size)
    drawn = [image for image in found["images"] if image["source"].startswith("data:") and image["own"]]
    assert len(drawn) == len(record.groups) + 1
    assert all(image["shown"] > 0.79 * image["own"] for image in drawn)
    assert found["sideways"] <= 0


def test_print_keeps_every_word(chromium: str, page: Path, tmp_path: Path) -> None:
    """On paper every open item, group, measurement, note and step can be read, the open items on page one."""
    path = tmp_path / "print.pdf"
    browse(chromium, page, tmp_path / "home", "--no-pdf-header-footer", f"--print-to-pdf={path}")
    document = pypdfium2.PdfDocument(path)
    pages = [" ".join(sheet.get_textpage().get_text_range().split()) for sheet in document]
    document.close()
    record = gather(demonstration(), sample_entries())
    assert all(item.what in pages[0] for item in record.open_items)
    whole = " ".join(pages)
    for words in (
        *(group.title for group in record.groups),
        *(str(row.value) for row in record.measurements),
        *(step.say for step in record.steps),
        "Note 2: fault found",
        "doubtful",
        "below its limit",
    ):
        assert words in whole
