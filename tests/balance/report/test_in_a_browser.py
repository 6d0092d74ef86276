"""The pages in a real browser without a window: nothing said on its console, nothing asked of a network, no sideways scroll, and no
violation that the automated accessibility check axe-core (W3C WCAG 2 rules) finds."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from balance.command_line.app import app
from tests.balance.day.a_day import AFTER, BEFORE, SHIFT, add, adjusted, note

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
ASK = """<script>%s</script><script>
addEventListener("load", async () => {
  const wide = {page: document.documentElement.scrollWidth, window: innerWidth};
  const found = await axe.run(document);
  const said = {wide, loaded: performance.getEntriesByType("resource").map(r => r.name),
    violations: found.violations.map(v => [v.id, v.nodes.map(n => n.html.slice(0, 160))])};
  document.body.innerHTML = "<pre id=said>" + JSON.stringify(said).replace(/</g, "&lt;") + "</pre>";
});</script>"""

if BROWSER is None and os.environ.get("BANDSTAND_BROWSER") != "needed":
    pytest.skip("no chromium here: the pages were not opened in a browser", allow_module_level=True)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("pages")
    day = folder / "R7T" / "2026-03-02"
    add(day, BEFORE, "10:00")
    add(day, AFTER, "11:00", placing=2)
    add(day, SHIFT, "11:10", placing=2)
    note(day, adjustments=[adjusted("10:30")])
    for name, options in (("file", []), ("person", ["--for", "person"])):
        done = CliRunner().invoke(app, ["report", str(day), *options, "--out", str(folder / f"{name}.html")])
        assert done.exit_code == 0, done.stderr
    return {name: folder / f"{name}.html" for name in ("file", "person")}


@pytest.mark.parametrize("width", [390, 768, 1280])
@pytest.mark.parametrize("name", ["file", "person"])
def test_the_page_in_a_browser(pages: dict[str, Path], name: str, width: int) -> None:
    said, log = opened(pages[name], name, width)
    assert said["wide"]["page"] <= said["wide"]["window"]
    assert said["loaded"] == []
    assert said["violations"] == []
    assert "CONSOLE" not in log


def test_the_check_can_fail(tmp_path: Path) -> None:
    page = tmp_path / "bad.html"
    page.write_text(
        "<!doctype html><html><body><div style='width:2000px'>x</div><input><script>console.log('hm')</script></body></html>"
    )
    said, log = opened(page, "bad", 390)
    assert said["wide"]["page"] > said["wide"]["window"]
    assert {"label", "html-has-lang"} <= {name for name, _ in said["violations"]}
    assert "CONSOLE" in log


def opened(page: Path, name: str, width: int) -> tuple[dict[str, Any], str]:
    """What a copy of the page says of itself in the browser, and the browser's log."""
    assert BROWSER is not None, "BANDSTAND_BROWSER=needed, but there is no chromium"
    axe = (files("axe_core_python") / "axe.min.js").read_text(encoding="utf-8")
    asked = page.with_name(f"{name}-{width}.html")
    asked.write_text(
        page.read_text(encoding="utf-8").replace("</body>", ASK % axe + "</body>"), encoding="utf-8"
    )
    command = [BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--enable-logging=stderr", f"--window-size={width},900",
               "--virtual-time-budget=20000", f"--user-data-dir={page.parent / f'browser-{name}-{width}'}", "--dump-dom", asked.as_uri()]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)
    told = re.search(r"<pre id=\"said\">(.*?)</pre>", done.stdout, re.DOTALL)
    assert told, done.stderr[-2000:]
    said = json.loads(told[1].replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&"))
    return said, done.stderr
