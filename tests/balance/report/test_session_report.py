"""The report: everything stands in it, the same numbers as in the JSON, nothing foreign gets in, nothing is asked of a network."""

from __future__ import annotations

import io
import json
import math
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from pypdf import PdfReader
from typer.testing import CliRunner

from balance.command_line.app import app
from tests.balance.day.a_day import AFTER, BEFORE, SHIFT, add, adjusted, note


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    subject = tmp_path_factory.mktemp("report") / "R7T"
    earlier, day = subject / "2026-02-01", subject / "2026-03-02"
    add(earlier, BEFORE, "09:00")
    for k in range(3):
        add(day, BEFORE, f"10:0{k}", placing=k + 1)
    add(day, AFTER, "11:00", placing=4, person_says={"feels_steady": 7, "pain": 2, "skin_looked_at": True})
    add(day, SHIFT, "11:10", placing=4)
    note(day, adjustments=[adjusted("10:30")], examiner="<script>alert(1)</script> & 'A'", place='Room "3"')
    return day


@pytest.fixture(scope="module")
def made(day: Path) -> tuple[str, str]:
    """The page's HTML and the PDF's text."""
    paper = day.parent / "report.pdf"
    done = CliRunner().invoke(
        app, ["report", str(day), "--out", str(day.parent / "report.html"), "--pdf", str(paper)]
    )
    assert done.exit_code == 0, done.stderr
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(paper.read_bytes())).pages)
    return (day.parent / "report.html").read_text(), text


def words_of(html: str) -> str:
    """What a reader reads."""

    class Words(HTMLParser):
        def __init__(self) -> None:
            super().__init__()
            self.parts: list[str] = []
            self.hidden = 0

        def handle_starttag(self, tag: str, attrs: object) -> None:
            self.hidden += tag in ("style", "svg")

        def handle_endtag(self, tag: str) -> None:
            self.hidden -= tag in ("style", "svg")

        def handle_data(self, data: str) -> None:
            if not self.hidden:
                self.parts.append(data)

    parser = Words()
    parser.feed(html)
    return " ".join(" ".join(parser.parts).split())


def test_it_asks_nothing_of_a_network_and_runs_no_script(made: tuple[str, str]) -> None:
    html, _ = made
    assert "<script" not in html
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; &#x27;A&#x27;" in html
    links = re.findall(r'(?:src|href)="([^"]*)"', html)
    assert all(link.startswith("#") for link in links)
    assert not re.search(r"url\((?!#)", html)
    assert "@import" not in html


def test_ids_are_unique_and_every_picture_says_what_it_shows(made: tuple[str, str]) -> None:
    html, _ = made
    ids = re.findall(r'\bid="([^"]*)"', html)
    assert len(ids) == len(set(ids))
    pictures = re.findall(r"<figure><svg [^>]*>", html)
    assert len(pictures) == 10
    assert all('role="img"' in one and "aria-label=" in one for one in pictures)


def test_everything_stands_in_it(made: tuple[str, str]) -> None:
    words = words_of(made[0])
    for part in (
        "Standing check", "Adjustments, and what changed", "10:30 left alignment angle: 5 → 8 deg", "Trials", "How this was measured",
        "The last visit (2026-02-01) beside this one", "Not examined here: skin, pain", "This is not a medical device", "feels steady 7 of 10",
        "pain or pressure 2 of 10", "skin was looked at", "near-full load held", "JCGM 100:2008", "common practice", "tool default",
        "more than standing up again changes it", "mm per deg (±", "On the plates' own scale, the one under the picture, the body line stands at",
    ):  # fmt: skip
        assert part in words, part
    for word in ("sway", "spectrum", "path_mm", "score", "index", "safe to", "fall risk"):
        assert word not in words.lower(), word


def test_the_numbers_are_those_of_analyse_on_both_papers(day: Path, made: tuple[str, str]) -> None:
    done = CliRunner().invoke(app, ["analyse", str(day), "--format", "json"])
    html, pdf = words_of(made[0]), " ".join(made[1].split())
    for one in json.loads(done.stdout):
        for line in ("body_on_left", "body_on_right", "left", "right"):
            block = one["load_line"][line]
            shown = f"{block['mean_mm']:.0f} ± {math.ceil(2 * block['uncertainty_mm'] - 1e-9)}"
            assert shown in html
            assert shown in pdf
        crutch = f"{one['load']['crutch_pct']:.1f}"
        assert crutch in html
        assert crutch in pdf
        for shift in one["shifts"]:
            assert f"{shift['start_s']:.1f} {shift['hold_s']:.1f} {shift['body_weight_pct']:.0f}" in pdf


def test_the_person_s_page_is_in_everyday_words(day: Path) -> None:
    out = day.parent / "person.html"
    done = CliRunner().invoke(app, ["report", str(day), "--for", "person", "--out", str(out)])
    assert done.exit_code == 0
    words = words_of(out.read_text())
    assert "Your left leg carried" in words
    assert "On your left shoe the line is in that part." in words
    for jargon in ("rocker", "CoP", "standard uncertainty", "verdict", "newton", "N·m", "placing", "channel"):
        assert jargon not in words.split("Cautions", maxsplit=1)[0].replace(
            "heel edge, rocker line and the target band", ""
        ).replace("heel edge and rocker line", ""), jargon


def test_one_broken_recording_is_named_and_the_rest_is_done(tmp_path: Path) -> None:
    day = tmp_path / "2026-03-02"
    add(day, AFTER, "10:00")
    (add(day, AFTER, "10:05") / "trial.json").write_text("{")
    done = CliRunner().invoke(app, ["report", str(day)])
    assert done.exit_code == 2
    page = Path(done.stdout.strip())
    assert "Could not be read" in page.read_text()
    assert "10:00 quiet standing" in page.read_text()


def test_a_letter_page_is_letter(day: Path) -> None:
    paper = day.parent / "letter.pdf"
    CliRunner().invoke(
        app,
        [
            "report",
            str(day),
            "--for",
            "person",
            "--out",
            str(day.parent / "x.html"),
            "--pdf",
            str(paper),
            "--paper",
            "letter",
        ],
    )
    box = PdfReader(str(paper)).pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == (612, 792)
