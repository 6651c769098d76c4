"""The PDF: what it declares can be read back, its words are all there, no text breaks it."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pikepdf
import pytest
from pdf_text import pages_of, text_of

from closedcup.errors import InputError, Refused
from closedcup.reports import canonical_record_bytes, record_chart, render_pdf, svg


def _pdf(record):
    return render_pdf(record, svg(record_chart(record)))


def _fonts(document):
    for page in document.pages:
        parts = [
            page.Resources,
            *(x.get("/Resources", {}) for x in page.Resources.get("/XObject", {}).values()),
        ]
        for resources in parts:
            yield from resources.get("/Font", {}).values()


@pytest.fixture
def pdf(record):
    return _pdf(record)


def test_it_declares_archival_and_accessible_form(pdf):
    with pikepdf.open(io.BytesIO(pdf)) as document:
        with document.open_metadata() as metadata:
            assert metadata["pdfaid:part"] == "3"
            assert metadata["pdfaid:conformance"] == "A"
            assert metadata["pdfuaid:part"] == "1"
        assert document.Root.OutputIntents[0].S == "/GTS_PDFA1"
        assert document.Root.MarkInfo.Marked
        assert document.Root.Lang == "en"
        assert document.Root.ViewerPreferences.DisplayDocTitle


def test_all_fonts_are_embedded_and_ours(pdf):
    with pikepdf.open(io.BytesIO(pdf)) as document:
        fonts = list(_fonts(document))
    assert fonts
    for font in fonts:
        assert "+SourceSans3-" in str(font.BaseFont)


def test_every_font_program_is_in_the_file(pdf):
    with pikepdf.open(io.BytesIO(pdf)) as document:
        for font in _fonts(document):
            assert "/FontFile2" in font.DescendantFonts[0].FontDescriptor


def test_the_record_is_attached_as_the_source_byte_for_byte(pdf, record):
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert list(document.attachments) == ["record.json"]
        attachment = document.attachments["record.json"]
        assert attachment.get_file().read_bytes() == canonical_record_bytes(record)
        assert attachment.get_file().mime_type == "application/json"
        assert document.Root.AF[0].AFRelationship == "/Source"


def test_dates_are_the_records(pdf):
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert str(document.docinfo.CreationDate).startswith("D:20261125102000")


def test_two_processes_make_the_same_bytes(pdf, tmp_path):
    program = """
import json, pathlib, sys
from closedcup.reports import record_chart, render_pdf, svg
record = json.loads(pathlib.Path(sys.argv[1]).read_text(encoding="utf-8"))
sys.stdout.buffer.write(render_pdf(record, svg(record_chart(record))))
"""
    environment = os.environ | {"PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"}
    made = subprocess.run(
        [sys.executable, "-c", program, str(Path(__file__).parent / "record.json")],
        capture_output=True,
        check=True,
        cwd=tmp_path,
        env=environment,
    )
    assert made.stdout == pdf


def test_it_says_everything_an_auditor_looks_for(pdf):
    text = text_of(pdf)
    for words in (
        "R-2026-0042",
        "Solvent blend for thinning",
        "Sealed, no leak",
        "ASTM D3828, procedure B",
        "edition held by the laboratory",
        "0.5 °C",
        "2 mL each",
        "gas flame, propane, 4 mm",
        "A-1: small-scale closed cup",
        "in service, in control",
        "Sam Analyst",
        "2026-11-25 08:44 +01:00",
        "void, not used",
        "5: relit; cup cleaned, new specimen",
        "84.6 kPa, station",
        "+0.1 °C",
        "+4.175 °C from 84.6 kPa",
        "46.775 °C",
        "47.0 °C, to the nearest 0.5 °C",
        "Repeatability r 0.5 °C",
        "Reproducibility R 2.28 °C",
        "Not evaluated for this sample",
        "Specimen 5: igniter went out",
        "Parameters unconfirmed",
        "conforms to the limit ≥ 38 °C",
        "Decision rule: simple acceptance",
        "Category 3 2.6.2, Table 2.6.1, Rev. 10 −13.0 °C",
        "D001 indicative",
        "Missing: boiling point.",
        "relate only to the item tested, sample S-2026-0117, as received",
        "Description†",
        "† Supplied by the customer",
        "Demonstration. Laboratory, people, sample and readings are invented",
        "Seal 318 of the event chain: 9f2c41d07a5be3168c04f7d2ab95e01c6d3f8472b1097cae55f0831d6e",
        "closedcup 0.1.0, reference data 2026-11-25",
        "16 CFR 1500.43a (read)",
        "sampling plan or method (7.8.2.1 k): The customer took the sample",
        "Authorised by Kim Reviewer",
        "no outside validator has checked it",
        "— End of report R-2026-0042 —",
    ):
        assert words in text, words


def test_every_page_carries_its_identification_and_the_end_is_on_the_last(pdf):
    pages = pages_of(pdf)
    assert 1 < len(pages) <= 2
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
        assert "Report R-2026-0042" in page
    assert ["End of report" in page for page in pages] == [False, True]


def test_marks_of_a_demonstration_are_only_on_a_demonstration(record):
    assert "DEMONSTRATION" in text_of(_pdf(record))
    record["laboratory"]["demonstration"] = False
    assert "DEMONSTRATION" not in text_of(_pdf(record)).upper()


_MARKUP = (
    'a #panic("x") $y$ *b* _i_ <label> @ref \\ // /* [ ] {{ }} `code` --- "quoted" #read("main")'
)


@pytest.mark.parametrize(
    ("entered", "printed"),
    [
        (_MARKUP, _MARKUP),
        ("Лак бесцветный, № 7", "Лак бесцветный, № 7"),
        ("διαλύτης αραίωσης 5 µm", "διαλύτης αραίωσης 5 µm"),
        ("Zu\u0308richer Verdünner ½ ≥ 5", "Züricher Verdünner ½ ≥ 5"),
        ("塗料シンナー A", "[unprintable] A"),
        (
            "\u202eevil\u202c \x07bell 🔥",
            "[unprintable]evil[unprintable] [unprintable]bell [unprintable]",
        ),
        ("two\nlines\tand  tabs", "two lines and tabs"),
        ("n" * 400, "n" * 400),
    ],
)
def test_any_text_is_set_as_it_stands_or_marked(record, entered, printed):
    record["sample"]["description"] = entered
    record["people"][0]["name"] = entered
    record["classifications"][0]["notes"] = [entered]
    pdf = _pdf(record)
    text = text_of(pdf).replace(" ", "")
    assert printed.replace(" ", "") in text
    assert ("itstypefacelacksacharacter" in text) == ("[unprintable]" in printed)
    with pikepdf.open(io.BytesIO(pdf)) as document:
        attached = json.loads(document.attachments["record.json"].get_file().read_bytes())
    assert attached["sample"]["description"] == entered


def test_long_words_stay_inside_the_page(record):
    """The widest page content ends at the margin: a text run never starts beyond it."""
    record["sample"]["description"] = "x" * 400
    record["determinations"][0]["eye"] = "y" * 200
    with pikepdf.open(io.BytesIO(_pdf(record))) as document:
        width = float(document.pages[0].MediaBox[2])
        starts = [
            float(operands[4])
            for page in document.pages
            for operands, operator in pikepdf.parse_content_stream(page)
            if str(operator) == "Tm"
        ]
    assert starts
    assert max(starts) < width


def test_a_limit_test_without_a_number_makes_a_report(record):
    record["test"] |= {"kind": "limit", "step_c": None}
    record["result"] |= {
        "kind": "limit",
        "statement": "No flash at 38 °C, two specimens.",
        "reported_c": None,
        "reported_text": None,
        "corrected_c": None,
        "observed_cup_c": None,
        "bracket": None,
        "pressure_correction_c": None,
        "probe_correction_c": None,
        "repeatability_c": None,
        "reproducibility_c": None,
    }
    record |= {"classifications": [], "estimate": None, "sources": []}
    record["classification_refused"] = {"what": "A limit test gives no number.", "fix": "Test it."}
    record["apparatus"]["verification"] = None
    text = text_of(_pdf(record))
    for words in (
        "No flash at 38 °C, two specimens.",
        "Probe correction none on record; nothing added",
        "Verification none on record",
        "No classification is given. A limit test gives no number.",
        "no number is reported",
    ):
        assert words in text, words


def test_a_reading_corrected_before_says_so_and_by_whom(record):
    for made in record["determinations"]:
        made["already_corrected"] = {"pressure": "84.6 kPa", "by": "apparatus A-1"}
    assert (
        "8: the reading was already corrected for pressure (84.6 kPa, by apparatus A-1)"
        in text_of(_pdf(record))
    )


def test_a_replacing_report_names_the_one_it_replaces(record):
    record["report"] |= {"replaces": "R-2026-0040", "changes": "The customer's name was wrong."}
    assert "This report replaces report R-2026-0040. The customer's name was wrong." in text_of(
        _pdf(record)
    )


def test_an_incomplete_report_is_refused_with_its_items(record):
    record["omitted"] = {}
    with pytest.raises(Refused, match=r"7\.8\.2\.1 k.*7\.8\.2\.1 p"):
        render_pdf(record, "<svg/>")


@pytest.mark.parametrize("issued", ["25/11/2026", "2026-11-25T11:20:00"])
def test_a_date_that_cannot_be_placed_is_refused(record, issued):
    record["report"]["issued_at"] = issued
    with pytest.raises(InputError) as refusal:
        _pdf(record)
    assert refusal.value.where == "report.issued_at"


def test_a_missing_face_is_an_error_not_a_silent_change(record, monkeypatch, tmp_path):
    monkeypatch.setattr("closedcup.reports.typesetting.FONT_DIRECTORY", tmp_path)
    with pytest.raises(Exception, match="unknown font family"):
        _pdf(record)
