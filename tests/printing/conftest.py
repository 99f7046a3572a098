"""A print shop for the session, an evening's book for each test, and the queues put right between tests."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from tests.cli.process import House, copy_of
from tests.printing.press import PrintShop, missing


@pytest.fixture(scope="session")
def _shop() -> Iterator[PrintShop]:
    if lacking := missing():
        pytest.skip(f"needs {', '.join(lacking)}: .ci/run installs them")
    folder = Path(tempfile.mkdtemp(prefix="print-shop-"))
    folder.chmod(0o755)  # the print service's filters run as another user
    shop = PrintShop(folder)
    try:
        shop.open()
        yield shop
    finally:
        shop.close()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def shop(_shop: PrintShop) -> Iterator[PrintShop]:
    """Two printers in order: no trouble, nothing queued, nothing in their trays."""
    yield _shop
    for device in _shop.devices.values():
        for switch in ("media-empty", "media-jam", "cover-open", "slow", "breaks"):
            device.trouble(switch, on=False)
        _shop.tool("cancel", "-a", device.name)
        _shop.ensure(device)
        _shop.wait(lambda device=device: not _shop.busy(device), device.name)
        for path in (device.folder / "spool").iterdir():
            path.unlink()


@pytest.fixture(scope="session")
def _packed(tmp_path_factory: pytest.TempPathFactory) -> House:
    house = House(folder=tmp_path_factory.mktemp("packed"))
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    house.ok("animal", "add", "26H", "pig", "--what", "half hog", "--processed", "20 nov")
    house.ok("pack", "loin chops", "1.10", "1.05", ".98", "1.12", "1.08", "--animal", "26H", "--pieces", "4")
    return house


@pytest.fixture
def house(_packed: House, tmp_path: Path, shop: PrintShop) -> House:
    """Five packages of chops without labels, in a kitchen with the shop's printers."""
    return replace(copy_of(_packed, tmp_path), more=shop.environment())
