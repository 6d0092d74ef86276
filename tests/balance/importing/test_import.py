"""Another laboratory's table: force and point come back to the digit, whatever its units and axes; what is wrong in it is named."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner, Result

from balance.command_line.app import app
from balance.exporting.signals import signals_of
from balance.importing.mapping import Mapping
from balance.importing.recording import import_table
from balance.recording import read_recording
from tests.published.open_data import open_data

DATA = Path(__file__).parents[2] / "published" / "data"
POINTS = """schema = 1
name = "points"
delimiter = "comma"
rate_hz = 100.0
[[plate]]
foot = "both"
force = { column = "fz", unit = "N", sign = -1 }
ap = { column = "y", unit = "cm" }
ml = { column = "x", unit = "m", sign = -1, offset = 0.1 }
"""


def bandstand(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(a) for a in arguments])


def mapped(tmp_path: Path, table: str, mapping: str = POINTS, *more: object) -> Result:
    (tmp_path / "m.toml").write_text(mapping)
    (tmp_path / "t.csv").write_text(table)
    return bandstand(
        "import", tmp_path / "t.csv", "--mapping", tmp_path / "m.toml", "--out", tmp_path / "out", *more
    )


def test_units_signs_and_offsets(tmp_path: Path) -> None:
    rows = [
        (-(600 + 10 * np.sin(i / 9)), 0.5 * np.cos(i / 7), 0.1 + 0.01 * np.sin(i / 5)) for i in range(400)
    ]
    done = mapped(
        tmp_path, "fz,y,x\n" + "".join(f"{f!r},{y!r},{x!r}\n" for f, y, x in np.array(rows).tolist())
    )
    assert done.exit_code == 0, done.stderr
    got = signals_of(read_recording(Path(done.stdout.strip())))
    fz, y, x = np.array(rows).T
    assert got.load_n["left"] + got.load_n["right"] == pytest.approx(-fz, rel=1e-6)
    assert got.point_mm["feet"][:, 0] == pytest.approx(10 * y, abs=1e-4)
    assert got.point_mm["feet"][:, 1] == pytest.approx(-1000 * (x - 0.1), abs=1e-4)


def test_moments_over_the_force(tmp_path: Path) -> None:
    """ap = My/Fz, ml = Mx/Fz with the table's signs; a horizontal force acts at the plate's surface, 40 mm above the moments' origin."""
    mapping = """schema = 1
name = "moments"
delimiter = "semicolon"
decimal = ","
skip_rows = 2
time = { column = 1, unit = "ms" }
header = false
[[plate]]
foot = "both"
force = { column = 2, unit = "N" }
moment_about_ml = { column = 3, unit = "Nm" }
moment_about_ap = { column = 4, unit = "Nmm", sign = -1 }
force_ap = { column = 5, unit = "N" }
height_mm = 40.0
centre_ap_mm = 7.0
"""
    rows = [(10 * i, 700.0, 20 + 0.01 * i, 9000.0 + i, 5.0) for i in range(100)]
    text = "made by\nsomebody\n" + "".join(
        ";".join(str(v).replace(".", ",") for v in row) + "\n" for row in rows
    )
    done = mapped(tmp_path, text, mapping)
    assert done.exit_code == 0, done.stderr
    got = signals_of(read_recording(Path(done.stdout.strip())))
    i = np.arange(100)
    assert got.point_mm["feet"][:, 0] == pytest.approx((20_000 + 10 * i - 5 * 40) / 700 + 7, abs=1e-4)
    assert got.point_mm["feet"][:, 1] == pytest.approx(-(9000 + i) / 700, abs=1e-4)
    assert got.rate_hz == pytest.approx(100.0)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(50, 2000), st.floats(-300, 300), st.floats(-200, 200)), min_size=20, max_size=40
    ),
)
def test_any_force_and_point_come_back(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[float, float, float]]
) -> None:
    tmp_path = tmp_path_factory.mktemp("any")
    mapping = Mapping.model_validate(
        {"schema": 1, "name": "any", "delimiter": "comma", "rate_hz": 100.0,
         "plate": [{"foot": "both", "force": {"column": "f", "unit": "N"}, "ap": {"column": "a", "unit": "mm"}, "ml": {"column": "m", "unit": "mm"}}]}
    )  # fmt: skip
    table = tmp_path / "t.csv"
    table.write_text("f,a,m\n" + "".join(f"{f!r},{a!r},{m!r}\n" for f, a, m in rows))
    got = signals_of(read_recording(import_table(table, mapping, tmp_path / "out", "P", None)))
    force, ap, ml = np.array(rows).T
    assert got.load_n["left"] + got.load_n["right"] == pytest.approx(force, abs=2e-3)
    loaded = ~np.isnan(got.point_mm["feet"][:, 0])
    assert got.point_mm["feet"][loaded, 0] == pytest.approx(ap[loaded], abs=2e-2)
    assert got.point_mm["feet"][loaded, 1] == pytest.approx(ml[loaded], abs=2e-2)


def test_what_a_plate_cannot_tell_is_absent(tmp_path: Path) -> None:
    rows = "".join(f"-600,{math.sin(i / 9)!r},{0.1 + 0.01 * math.cos(i / 11)!r}\n" for i in range(3200))
    folder = mapped(tmp_path, "fz,y,x\n" + rows).stdout.strip()
    (found,) = json.loads(bandstand("analyse", folder, "--format", "json").stdout)
    entries = {entry["code"]: entry.get("keys", []) for entry in found["quality"]}
    assert {"not-raw-counts", "one-plate", "imported-no-stance"} <= set(entries)
    assert found["load"]["left_pct"] is None
    assert "load.left_pct" in entries["one-plate"]
    assert found["load_line"]["body"]["mean_mm"] is None
    assert "load_line.body.mean_mm" in entries["imported-no-stance"]
    assert found["sway"]["resultant"]["path_mm"] > 0
    assert found["provenance"]["samples_sha256"]
    assert "on both feet" in bandstand("analyse", folder).stdout


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("fz,y\n1,2\n3,4\n", "no column x"),
        ("fz,y,x\n-600,1,2\n-600,one,2\n", "line 3, column y: 'one'"),
        ("fz,y,x\n-600,1,2\n-600,inf,2\n", "line 3, column y: 'inf'"),
        ("fz,y,x\n-600,1,2\n-600,,2\n", "line 3, column y: ''"),
        ("fz,y,x\n-600,1,2\n", "fewer than two rows"),
        ("", "not the table"),
        ("fz,y,x\n1,2\n1,2,3,4,5\n", "not the table"),
    ],
)
def test_what_is_wrong_in_a_table_is_named(tmp_path: Path, table: str, words: str) -> None:
    done = mapped(tmp_path, table)
    assert done.exit_code == 2
    assert words in done.stderr, done.stderr
    assert not list((tmp_path / "out").rglob("trial.json"))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("rate_hz = 100.0", "", "either time"),
        ('unit = "cm"', 'unit = "furlong"', "furlong"),
        ('foot = "both"', 'foot = "left"', "one plate for foot"),
        ('ap = { column = "y", unit = "cm" }', "", "either ap and ml"),
        ('name = "points"', 'nmae = "points"', "nmae"),
    ],
)
def test_what_is_wrong_in_a_mapping_is_named(tmp_path: Path, old: str, new: str, words: str) -> None:
    (tmp_path / "m.toml").write_text(POINTS.replace(old, new))
    (tmp_path / "t.csv").write_text("fz,y,x\n")
    done = bandstand(
        "import", tmp_path / "t.csv", "--mapping", tmp_path / "m.toml", "--out", tmp_path / "out"
    )
    assert words in str(done.exception) + done.stderr


def test_other_kinds_of_files(tmp_path: Path) -> None:
    (tmp_path / "m.toml").write_text(POINTS)
    (tmp_path / "t.csv").write_bytes(b"fz,y,x\n\xff\xfe,1,2\n")
    for name, words in (("t.csv", "UTF-8"), ("nowhere.csv", "nowhere.csv")):
        done = bandstand(
            "import", tmp_path / name, "--mapping", tmp_path / "m.toml", "--out", tmp_path / "out"
        )
        assert (done.exit_code, words in done.stderr) == (2, True)
    back = "t,fz,y,x\n0,-600,0,0\n2,-600,0,0\n1,-600,0,0\n"
    done = mapped(tmp_path, back, POINTS.replace("rate_hz = 100.0", 'time = { column = "t", unit = "s" }'))
    assert "line 4: the time does not go on" in done.stderr


@pytest.mark.parametrize(
    ("name", "mapping", "published"),
    [
        ("BDS00001.txt", "one_plate", (0.9446915167229832, 0.620189911656219, 0.2565758824783575)),
        (
            "PDS13OR1grf_9cols.txt",
            "two_plates_net",
            (3.4690475628580293, 1.3771350071588582, 0.1936755219596234),
        ),
    ],
)
def test_published_figures_from_the_original_files(
    tmp_path: Path, name: str, mapping: str, published: tuple[float, ...]
) -> None:
    """Santos & Duarte 2016, PeerJ 4:e2648; dos Santos et al. 2017, PeerJ 5:e3626: area cm², mean velocity cm/s (path over N/rate), mean
    frequency Hz, in the authors' conventions, through import and analyse."""
    done = bandstand("import", open_data(name), "--mapping", DATA / f"{mapping}.toml", "--out", tmp_path)
    folder = Path(done.stdout.strip())
    (found,) = json.loads(
        bandstand("analyse", folder, "--cutoff", "none", "--spectrum", "welch", "--format", "json").stdout
    )
    sway, n = found["sway"]["resultant"], found["time"]["samples"]
    ours = (
        sway["ellipse95_area_mm2"] / 100,
        sway["mean_speed_mm_s"] / 10 * (n - 1) / n,
        sway["weighted_mean_frequency_hz"],
    )
    assert ours == pytest.approx(published, rel=1e-6)


def test_a_plate_a_foot(tmp_path: Path) -> None:
    """dos Santos et al. 2017: the right foot's share of the load, recomputed from the file's own columns."""
    path = open_data("PDS13OR1grf_9cols.txt")
    done = bandstand("import", path, "--mapping", DATA / "two_plates.toml", "--out", tmp_path)
    (found,) = json.loads(
        bandstand("analyse", done.stdout.strip(), "--cutoff", "none", "--format", "json").stdout
    )
    assert found["load"]["right_pct"] == pytest.approx(45.55473525, rel=1e-7)
    table = np.genfromtxt(path, delimiter="\t", skip_header=1)
    assert found["sway_of"]["left"]["ap"]["rms_distance_mm"] == pytest.approx(
        1000 * table[:, 5].std(), rel=1e-5
    )
    r = np.corrcoef(table[:, 5], table[:, 3])[0, 1]
    assert found["coordination"]["correlation_ap"] == pytest.approx(r, rel=1e-5)
