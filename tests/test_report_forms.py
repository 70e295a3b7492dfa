"""Reports as HTML and PDF: what they hold, that nothing breaks out, that they fit and can be read by everyone."""

import json
import os
import re
import shutil
import struct
import subprocess
import sys
import zlib
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import pytest

from guide import cli
from guide.commands import reporting
from guide.core import palette
from guide.core.report import customer_page
from tests.reports import answer_all, hostile_report, line_bench, long_report, report_of_bench
from tests.test_report import demo_report, golden
from tests.worlds import TestBench

pytest.importorskip("jinja2", reason="Jinja2 is not installed")
pytest.importorskip("typst", reason="typst is not installed")
pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")

from guide.edge.reporting import pictures  # noqa: E402
from guide.edge.reporting.html import bench_html, customer_html  # noqa: E402
from guide.edge.reporting.pdf import bench_pdf, customer_pdf  # noqa: E402
from guide.edge.reporting.photos import photos_of  # noqa: E402
from guide.edge.reporting.templating import TEMPLATES  # noqa: E402

CHROMIUM = shutil.which("chromium")
MIB = 1024 * 1024
SVG = "{http://www.w3.org/2000/svg}"


class Page(HTMLParser):
    """Tags, attributes and text of an HTML page, as an independent parser sees them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data):
        self.text += data


@pytest.fixture
def line_report(tmp_path):
    bench = line_bench(tmp_path)
    bench.hears("ready", "5.02", "go back", "5.251", "5.251")
    answer_all(bench, b="0.498")
    return report_of_bench(bench)


def texts_of(data: bytes) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(BytesIO(data)).pages]


def test_the_demo_job_is_set_as_its_golden_pages_say(tmp_path):
    report = demo_report(tmp_path)
    golden("demo-bench.html", bench_html(report) + "\n")
    golden("demo-customer.html", customer_html(report, customer_page(report)) + "\n")


def test_the_pdf_says_what_the_html_says(line_report):
    page, printed = Page(bench_html(line_report)), " ".join(" ".join(texts_of(bench_pdf(line_report))).split())
    for row in line_report.rows:
        for said in (row.shown, row.error_shown, row.band):
            assert said in page.text
            assert said in printed
    assert "Do line A and line B read alike?" in page.text
    assert "Do line A and line B read alike?" in printed


def test_the_same_job_gives_the_same_pdf(line_report):
    assert bench_pdf(line_report) == bench_pdf(line_report)


def test_the_pdf_is_tagged_and_names_its_language_and_title(line_report):
    """PDF/UA-1 (ISO 14289-1): marked, with a language and a title that is shown."""
    root = pypdf.PdfReader(BytesIO(bench_pdf(line_report))).trailer["/Root"]
    assert bool(root["/MarkInfo"]["/Marked"])
    assert str(root["/Lang"]).startswith("en")
    assert b"pdfuaid" in root["/Metadata"].get_data()


@pytest.mark.parametrize("make", [hostile_report, lambda: long_report(300)], ids=["hostile", "long"])
def test_the_customers_page_is_one_page(make):
    report = make()
    assert len(texts_of(customer_pdf(report, customer_page(report)))) == 1


def test_hostile_text_stays_text_in_html():
    report = hostile_report()
    ours = {tag for t in TEMPLATES.glob("*.j2") for tag in Page(t.read_text(encoding="utf-8")).tags}
    for text in (bench_html(report), customer_html(report, customer_page(report))):
        page = Page(text)
        assert set(page.tags) <= ours
        assert not any(name.startswith("on") or name in ("href", "src") for name, _ in page.attributes)
        assert "<script>alert(1)</script>" in page.text
        assert "7*7" in page.text
        assert not any(ord(c) < 32 and c != "\n" for c in text)


def test_hostile_text_stays_text_in_pdf():
    report = hostile_report()
    for data in (bench_pdf(report), customer_pdf(report, customer_page(report))):
        said = " ".join(" ".join(texts_of(data)).split())
        assert "<script>alert(1)</script>" in said
        assert "{{ 7*7 }} {% raw %} #let x = 1 $x$ *b* _i_ `c` | cell | # heading" in said
        links = [a for p in pypdf.PdfReader(BytesIO(data)).pages for a in p.get("/Annots", ()) or ()]
        assert links == []


def test_a_script_without_glyphs_still_makes_a_pdf(tmp_path):
    bench = line_bench(tmp_path)
    bench.hears("ready", "5.02", "note 漢字 𓀀 ᚠ عربى")
    assert bench_pdf(report_of_bench(bench)).startswith(b"%PDF")


def test_pictures_are_valid_xml_and_say_what_they_show(line_report):
    for report in (line_report, hostile_report()):
        found = [pictures.strip(r) for r in report.rows if r.strip]
        found += [p for p in (*map(pictures.pair, report.pairs), pictures.odds(report), pictures.path(report)) if p]
        for text in found:
            root = ElementTree.fromstring(str(text))
            assert root.tag == f"{SVG}svg"
            assert root.find(f"{SVG}title").text


def test_the_whisker_spans_what_the_error_says(line_report):
    """5.251 V ± is drawn from the place of 5.251 - U to that of 5.251 + U."""
    row = next(r for r in line_report.rows if r.shown == "5.251 V")
    assert row.strip.left < 0.75 < row.strip.right  # the edge of good and high is three quarters along
    assert row.strip.left < row.strip.at < row.strip.right


def test_a_report_of_three_hundred_readings_stays_below_a_mebibyte():
    report = long_report(300)
    assert len(report.rows) == 300
    assert len(bench_html(report).encode()) < MIB
    assert len(bench_pdf(report)) < MIB


# --- colours ----------------------------------------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.1 defines it."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_computed_as_the_guideline_does():
    """Black on white is 21:1; #767676 is the lightest grey that passes on white, 4.54:1 (recalled)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize(("text", "ground"), palette.TEXT_ON)
def test_text_can_be_read_on_its_ground(text, ground):
    assert contrast(palette.COLOURS[text], palette.COLOURS[ground]) >= 4.5


@pytest.mark.parametrize(
    ("mark", "ground"),
    [
        *((palette.COLOURS[m], palette.COLOURS[g]) for m, g in palette.MARKS_ON),
        *((c, "#ffffff") for c, _, _ in palette.LINES),
    ],
)
def test_marks_stand_out_from_their_ground(mark, ground):
    assert contrast(mark, ground) >= 3.0


def test_lines_of_a_chart_differ_by_dash_and_mark_as_well_as_hue():
    assert len({dash for _, dash, _ in palette.LINES}) == len(palette.LINES)
    assert len({mark for _, _, mark in palette.LINES}) == len(palette.LINES)


def test_no_template_has_a_colour_of_its_own():
    for path in TEMPLATES.iterdir():
        assert not re.search(r"#[0-9a-fA-F]{6}\b|#[0-9a-fA-F]{3}[;\"]", path.read_text(encoding="utf-8")), path.name


# --- in a browser -----------------------------------------------------------------------------------------------------


def browse(folder: Path, *flags: str) -> str:
    """Run headless Chromium once in `folder` and return what it prints."""
    command = [CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
               "--disable-background-networking", f"--user-data-dir={folder / 'profile'}", *flags]  # fmt: skip
    return subprocess.run(command, capture_output=True, text=True, timeout=120, check=True).stdout


PROBE = """<script>addEventListener("load", () => {
const wide = [...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1);
const clipped = [...document.querySelectorAll("svg text")].filter(t => {
  const b = t.getBoundingClientRect(), s = t.ownerSVGElement.getBoundingClientRect();
  return b.left < s.left - 1 || b.right > s.right + 1 || b.top < s.top - 1 || b.bottom > s.bottom + 1; });
document.title = "probe:" + wide.length + ":" + clipped.length + ":" + document.querySelectorAll("svg").length
  + ":" + clipped.map(t => t.textContent).join("|"); });
</script>"""


@pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
@pytest.mark.parametrize("make", [hostile_report, lambda: long_report(40)], ids=["hostile", "long"])
def test_nothing_overflows_or_is_clipped_in_a_browser(tmp_path, make):
    report = make()
    # The page forbids scripts; the probe needs that line out of the way.
    text = re.sub(r"<meta http-equiv=.*\n", "", bench_html(report)).replace("</body>", PROBE + "</body>")
    (tmp_path / "bench.html").write_text(text, encoding="utf-8")
    seen = browse(tmp_path, "--window-size=700,900", "--dump-dom", (tmp_path / "bench.html").as_uri())
    wide, clipped, svgs, which = re.search(r"probe:(\d+):(\d+):(\d+):(.*)</title>", seen).groups()
    assert (wide, clipped, which) == ("0", "0", "")
    assert int(svgs) > 3


@pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
def test_the_customers_page_prints_on_one_page(tmp_path):
    report = hostile_report()
    (tmp_path / "c.html").write_text(customer_html(report, customer_page(report)), encoding="utf-8")
    browse(tmp_path, "--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'c.pdf'}", (tmp_path / "c.html").as_uri())
    assert len(pypdf.PdfReader(tmp_path / "c.pdf").pages) == 1


# --- photos -----------------------------------------------------------------------------------------------------------


def png() -> bytes:
    """A picture of one grey dot."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\x00\x80")) + chunk(b"IEND", b"")
    )


def photo_report(said: str, report):
    from dataclasses import replace

    return replace(report, facts=(("photos", said),))


def test_photos_are_embedded_and_those_that_cannot_be_are_named(tmp_path, line_report):
    (tmp_path / "board, top.png").write_bytes(png())
    (tmp_path / "a.png").write_bytes(png())
    (tmp_path / "secret.txt").write_text("no picture")
    (tmp_path / "broken.png").write_bytes(png().replace(zlib.compress(b"\x00\x80"), b"no picture"))
    (tmp_path / "cut.png").write_bytes(b"\x89PNG\r\n\x1a\nnot a picture at all")
    assert len(photos_of(photo_report("board, top.png", line_report), tmp_path)) == 1
    report = photo_report("a.png, secret.txt; gone.png, a\x00b.png, broken.png, cut.png", line_report)
    photos = photos_of(report, tmp_path)
    assert [bool(p.data) for p in photos] == [True, False, False, False, True, False]
    text = bench_html(report, photos)
    assert text.count("data:image/png;base64,") == 2
    assert "no such file" in text
    assert "no PNG, JPEG or GIF picture" in text
    assert "cut.png: cannot be shown" in text
    assert "a.png" in " ".join(texts_of(bench_pdf(report, photos)))


@pytest.mark.parametrize("said", ["", "no", "none", "skip/../../etc/passwd"])
def test_no_photo_is_no_picture(said, tmp_path, line_report):
    assert not any(p.data for p in photos_of(photo_report(said, line_report), tmp_path))


# --- the command ------------------------------------------------------------------------------------------------------


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A store with job 1 closed and job 2 without a reading."""
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path / "home"))
    demo_report(tmp_path / "home")
    TestBench(tmp_path / "home").store.close()
    return tmp_path


@pytest.mark.parametrize("reader", ["bench", "customer"])
@pytest.mark.parametrize("suffix", [".html", ".pdf", ".md", ".json"])
def test_every_form_is_written_for_its_owner_only(home, capsys, reader, suffix):
    target = home / f"report{suffix.upper()}"
    assert cli.run(["report", "1", "--for", reader, "--to", str(target)]) == 0
    assert target.stat().st_size > 300
    if os.name != "nt":
        assert target.stat().st_mode & 0o777 == 0o600
    if suffix == ".json":
        assert json.loads(target.read_text())["report"] == reader


def test_without_a_file_the_report_is_markdown_on_standard_output(home, capsys):
    assert cli.run(["report", "1"]) == 0
    assert capsys.readouterr().out.startswith("# Job 1: Fernleaf")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["report", "2"], "job 2 has no reading to report yet; go on with it: guide resume 2"),
        (["report", "9"], "there is no job 9"),
        (["report", "1", "--to", "x.docx"], "use .md, .html, .pdf, .json"),
        (["report", "1", "--to", "report"], "use .md, .html, .pdf, .json"),
        (["report", "1", "--for", "boss"], "a report is for bench or customer"),
        (["report", "1", "--to", "/no/such/folder/x.html"], "cannot be written"),
    ],
)
def test_bad_use_is_one_clear_line(home, capsys, arguments, told):
    assert cli.run(arguments) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1


@pytest.mark.parametrize(("form", "library"), [(".html", "jinja2"), (".pdf", "typst")])
def test_a_missing_library_is_named_with_what_to_install(home, capsys, monkeypatch, form, library):
    for name in [n for n in sys.modules if n.startswith("guide.edge.reporting")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, library, None)
    assert cli.run(["report", "1", "--to", str(home / f"x{form}")]) == 2
    error = capsys.readouterr().err
    assert f"needs {library}" in error
    assert "pip install 'bench-guide[report]'" in error
    assert not (home / f"x{form}").exists()


def test_asking_for_markdown_imports_neither_library():
    code = "import sys, guide.commands.reporting; print(sorted({'jinja2', 'typst'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
    assert reporting.Reader.BENCH == "bench"


def pair_report(tmp_path):
    bench = TestBench(tmp_path, "fernleaf-gh2/field-bus-no-data")
    bench.hears("fitted", "unplugged", "512", "505", "600")
    return report_of_bench(bench)


def test_a_pair_is_captioned_by_its_points(tmp_path):
    report = pair_report(tmp_path)
    assert "Bus A against bus B: 95 mV apart: apart" in bench_html(report)
    assert any("Bus A against bus B: 95 mV apart: apart" in text for text in texts_of(bench_pdf(report)))


def test_a_verdict_that_rests_on_a_pair_shows_the_customer_no_picture_of_a_sound_half(tmp_path):
    report = pair_report(tmp_path)
    assert report.verdict.grounds[0].check == "a-b-apart"
    assert "told most" not in customer_html(report, customer_page(report))
    demo = demo_report(tmp_path / "demo")
    assert "told most" in customer_html(demo, customer_page(demo))


def test_the_edge_at_the_very_left_of_a_strip_is_not_cut_off(tmp_path):
    """`0 V` set about the left margin reads `V`."""
    bench = TestBench(tmp_path, "fernleaf-gh2/field-bus-no-data")
    bench.hears("fitted", "unplugged", "512")
    report = report_of_bench(bench)
    drawn = pictures.strip(report.rows[-1])
    [edge] = re.findall(r'<text x="0" y="38"([^>]*)>0 V</text>', drawn)
    assert 'text-anchor="start"' in edge
