"""WeasyPrint, held on a short lead.

One file conforms to PDF/A-3a (ISO 19005-3) and to PDF/UA-1 (ISO 14289-1). Fonts of the machine are shut out, nothing is
fetched from anywhere else, every complaint of the typesetter is an error, and the same text gives the same bytes.
WeasyPrint is loaded only here and only when something is printed.
"""

from __future__ import annotations

import contextlib
import io
import logging
import os
import tempfile
import warnings
import zlib
from collections.abc import Callable, Iterator
from contextvars import ContextVar
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from urllib.request import url2pathname

from liningbook.say.command.progress import laying_out, setting
from liningbook.say.outputs import paper
from liningbook.say.texts import t
from liningbook.show.assets.fonts import PrintingUnavailable, print_faces

_XMP = (
    b'<rdf:Description xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" rdf:about="" '
    b'xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/"><pdfuaid:part>1</pdfuaid:part></rdf:Description>'
    b'<rdf:Description xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" rdf:about="" '
    b'xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/" '
    b'xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" '
    b'xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#"><pdfaExtension:schemas><rdf:Bag>'
    b'<rdf:li rdf:parseType="Resource"><pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>'
    b"<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>"
    b"<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix><pdfaSchema:property><rdf:Seq>"
    b'<rdf:li rdf:parseType="Resource"><pdfaProperty:name>part</pdfaProperty:name>'
    b"<pdfaProperty:valueType>Integer</pdfaProperty:valueType>"
    b"<pdfaProperty:category>internal</pdfaProperty:category>"
    b"<pdfaProperty:description>PDF/UA part</pdfaProperty:description></rdf:li></rdf:Seq></pdfaSchema:property>"
    b"</rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>"
)
"""What PDF/UA-1 asks of the metadata, with the description that PDF/A-3 asks of it in turn."""


_LISTENER: ContextVar[Callable[[str], None] | None] = ContextVar("listener", default=None)
"""Who is told what is being done while an output is made."""


def tell(step: str) -> None:
    """Says what comes next: a few words such as `setting 31 pages`."""
    listener = _LISTENER.get()
    if listener is not None:
        listener(step)


@contextlib.contextmanager
def listening(listener: Callable[[str], None]) -> Iterator[None]:
    """Hears of every step for a while."""
    token = _LISTENER.set(listener)
    try:
        yield
    finally:
        _LISTENER.reset(token)


class RenderError(Exception):
    """The typesetter complained; the text says of what."""


class Typesetter:
    """WeasyPrint, set up to use our font only and to fetch nothing else."""

    def __init__(self, weasyprint: Any, epoch: int, messages: list[str]) -> None:
        self.weasyprint, self.messages = weasyprint, messages
        self.tries = 0
        self.when = datetime.fromtimestamp(epoch, UTC)
        fonts = {path.resolve() for _, path in print_faces()}

        from weasyprint.urls import URLFetcher

        class Fetcher(URLFetcher):  # type: ignore[misc]
            def __init__(self) -> None:
                super().__init__(allowed_protocols=("file", "data"))

            def fetch(self, url: str, headers: Any = None) -> Any:
                if url.startswith("file:") and Path(url2pathname(urlsplit(url).path)).resolve() not in fonts:
                    raise ValueError(f"nothing but the font may be read: {url}")
                return super().fetch(url, headers)

        self.fetcher = Fetcher()
        from weasyprint.text.fonts import FontConfiguration

        self.fonts = FontConfiguration()

    def lay_out(self, text: str) -> Any:
        """The pages of an HTML text. Raises `RenderError` for anything that the typesetter complains of."""
        self.tries += 1
        tell(laying_out(self.tries))
        document = self.weasyprint.HTML(string=text, url_fetcher=self.fetcher).render(font_config=self.fonts)
        self.complain()
        return document

    def write(self, document: Any, attachment: tuple[str, bytes] | None = None, duplex: str = "") -> bytes:
        """The PDF of the pages, with an attachment (name, content) and a way of printing on both sides if given."""
        tell(setting(len(document.pages)))
        document.metadata.created = document.metadata.modified = self.when.strftime("%Y-%m-%dT%H:%M:%SZ")
        with warnings.catch_warnings():
            # WeasyPrint leaves the file of its colour profile to be closed by the collector.
            warnings.filterwarnings("ignore", message="unclosed file", category=ResourceWarning)
            data = b""
            for fillers in range(_MOST_FILLERS):
                if attachment:  # It can be read once only, so each try has its own.
                    document.metadata.attachments = [self._attached(*attachment)]
                data = document.write_pdf(pdf_variant="pdf/a-3a", finisher=_finisher(duplex, fillers))
                if _AMBIGUOUS not in data:
                    break
        self.complain()
        return data

    def _attached(self, name: str, content: bytes) -> Any:
        return self.weasyprint.Attachment(
            file_obj=io.BytesIO(content),
            name=name,
            description=t.attachment,
            created=self.when,
            modified=self.when,
            relationship="Data",
        )

    def complain(self) -> None:
        """Raise what was logged, if anything."""
        if self.messages:
            raise RenderError("; ".join(dict.fromkeys(self.messages)))


_AMBIGUOUS = b"\r\nendstream"
"""The end of a stream whose last byte looks like a part of the end of the line that follows it: its length can then be
read in two ways, which PDF/A-3a (6.1.7.1) rules out. The last byte of a compressed stream is the last of its Adler-32
sum, so that one stream in 256 would end so."""
_MOST_FILLERS = 9


def _finisher(duplex: str, fillers: int = 0) -> Any:
    """The last step before a PDF is written: what PDF/A-3a and PDF/UA-1 need, and how to print it.

    `fillers` empty objects change the streams in which the objects themselves are written.
    """
    import pydyf

    def finish(_: Any, pdf: Any) -> None:
        for item in pdf.objects:
            if isinstance(item, pydyf.Stream) and item.extra.get("Type") == "/Metadata":
                item.compress = False
                item.stream = [chunk.replace(b"</rdf:RDF>", _XMP + b"</rdf:RDF>") for chunk in item.stream]
            elif isinstance(item, pydyf.Stream) and item.compress:
                item.compress = not _ends_like_a_line(item)
        for _ in range(fillers):
            pdf.add_object(pydyf.Dictionary())
        if "AF" in pdf.catalog:
            pdf.catalog["AF"] = pydyf.Array(dict.fromkeys(pdf.catalog["AF"]))
        pdf.catalog["ViewerPreferences"].update(PrintScaling="/None")
        if duplex:
            pdf.catalog["ViewerPreferences"].update(Duplex=duplex)

    return finish


def _ends_like_a_line(stream: Any) -> bool:
    """Whether a stream would end ambiguously if it were compressed; leaves it uncompressed."""
    stream.compress = False
    data: bytes = stream.data
    content = data[data.index(b"stream\n") + 7 : -len(b"\nendstream")]
    return zlib.adler32(content) & 0xFF == ord("\r")


class _Messages(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.messages: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.messages.append(record.getMessage())


@contextlib.contextmanager
def typesetter(epoch: int) -> Iterator[Typesetter]:
    """WeasyPrint for the time of one document: no font of the machine, no clock, no message lost."""
    handler = _Messages()
    logger = logging.getLogger("weasyprint")
    with tempfile.TemporaryDirectory(prefix="liningbook-") as folder, contextlib.ExitStack() as stack:
        config = Path(folder) / "fonts.conf"
        config.write_text(
            '<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd"><fontconfig>'
            f"<cachedir>{folder}/cache</cachedir></fontconfig>",
            encoding="utf-8",
        )
        stack.enter_context(_environment(FONTCONFIG_FILE=str(config), SOURCE_DATE_EPOCH=str(epoch)))
        stack.enter_context(warnings.catch_warnings())
        warnings.filterwarnings("ignore", message="No fonts configured|.*HarfBuzz-Subset")
        weasyprint = _load()
        logger.addHandler(handler)
        stack.callback(logger.removeHandler, handler)
        yield Typesetter(weasyprint, epoch, handler.messages)


def _load() -> Any:
    """The typesetter. Raises `PrintingUnavailable` with the one line that installs what is missing."""
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            import weasyprint
    except ImportError as error:
        raise PrintingUnavailable(paper.TYPESETTER_MISSING.format(what=error.name or error)) from error
    except OSError as error:
        raise PrintingUnavailable(paper.LIBRARY_MISSING.format(name=_library(str(error)))) from error
    return weasyprint


def _library(message: str) -> str:
    """The name of the library in a message of the loader."""
    _, quote, rest = message.partition("'")
    return rest.partition("'")[0] if quote else message.partition("\n")[0]


@contextlib.contextmanager
def _environment(**values: str) -> Iterator[None]:
    """Environment variables for a while; afterwards as they were."""
    before = {name: os.environ.get(name) for name in values}
    os.environ.update(values)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
