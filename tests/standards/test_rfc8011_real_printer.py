"""A real IPP printer, read through a few lines of adapter: its states are our vocabulary's.

RFC 8011 §5.4.11 (printer-state), §5.3.7 (job-state), §5.4.12 (printer-state-reasons). The printer
is CUPS's ``ippeveprinter``. It never stops by itself (with media missing it goes on "processing",
and only its reasons say that a person is wanted), so ``stopped`` is held by the tables of states.
"""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from bridge.engine.core import Core
from bridge.engine.events import HTTP_SOURCE, Heard, Settings, Started
from bridge.engine.view import View
from bridge.facts.moment import Moment
from bridge.facts.values import Reasons
from bridge.settings.load import load_site
from tests.benchmarks.world import free_port
from tests.standards.ipp_printer import BUS, PRINTER, IppPrinter, running

CONFIG = Path(__file__).parents[2] / "config"
PATIENCE_S = 10.0

#: RFC 8011 §5.4.11 and §5.3.7: the numbers of the states.
READER = """\
messages:
  page: {kind: json, fresh_for: 45s, required: true}
facts:
  state: [{in: page, at: /state, values: {3: idle, 4: processing, 5: stopped}}]
  job:
    - in: page
      at: /job
      values:
        {3: pending, 4: pending-held, 5: processing, 6: processing-stopped, 7: canceled,
         8: aborted, 9: completed}
      no_value: [null]
  reasons: {all_of: [{in: page, at: /reasons, unless: [none]}]}
"""

pytestmark = pytest.mark.skipif(
    PRINTER is None or BUS is None, reason="needs ippeveprinter (cups-ipp-utils) and dbus-daemon"
)


class Bench:
    """The printer, and a core that is fed with what the adapter makes of it."""

    def __init__(self, printer: IppPrinter, site: Path) -> None:
        self.printer = printer
        self._core, self._ms = Core(), 0
        loaded = load_site(site)
        (self._endpoint,) = loaded.endpoints
        self._core.handle(Started("bench"), Moment(0))
        self._core.handle(Settings(loaded, ""), Moment(0))

    def hear(self) -> View:
        """One poll."""
        self._ms += 1000
        body = json.dumps(self.printer.look()).encode()
        self._core.handle(Heard(HTTP_SOURCE, self._endpoint, body), Moment(self._ms))
        return self._core.view()

    def until(self, state: str, job: object, rule: str, reasons: set[str]) -> None:
        """Poll until it is so; what it was instead is told."""
        seen: object = None
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            view = self.hear()
            facts = view.printers["plover"].facts
            known = facts["reasons"]
            said = {each.said for each in known.known} if isinstance(known, Reasons) else None
            seen = (facts["state"], facts["job"], view.segments["shelf"].rule, said)
            if seen == (state, job, rule, reasons):
                return
            time.sleep(0.05)
        pytest.fail(f"{seen}, expected {(state, job, rule, reasons)}")


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """The example site, with such a printer for plover."""
    site, folder = tmp_path / "site", tmp_path / "printer"
    shutil.copytree(CONFIG, site)
    (site / "readers" / "ledger.yaml").write_text(READER, "utf-8")
    folder.mkdir()
    with running(folder, free_port()) as printer:
        _answers(printer.look)
        yield Bench(printer, site)


def _answers(look: Callable[[], object]) -> None:
    end = time.monotonic() + PATIENCE_S
    while True:
        try:
            look()
        except (OSError, ValueError):
            if time.monotonic() > end:
                raise
            time.sleep(0.05)
        else:
            return


def test_a_job_from_its_beginning_to_its_end(bench: Bench) -> None:
    """Idle, processing, a warning that stops nothing, and a part to collect."""
    bench.hear()
    bench.printer.print()
    bench.until("processing", "processing", "working", set())
    bench.printer.says("STATE: +media-empty-warning")
    bench.until("processing", "processing", "working", {"media-empty-warning"})
    bench.printer.says("STATE: -media-empty-warning")
    bench.until("processing", "processing", "working", set())
    bench.printer.says("done")
    bench.until("idle", "completed", "part to collect", set())


def test_a_fault_and_a_job_that_is_called_off(bench: Bench) -> None:
    """An open cover is an alarm whatever its suffix; a canceled job asks for nothing but a look."""
    job = bench.printer.print()
    bench.until("processing", "processing", "working", set())
    bench.printer.says("STATE: +cover-open-warning")
    bench.until("processing", "processing", "broken", {"cover-open-warning"})
    bench.printer.says("STATE: -cover-open-warning")
    bench.printer.cancel(job)
    bench.printer.says("done")
    # Nobody acknowledged it, so it stands though its cause is gone.
    bench.until("idle", "canceled", "broken", set())
