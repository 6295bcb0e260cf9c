"""PDFs that cost far more to read than they are long: each a few kilobytes, or a megabyte."""

import zlib

from logic.records.paper.report import ATTACHMENT, layout

BOMB = zlib.compress(bytes(10**9), 9)  # a megabyte that unpacks to a thousand


def pdf(*objects, trailer=b"", table=True):
    """Return a PDF of these objects, the first its catalog."""
    out, places = bytearray(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"), []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n" % number + body + b"\nendobj\n"
    start = len(out)
    if table:
        out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1)
        out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer\n<< /Size %d /Root 1 0 R " % (len(places) + 1) + trailer + b">>\n"
    return bytes(out) + b"startxref\n%d\n%%%%EOF\n" % start


def stream(data, entries=b""):
    return b"<< /Length %d " % len(data) + entries + b">>\nstream\n" + data + b"\nendstream"


def with_record(record, pages, *more, entries=b""):
    """Return a PDF with an attachment as a record's, and pages with what they need, from 5 on."""
    names = b"/Names << /EmbeddedFiles << /Names [(%s) 3 0 R] >> >>" % ATTACHMENT.encode()
    names += b" /Metadata %d 0 R " % (5 + len(more))
    claim = stream(f'xmp:CreatorTool="{layout()}"'.encode())  # so that its pages are compared
    return pdf(
        b"<< /Type /Catalog /Pages 2 0 R " + names + entries + b" >>",
        pages,
        b"<< /Type /Filespec /F (%s) /UF (%s) /EF << /F 4 0 R >> >>"
        % (ATTACHMENT.encode(), ATTACHMENT.encode()),
        record,
        *more,
        claim,
    )


ONE_PAGE = b"<< /Type /Pages /Count 1 /Kids [5 0 R] >>"
PAGE = b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 6 0 R /Resources 7 0 R >>"


def hostile(record):
    """Yield name and content of PDFs; ``record`` is what to attach where that is not the point."""
    sound = stream(record)
    bomb = stream(BOMB, b"/Filter /FlateDecode ")
    twice = stream(zlib.compress(BOMB, 9), b"/Filter [/FlateDecode /FlateDecode] ")
    none = stream(b"")
    yield "attachment that unpacks to a gigabyte", with_record(bomb, ONE_PAGE, PAGE, none, b"<<>>")
    yield "attachment packed twice", with_record(twice, ONE_PAGE, PAGE, none, b"<<>>")
    yield "page that unpacks to a gigabyte", with_record(sound, ONE_PAGE, PAGE, bomb, b"<<>>")
    yield "page packed twice", with_record(sound, ONE_PAGE, PAGE, twice, b"<<>>")
    many = b"[" + b"6 0 R " * 100_000 + b"]"
    page = PAGE.replace(b"6 0 R", many)
    text = stream(b"BT /F1 9 Tf (a) Tj ET\n" * 4000)
    yield "page of a hundred thousand parts", with_record(sound, ONE_PAGE, page, text, b"<<>>")
    kids = b"<< /Type /Pages /Count 1000000 /Kids [" + b"5 0 R " * 1_000_000 + b"] >>"
    yield "a million pages", with_record(sound, kids, PAGE, text, b"<<>>")
    kids = b"<< /Type /Pages /Count 250 /Kids [" + b"5 0 R " * 250 + b"] >>"
    long = stream(b"BT /F1 9 Tf (a) Tj ET\n" * 50_000)
    yield "pages that are all one long one", with_record(sound, kids, PAGE, long, b"<<>>")
    loop = b"<< /Type /Pages /Count 2 /Kids [2 0 R 2 0 R] >>"
    yield "pages in a circle", with_record(sound, loop)
    deep = b"[" * 100_000 + b"]" * 100_000
    yield "nested without end", with_record(sound, ONE_PAGE, PAGE, none, b"<< /A " + deep + b" >>")
    yield (
        "drawn with nesting without end",
        with_record(sound, ONE_PAGE, PAGE, stream(deep + b" TJ"), b"<<>>"),
    )
    form = (
        b"<< /Type /XObject /Subtype /Form /BBox [0 0 9 9] /Resources << /XObject << "
        b"/X 8 0 R /Y 8 0 R >> >> "
    )
    draws = b"/X Do /Y Do " * 10
    yield (
        "a drawing that draws itself",
        with_record(
            sound,
            ONE_PAGE,
            PAGE,
            stream(b"/X Do"),
            b"<< /XObject << /X 8 0 R >> >>",
            form + b"/Length %d >>\nstream\n" % len(draws) + draws + b"\nendstream",
        ),
    )
    picture = stream(
        BOMB,
        b"/Type /XObject /Subtype /Image /Width 60000 /Height 60000 /ColorSpace /DeviceRGB "
        b"/BitsPerComponent 8 /Filter /FlateDecode ",
    )
    yield (
        "a picture of 3600 megapixels",
        with_record(
            sound, ONE_PAGE, PAGE, stream(b"/X Do"), b"<< /XObject << /X 8 0 R >> >>", picture
        ),
    )
    font = (
        b"<< /Font << /F1 << /Type /Font /Subtype /Type0 /BaseFont /A /Encoding /Identity-H "
        b"/ToUnicode 8 0 R /DescendantFonts [<< /Type /Font /Subtype /CIDFontType2 >>] >> >> >>"
    )
    wide = stream(
        b"1 begincodespacerange <0000> <ffff> endcodespacerange 1 beginbfrange "
        b"<00000000> <ffffffff> <0000> endbfrange"
    )
    yield (
        "a font map of four thousand million",
        with_record(sound, ONE_PAGE, PAGE, stream(b"BT /F1 9 Tf <0001> Tj ET"), font, wide),
    )
    yield (
        "a font map that unpacks to a gigabyte",
        with_record(sound, ONE_PAGE, PAGE, stream(b"BT /F1 9 Tf <0001> Tj ET"), font, bomb),
    )
    names = b"<< /Names [(a) 3 0 R] /Kids [" + b"8 0 R " * 1000 + b"] >>"
    tree = with_record(sound, ONE_PAGE, PAGE, none, b"<<>>", names)
    yield (
        "names in a circle",
        tree.replace(b"/EmbeddedFiles <<", b"/EmbeddedFiles << /Kids [8 0 R]"),
    )
    lines = b"".join(b"%d 0 obj\nnull\nendobj\n" % number for number in range(10, 200_000))
    yield (
        "two hundred thousand objects",
        with_record(sound, ONE_PAGE, PAGE, none, b"<<>>").replace(b"xref\n", lines + b"xref\n", 1),
    )
    yield (
        "two hundred thousand objects in the table",
        pdf(b"<< /Type /Catalog /Pages 2 0 R >>", *[b"null"] * 200_000),
    )
    index = b"/Type /XRef /W [1 4 2] /Index [0 2000000000] /Size 2000000000 /Root 1 0 R "
    table = stream(bytes(700), index)
    head = b"%PDF-1.7\n"
    yield (
        "a table of two thousand million",
        (head + b"1 0 obj\n" + table + b"\nendobj\nstartxref\n%d\n%%%%EOF\n" % len(head)),
    )
    packed = stream(
        zlib.compress(b"1 0 " * 1_000_000),
        b"/Type /ObjStm /N 1000000 /First 4000000 /Filter /FlateDecode ",
    )
    entries = b"".join(b"\x02\0\0\0\x01" + number.to_bytes(2, "big") for number in range(9))
    xref = stream(entries, b"/Type /XRef /W [1 4 2] /Index [2 9] /Size 11 /Root 2 0 R ")
    body = head + b"1 0 obj\n" + packed + b"\nendobj\n"
    yield (
        "a million objects in one",
        (body + b"99 0 obj\n" + xref + b"\nendobj\nstartxref\n%d\n%%%%EOF\n" % len(body)),
    )
    ring = pdf(b"<< /Type /Catalog /Pages 2 0 R >>", b"null", trailer=b"/Prev 15 ")
    yield (
        "a table that names itself before",
        ring.replace(b"/Prev 15", b"/Prev %d" % ring.index(b"xref\n")),
    )
    yield "an object that is itself", pdf(b"1 0 R", b"2 0 R")
    yield (
        "a length that is itself",
        pdf(b"<< /Type /Catalog /Pages 2 0 R >>", b"<< /Length 2 0 R >>\nstream\nabc\nendstream"),
    )
