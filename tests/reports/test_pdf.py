"""The PDF: pages, tags, words at the foot, and nothing fetched from elsewhere."""

import builtins
import io
import logging

import pikepdf
import pypdf
import pytest

from reports import pdf
from reports.html import record_html
from reports.pdf import PdfUnavailable, pdf_from_html
from reports.sheets import NOTHING, AnnexTable, Pair
from tests.reports.build import a_finding, a_place, a_record


@pytest.fixture(scope="module")
def printed():
    return pdf_from_html(record_html(a_record()))


def texts(content):
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    return [" ".join(page.extract_text().split()) for page in pages]


def test_same_record_is_printed_with_the_same_bytes(printed):
    assert pdf_from_html(record_html(a_record())) == printed


def test_every_page_says_its_number_the_batch_the_version_and_who_decides(printed):
    pages = texts(printed)
    for count, text in enumerate(pages, start=1):
        assert f"page {count} of {len(pages)}" in text
        assert "B07 · record 3f9a0000…c21e · Brinewright 0.1.0" in text
        assert "decided by the inspector, the process authority" in text
        assert "Brackenshoal Smokehouse" in text
        assert "14 Ropewalk Lane, Merrowick" in text


def test_pdf_is_tagged_and_named_for_readers_who_hear_it(printed):
    with pikepdf.open(io.BytesIO(printed)) as document:
        assert document.Root.MarkInfo.Marked
        assert "/StructTreeRoot" in document.Root
        assert document.Root.Lang == "en"
        assert document.Root.ViewerPreferences.DisplayDocTitle
        assert "Batch record B07" in str(document.docinfo["/Title"])
        with document.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"


def test_curves_and_shapes_have_words(printed):
    with pikepdf.open(io.BytesIO(printed)) as document:
        figures = [
            obj
            for obj in document.objects
            if isinstance(obj, pikepdf.Dictionary) and obj.get("/S") == "/Figure"
        ]
        words = {str(figure.get("/Alt", "")) for figure in figures}
    assert "" not in words
    assert {"filled square", "filled triangle", "open circle with a gap"} <= words
    assert any("Three readings" in word for word in words)


@pytest.mark.parametrize(
    ("paper", "points"), [("letter", (612, 792)), ("a4", (595, 842))]
)
def test_paper_is_as_asked(paper, points):
    content = pdf_from_html(record_html(a_record(paper=paper)))
    for page in pypdf.PdfReader(io.BytesIO(content)).pages:
        assert (round(page.mediabox.width), round(page.mediabox.height)) == points


def test_only_the_shipped_fonts_are_used(printed):
    with pikepdf.open(io.BytesIO(printed)) as document:
        names = {
            str(obj.FontName)
            for obj in document.objects
            if isinstance(obj, pikepdf.Dictionary) and "/FontName" in obj
        }
    assert names
    assert all("Document-S" in name for name in names), names


def test_printing_logs_nothing(caplog):
    with caplog.at_level(logging.WARNING):
        pdf_from_html(record_html(a_record()))
    assert not caplog.records


@pytest.mark.parametrize(
    "address",
    [
        "https://example.com/x.png",
        "file:///etc/hostname",
        "/static/../manage.py",
        "/static/reports/absent.png",
        "/sign-in/",
        "http://record.invalid.example.com/static/reports/print.css",
    ],
)
def test_nothing_but_our_own_files_is_fetched(address, caplog):
    html = f'<html lang="en"><title>x</title><body><img alt="x" src="{address}"></html>'
    with caplog.at_level(logging.ERROR):
        pdf_from_html(html)
    assert any(
        "is not one of the files" in record.getMessage() for record in caplog.records
    )


def test_missing_pango_is_explained(monkeypatch):
    real = builtins.__import__

    def without_pango(name, *args, **kwargs):
        if name.startswith("weasyprint"):
            raise OSError("cannot load library 'libpango-1.0-0'")
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without_pango)
    with pytest.raises(PdfUnavailable, match="apt-get install"):
        pdf_from_html("<p>x")


def test_annex_prints_every_value_short_or_long():
    for count in (40, 1300):
        rows = tuple((f"t{n}", f"{n}.5") for n in range(count))
        table = AnnexTable(title="Heat", places=("P1",), rows=rows)
        pages = texts(
            pdf_from_html(record_html(a_record(has_annex=True, annex=(table,))))
        )
        words = set(" ".join(pages).split())
        assert {f"{n}.5" for n in range(count)} <= words


def test_record_without_annex_has_none(printed):
    assert not any("Annex" in text for text in texts(printed))


def test_limits_for_comparison_are_counted_and_shown_in_the_annex():
    compared = (
        a_finding(number="C1", figure="core at or above 155 °F", source="S7, 4.2"),
        a_finding(
            number="C2",
            figure="on record: variance",
            status="not shown",
            places=(a_place("", NOTHING, "not shown"),),
            source="S8, 3-5",
        ),
    )
    more = (Pair(name="S7", value="Seventh book"), Pair(name="S8", value="Eighth"))
    changes = {
        "comparison": compared,
        "publications": (*a_record().publications, *more),
    }
    short = " ".join(texts(pdf_from_html(record_html(a_record(**changes)))))
    assert "compared with 2 limits of other programmes" in short
    assert "155 °F" not in short
    assert "Seventh book" not in short
    whole = " ".join(
        texts(pdf_from_html(record_html(a_record(has_annex=True, **changes))))
    )
    assert "core at or above 155 °F" in whole
    assert "C2 Heat, on record: variance (S8, 3-5)" in whole
    assert "Seventh book" in whole
    assert "Eighth" in whole


def test_what_is_typed_by_people_is_never_markup(printed):
    html = record_html(a_record(product="<script>alert(1)</script> & co"))
    assert "<script>" not in html
    assert "&lt;script&gt;" in html


def test_own_addresses_are_only_ours():
    assert pdf._static_file(f"{pdf.HERE}static/reports/print.css").is_file()
