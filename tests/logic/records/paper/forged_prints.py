"""A forger with a free hand: prints taken apart into objects, changed, and put together again.

Everything is put right afterwards that the change upset (lengths, the table of places, the end),
so that what comes out is a PDF like any other. Written from ISO 32000-1 alone: it shares nothing
with the code that compares prints.
"""

import io
import re
import zlib

from PIL import Image, ImageOps
from pypdf import PdfReader, PdfWriter
from pypdf.actions import JavaScript
from pypdf.annotations import FreeText
from pypdf.generic import NameObject, RectangleObject

from logic.records.paper.report import ATTACHMENT


class Dissected:
    """A print's objects by number: the text of each, and its unpacked stream or ``None``."""

    def __init__(self, content):
        table = int(content[content.rindex(b"startxref") :].split()[1])
        lines = content[table:].split(b"\n")
        places = sorted(int(line[:10]) for line in lines if line.endswith(b" n "))
        self.head = content[: places[0]]
        self.trailer = content[content.rindex(b"trailer\n") : content.rindex(b"startxref")]
        self.text, self.stream = {}, {}
        for start, end in zip(places, [*places[1:], table], strict=True):
            number, _, body = content[start:end].partition(b" 0 obj\n")
            text, has_stream, rest = body.partition(b"\nstream\n")
            self.text[int(number)] = text.removesuffix(b"endobj\n")
            length = re.search(rb"/Length (\d+)", text)
            if has_stream:
                data = rest[: int(length[1])]
                packed = b"/FlateDecode" in text
                self.stream[int(number)] = zlib.decompress(data) if packed else data

    def numbers(self, *words):
        """Return the numbers of the objects whose text holds all of these."""
        return [n for n, text in self.text.items() if all(word in text for word in words)]

    def replace(self, number, old, new):
        """Change an object's text."""
        assert old in self.text[number], self.text[number]
        self.text[number] = self.text[number].replace(old, new, 1)

    def entry(self, number, entry):
        """Put an entry into an object's dictionary."""
        self.replace(number, b"<<", b"<<\n" + entry)

    def add(self, text):
        """Add an object; return its number."""
        number = max(self.text) + 1
        self.text[number] = text
        return number

    def written(self, level=-1):
        """Return a whole PDF of the objects as they are now."""
        content, places = bytearray(self.head), {}
        for number, text in self.text.items():
            places[number] = len(content)
            content += b"%d 0 obj\n" % number
            if number in self.stream:
                data = self.stream[number]
                data = zlib.compress(data, level) if b"/FlateDecode" in text else data
                text = re.sub(rb"/Length \d+", b"/Length %d" % len(data), text)  # noqa: PLW2901
                content += text + b"\nstream\n" + data + b"\nendstream\nendobj\n"
            else:
                content += text + b"endobj\n"
        table = len(content)
        content += b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1)
        content += b"".join(b"%010d 00000 n \n" % places[number] for number in sorted(places))
        trailer = re.sub(rb"/Size \d+", b"/Size %d" % (len(places) + 1), self.trailer)
        return bytes(content) + trailer + b"startxref\n%d\n%%%%EOF\n" % table


def _pages(print_):
    return print_.numbers(b"/Type /Page\n")


def _contents(print_, page=0):
    number = _pages(print_)[page]
    return int(re.search(rb"/Contents (\d+) 0 R", print_.text[number])[1])


def _catalog(print_):
    (number,) = print_.numbers(b"/Type /Catalog")
    return number


def _fonts(print_):
    return print_.numbers(b"/Type0")


def _linked(print_, number, key):
    return int(re.search(key + rb" (\d+) 0 R", print_.text[number])[1])


def _draw(print_, operators, page=0, first=False):
    number = _contents(print_, page)
    before = print_.stream[number]
    print_.stream[number] = operators + b"\n" + before if first else before + b"\n" + operators


# The changes, each a function of a dissected print. What they do is their name.


def another_digit_in_a_reading(print_):
    """Swap two codes of the page's text where they stand in a reading."""
    number = _contents(print_, 1)
    found = re.search(rb"\((.{8,}?)\) Tj", print_.stream[number], re.DOTALL)
    text = found[1]
    changed = text[2:4] + text[:2] + text[4:]
    assert changed != text
    print_.stream[number] = print_.stream[number].replace(text, changed, 1)


def a_white_box_over_a_reading(print_):
    _draw(print_, b"1 1 1 rg 60 300 200 40 re f", 1)


def a_black_line_through_a_verdict(print_):
    _draw(print_, b"0 0 0 RG 2 w 60 320 m 400 320 l S", 1)


def another_signature(print_):
    """Move one point of the strokes."""
    number = _contents(print_)
    found = re.findall(rb"\n(\d+\.\d+ \d+\.\d+) l\n", print_.stream[number])
    assert found
    print_.stream[number] = print_.stream[number].replace(
        b"\n" + found[-3] + b" l\n", b"\n300.00 100.00 l\n"
    )


def a_page_drawn_smaller(print_):
    _draw(print_, b"0.9 0 0 0.9 0 0 cm", 1, first=True)


def all_text_invisible(print_):
    _draw(print_, b"3 Tr", 1, first=True)


def half_the_page_clipped(print_):
    _draw(print_, b"0 0 595 400 re W n", 1, first=True)


def a_red_verdict_in_green(print_):
    number = _contents(print_, 2)
    red = re.search(rb"\n(0?\.\d+ 0?\.\d+ 0?\.\d+) rg", print_.stream[number])[1]
    print_.stream[number] = print_.stream[number].replace(red, b"0.1 0.6 0.2", 1)


def one_line_left_out(print_):
    number = _contents(print_, 1)
    line = re.search(rb"BT .*? ET", print_.stream[number], re.DOTALL)[0]
    print_.stream[number] = print_.stream[number].replace(line, b"", 1)


def two_letters_exchanged_in_the_fonts_map(print_):
    (number, *_) = print_.numbers(b"/CIDToGIDMap")
    map_ = _linked(print_, number, b"/CIDToGIDMap")
    data = bytearray(print_.stream[map_])
    used = [place for place in range(0, len(data), 2) if data[place : place + 2] != b"\0\0"]
    one, other = used[5], used[9]
    data[one : one + 2], data[other : other + 2] = data[other : other + 2], data[one : one + 2]
    print_.stream[map_] = bytes(data)


def another_outline_in_a_font(print_):
    (number, *_) = print_.numbers(b"/FontFile2")
    font = _linked(print_, number, b"/FontFile2")
    data = bytearray(print_.stream[font])
    data[len(data) // 2] ^= 0x55
    print_.stream[font] = bytes(data)


def other_widths_of_letters(print_):
    (number, *_) = print_.numbers(b"/CIDToGIDMap")
    print_.replace(number, b"/DW ", b"/DW 9")


def another_text_to_copy(print_):
    (font, *_) = _fonts(print_)
    map_ = _linked(print_, font, b"/ToUnicode")
    print_.stream[map_] = print_.stream[map_].replace(b"<0031>", b"<0037>")
    print_.stream[map_] += b"\n"


def _picture(print_):
    (number,) = print_.numbers(b"/Subtype /Image")
    return number


def another_photo(print_):
    number = _picture(print_)
    turned, written = io.BytesIO(print_.stream[number]), io.BytesIO()
    with Image.open(turned) as opened:
        ImageOps.mirror(opened).save(written, "JPEG")
    print_.stream[number] = written.getvalue()


def one_byte_of_a_photo(print_):
    number = _picture(print_)
    data = bytearray(print_.stream[number])
    data[-40] ^= 1
    print_.stream[number] = bytes(data)


def a_photo_in_negative(print_):
    print_.entry(_picture(print_), b"/Decode [1 0 1 0 1 0]\n")


def a_photo_not_shown(print_):
    page = len(_pages(print_)) - 1
    for place in range(page + 1):
        number = _contents(print_, place)
        print_.stream[number] = re.sub(rb"/I\d+ Do", b"", print_.stream[number])


def a_smaller_sheet(print_):
    print_.entry(_pages(print_)[1], b"/MediaBox [0 400 595 842]\n")


def a_page_cropped(print_):
    print_.entry(_pages(print_)[1], b"/CropBox [0 400 595 842]\n")


def a_page_turned(print_):
    print_.entry(_pages(print_)[1], b"/Rotate 180\n")


def another_unit_of_length(print_):
    print_.entry(_pages(print_)[1], b"/UserUnit 2\n")


def _kids(print_):
    (number,) = print_.numbers(b"/Type /Pages")
    return number, re.search(rb"/Kids \[(.*?)\]", print_.text[number], re.DOTALL)[1]


def two_pages_exchanged(print_):
    number, kids = _kids(print_)
    refs = re.findall(rb"\d+ 0 R", kids)
    print_.replace(number, kids, b"\n".join([refs[0], refs[2], refs[1], *refs[3:]]))


def a_page_left_out(print_):
    number, kids = _kids(print_)
    refs = re.findall(rb"\d+ 0 R", kids)
    print_.replace(number, kids, b"\n".join([refs[0], *refs[2:]]))
    print_.replace(number, b"/Count %d" % len(refs), b"/Count %d" % (len(refs) - 1))


def a_page_put_in(print_):
    number, kids = _kids(print_)
    refs = re.findall(rb"\d+ 0 R", kids)
    blank = b"<<\n/Type /Page\n/Parent %d 0 R\n/Resources <<>>\n>>\n" % number
    new = print_.add(blank)
    print_.replace(number, kids, b"\n".join([*refs, b"%d 0 R" % new]))
    print_.replace(number, b"/Count %d" % len(refs), b"/Count %d" % (len(refs) + 1))


def a_note_laid_over(print_):
    note = print_.add(
        b"<<\n/Type /Annot\n/Subtype /FreeText\n/Rect [60 300 300 340]\n/Contents (12.71 V)\n"
        b"/DA (/Helv 12 Tf 0 g)\n/F 4\n>>\n"
    )
    print_.entry(_pages(print_)[1], b"/Annots [%d 0 R]\n" % note)


def a_form_field_laid_over(print_):
    field = print_.add(
        b"<<\n/Type /Annot\n/Subtype /Widget\n/FT /Tx\n/T (reading)\n/V (12.71 V)\n"
        b"/Rect [60 300 300 340]\n/DA (/Helv 12 Tf 0 g)\n/F 4\n>>\n"
    )
    print_.entry(_pages(print_)[1], b"/Annots [%d 0 R]\n" % field)
    form = b"/AcroForm << /Fields [%d 0 R] /NeedAppearances true >>\n" % field
    print_.entry(_catalog(print_), form)


def a_script_at_opening(print_):
    text = print_.text[_catalog(print_)]
    found = re.search(rb"/OpenAction \[.*?\]", text, re.DOTALL)[0]
    print_.replace(
        _catalog(print_), found, b"/OpenAction << /S /JavaScript /JS (app.alert\\(1\\)) >>"
    )


def a_script_at_a_page(print_):
    print_.entry(_pages(print_)[1], b"/AA << /O << /S /JavaScript /JS (app.alert\\(1\\)) >> >>\n")


def a_layer_that_is_off(print_):
    layer = print_.add(b"<<\n/Type /OCG\n/Name (reading)\n>>\n")
    print_.entry(
        _catalog(print_),
        b"/OCProperties << /OCGs [%d 0 R] /D << /OFF [%d 0 R] >> >>\n" % (layer, layer),
    )
    number = _contents(print_, 1)
    print_.stream[number] = b"/OC /L BDC\n" + print_.stream[number] + b"\nEMC"
    page = _pages(print_)[1]
    resources = _linked(print_, page, b"/Resources")
    print_.entry(resources, b"/Properties << /L %d 0 R >>\n" % layer)


def a_second_attachment(print_):
    file = print_.add(b"<<\n/Type /EmbeddedFile\n/Length 0\n>>")
    print_.stream[file] = b"another one"
    spec = print_.add(
        b"<<\n/Type /Filespec\n/F (other.json)\n/UF (other.json)\n/EF << /F %d 0 R >>\n>>\n" % file
    )
    catalog = _catalog(print_)
    names = re.search(rb"/EmbeddedFiles <<\s*/Names \[(.*?)\]", print_.text[catalog], re.DOTALL)[1]
    print_.replace(catalog, names, b"(other.json) %d 0 R " % spec + names)


def an_attachment_described_otherwise(print_):
    number, _ = print_.numbers(b"/Type /Filespec")
    print_.replace(number, b"/Desc (The signed", b"/Desc (Not the signed")


def another_colour_space(print_):
    number = _linked(print_, _catalog(print_), b"/DestOutputProfile")
    data = bytearray(print_.stream[number])
    data[-1] ^= 0x40
    print_.stream[number] = bytes(data)


def everything_transparent(print_):
    (number, *_) = print_.numbers(b"/Type /ExtGState")
    print_.entry(number, b"/ca 0\n/CA 0\n")


def pages_mixed_in_another_colour_space(print_):
    print_.replace(_pages(print_)[0], b"/CS /DeviceRGB", b"/CS /DeviceGray")


def opened_on_the_full_screen(print_):
    print_.entry(_catalog(print_), b"/PageMode /FullScreen\n")


def another_title(print_):
    (number,) = print_.numbers(b"/Type /Metadata")
    print_.stream[number] = print_.stream[number].replace(b"LIB 042", b"LIB 043")


OBJECTS_CHANGED = (
    another_digit_in_a_reading,
    a_white_box_over_a_reading,
    a_black_line_through_a_verdict,
    another_signature,
    a_page_drawn_smaller,
    all_text_invisible,
    half_the_page_clipped,
    a_red_verdict_in_green,
    one_line_left_out,
    two_letters_exchanged_in_the_fonts_map,
    another_outline_in_a_font,
    other_widths_of_letters,
    another_text_to_copy,
    another_photo,
    one_byte_of_a_photo,
    a_photo_in_negative,
    a_photo_not_shown,
    a_smaller_sheet,
    a_page_cropped,
    a_page_turned,
    another_unit_of_length,
    two_pages_exchanged,
    a_page_left_out,
    a_page_put_in,
    a_note_laid_over,
    a_form_field_laid_over,
    a_script_at_opening,
    a_script_at_a_page,
    a_layer_that_is_off,
    a_second_attachment,
    an_attachment_described_otherwise,
    another_colour_space,
    everything_transparent,
    pages_mixed_in_another_colour_space,
    opened_on_the_full_screen,
    another_title,
)


# Changes of the file as a whole, each a function of its bytes.


def _appended(content, *objects):
    """Append a version of objects by an incremental update (ISO 32000-1, 7.5.6)."""
    before = int(content[content.rindex(b"startxref") :].split()[1])
    out, places = bytearray(content + b"\n"), []
    for number, body in objects:
        places.append((number, len(out)))
        out += b"%d 0 obj\n" % number + body + b"\nendobj\n"
    table = len(out)
    out += b"xref\n" + b"".join(b"%d 1\n%010d 00000 n \n" % one for one in places)
    root = re.search(rb"/Root \d+ 0 R", content)[0]
    size = re.search(rb"/Size \d+", content)[0]
    out += b"trailer\n<< " + size + b" " + root + b" /Prev %d >>\n" % before
    return bytes(out) + b"startxref\n%d\n%%%%EOF\n" % table


def _other_page(content):
    """Return the number of page two's drawing, and another one as an object's body."""
    print_ = Dissected(content)
    a_white_box_over_a_reading(print_)
    number = _contents(print_, 1)
    data = print_.stream[number]
    return number, b"<< /Length %d >>\nstream\n" % len(data) + data + b"\nendstream"


def a_later_version_of_a_page(content):
    return _appended(content, _other_page(content))


def a_later_version_of_the_same(content):
    print_ = Dissected(content)
    number = _contents(print_, 1)
    data = print_.stream[number]
    return _appended(
        content, (number, b"<< /Length %d >>\nstream\n" % len(data) + data + b"\nendstream")
    )


def another_page_hidden_before_the_table(content):
    """Put a second version of a page's drawing in, which only a rebuilt table would find."""
    number, body = _other_page(content)
    table = int(content[content.rindex(b"startxref") :].split()[1])
    hidden = b"%d 0 obj\n" % number + body + b"\nendobj\n"
    moved = content[:table] + hidden + content[table:]
    return moved[: moved.rindex(b"startxref")] + b"startxref\n%d\n%%%%EOF\n" % (table + len(hidden))


def another_page_hidden_and_the_table_spoilt(content):
    hidden = another_page_hidden_before_the_table(content)
    return hidden[: hidden.rindex(b"startxref")] + b"startxref\n99999999\n%%EOF"


def another_page_after_the_end(content):
    number, body = _other_page(content)
    return content + b"\n%d 0 obj\n" % number + body + b"\nendobj\n%%EOF\n"


def a_whole_other_file_after_the_end(content):
    print_ = Dissected(content)
    a_white_box_over_a_reading(print_)
    return content + b"\n" + print_.written()


def a_whole_other_file_before_it(content):
    print_ = Dissected(content)
    a_white_box_over_a_reading(print_)
    return print_.written() + b"\n" + content


def something_before_the_head(content):
    return b"\n" * 20 + content


def a_table_entry_that_points_elsewhere(content):
    number, body = _other_page(content)
    longer = content + b"\n%d 0 obj\n" % number + body + b"\nendobj\n"
    table = int(content[content.rindex(b"startxref") :].split()[1])
    entries = content[table:].split(b"\n")
    entries[2 + number] = b"%010d 00000 n " % (len(content) + 1)
    end = b"\n".join(entries)
    return content[:table] + end + longer[len(content) :]


def a_length_that_is_too_short(content):
    place = content.rindex(b"/Length ", 0, content.index(b"BT ") if b"BT " in content else None)
    return content[:place] + b"/Length 1" + content[place + 9 :]


def something_packed_behind_a_pages_end(content):
    print_ = Dissected(content)
    number = _contents(print_, 1)
    behind = zlib.compress(print_.stream[number]) + zlib.compress(b"1 1 1 rg 0 0 600 900 re f")
    print_.stream[number] = behind
    print_.text[number] = print_.text[number].replace(b"/FlateDecode", b"/NotPacked")
    return print_.written().replace(b"/NotPacked", b"/FlateDecode")


def _saved_anew(content, change):
    writer = PdfWriter(clone_from=io.BytesIO(content))
    change(writer)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def saved_by_another_program(content):
    return _saved_anew(content, lambda _: None)


def saved_anew_with_a_note(content):
    def change(writer):
        note = FreeText(text="12.71 V", rect=(60, 300, 300, 340))
        writer.add_annotation(page_number=1, annotation=note)

    return _saved_anew(content, change)


def saved_anew_and_cropped(content):
    def change(writer):
        writer.pages[1][NameObject("/CropBox")] = RectangleObject((0, 400, 595, 842))

    return _saved_anew(content, change)


def saved_anew_with_a_script(content):
    return _saved_anew(content, lambda writer: writer.add_open_action(JavaScript("app.alert(1)")))


def saved_anew_with_a_page_left_out(content):
    return _saved_anew(content, lambda writer: writer.remove_page(1))


def encrypted(content):
    return _saved_anew(content, lambda writer: writer.encrypt("", "owner"))


def with_the_record_attached_twice(content):
    record = PdfReader(io.BytesIO(content)).attachments[ATTACHMENT][0]
    return _saved_anew(content, lambda writer: writer.add_attachment(ATTACHMENT, record))


FILES_CHANGED = (
    a_later_version_of_a_page,
    a_later_version_of_the_same,
    another_page_hidden_before_the_table,
    another_page_hidden_and_the_table_spoilt,
    another_page_after_the_end,
    a_whole_other_file_after_the_end,
    a_whole_other_file_before_it,
    something_before_the_head,
    a_table_entry_that_points_elsewhere,
    a_length_that_is_too_short,
    something_packed_behind_a_pages_end,
    saved_anew_with_a_note,
    saved_anew_and_cropped,
    saved_anew_with_a_script,
    saved_anew_with_a_page_left_out,
    encrypted,
    with_the_record_attached_twice,
    saved_by_another_program,
)
