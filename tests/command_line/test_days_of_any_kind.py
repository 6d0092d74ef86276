"""Days of made-up recordings of every kind (with and without crutches, cells in line, unknown weights, gaps, low rates, interrupted):
check, comparison and both pages come out whole, in strict JSON and in words."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from typer.testing import CliRunner

from balance.command_line.app import app
from tests.reference.make_recording import make


def strict(text: str) -> object:
    def refuse(name: str) -> None:
        raise AssertionError(name)

    return json.loads(text, parse_constant=refuse)


@pytest.mark.parametrize("first", [0, 24])
def test_check_compare_and_report(tmp_path: Path, first: int) -> None:
    day = tmp_path / "M1" / "2026-03-02"
    for k, seed in enumerate(range(first, first + 8)):
        folder = make(seed, day / f"{k + 1:02d}-made")
        data = (folder / "trial.json").read_bytes().removeprefix(b"\xef\xbb\xbf")
        trial = json.loads(data)
        trial |= {"started": f"2026-03-02T10:{k:02d}:00+01:00", "adjustments": None, "placing": k + 1}
        trial["subject"] = {**(trial.get("subject") or {}), "code": "M1"}
        (folder / "trial.json").write_text(json.dumps(trial))
    (day / "session.json").write_text(
        json.dumps(
            {
                "schema": 1,
                "adjustments": [{"when": "2026-03-02T10:03:30+01:00", "what": "shoe", "to": "other <b>"}],
            }
        )
    )
    run = CliRunner().invoke
    checked = run(app, ["check", str(day), "--format", "json"])
    assert checked.exit_code in (0, 1), checked.stderr
    items = strict(checked.stdout)
    assert isinstance(items, list)
    assert {i["result"] for i in items} <= {"met", "not met", "undecided", "not measured", "does not apply"}
    assert all(i["why"] and "None" not in i["why"] for i in items)
    assert run(app, ["check", str(day)]).exit_code == checked.exit_code
    compared = run(app, ["compare", str(day / "01-made"), str(day / "02-made"), "--format", "json"])
    assert compared.exit_code in (0, 2)
    if compared.exit_code == 0:
        for row in strict(compared.stdout):
            assert math.isfinite(row["difference"])
    for extra in ([], ["--for", "person"]):
        done = run(app, ["report", str(day), *extra, "--pdf", str(tmp_path / "r.pdf")])
        assert done.exit_code == 0, done.stderr or done.exception
        page = Path(done.stdout.strip()).read_text()
        assert "nan" not in page.split("</style>")[1].replace("nano", "").lower().split("<svg")[0]
        assert "<b>" not in page
        assert ">None<" not in page
