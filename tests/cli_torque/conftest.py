from pathlib import Path

import pytest
from typer.testing import CliRunner

from assistant.cli_torque import torque_app
from assistant.work import shop
from tests.cli_torque.bench import PUMP, SHOP, Run


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command in a folder of its own, as a user with a shop of two wrenches and one procedure."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.setattr(shop, "user_config", lambda: tmp_path)
    monkeypatch.setattr(shop, "user_data", lambda: tmp_path)
    (tmp_path / "shop.yaml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "pump.yaml").write_text(PUMP, encoding="utf-8")
    return lambda *args: CliRunner().invoke(torque_app, args)
