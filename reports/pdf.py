"""Makes a PDF of a document's HTML; the only place that knows the PDF engine."""

import mimetypes
from pathlib import Path
from urllib.parse import unquote, urlsplit

from django.conf import settings
from django.contrib.staticfiles import finders

HERE = "http://record.invalid/"  # where pages claim to be: no host can have this name
MISSING = (
    "The PDF needs the text libraries called Pango, and this machine has none. "
    "On Debian or Ubuntu type: apt-get install libpango-1.0-0 libpangoft2-1.0-0. "
    "Until then open the record as a page and print it from the browser."
)


class PdfUnavailable(Exception):
    """The machine lacks what the PDF engine needs; the message says what to do."""


def pdf_from_html(html: str) -> bytes:
    """Return the document as a tagged PDF; the same HTML gives the same bytes."""
    try:
        import weasyprint
        from weasyprint.urls import URLFetcher, URLFetcherResponse
    except OSError as error:
        raise PdfUnavailable(MISSING) from error

    class OwnFilesOnly(URLFetcher):
        """Serves our static files and what the page itself carries, nothing else."""

        def __init__(self) -> None:
            super().__init__(allowed_protocols=("data",), allow_redirects=False)

        def fetch(self, url, headers=None):
            if url.startswith("data:"):
                return super().fetch(url, headers)
            path = _static_file(url)
            kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
            return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": kind})

    document = weasyprint.HTML(string=html, base_url=HERE, url_fetcher=OwnFilesOnly())
    return document.write_pdf(pdf_variant="pdf/ua-1")


def _static_file(url: str) -> Path:
    """Return the file behind an address of our static files; refuse any other."""
    parts = urlsplit(url)
    prefix = urlsplit(settings.STATIC_URL).path
    if f"{parts.scheme}://{parts.netloc}/" == HERE and parts.path.startswith(prefix):
        found = finders.find(unquote(parts.path.removeprefix(prefix)))
        if found:
            return Path(found)
    raise ValueError(f"{url} is not one of the files of this site.")
