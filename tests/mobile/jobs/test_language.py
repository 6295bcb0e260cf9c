"""The catalogues: read as GNU gettext's own tool does, whole, and of texts that exist."""

import gettext
import re
import subprocess
from io import BytesIO
from pathlib import Path

import pytest

from mobile.jobs import language
from mobile.jobs.language import FOLDER, Language, catalogue, counted, read, said, speak, text
from tests.paths import CHECKOUT

CATALOGUES = sorted(FOLDER.glob("*.po"))


@pytest.fixture(autouse=True)
def english_again():
    yield
    speak(Language.ENGLISH)


def test_each_language_but_english_has_its_catalogue():
    assert {path.stem for path in CATALOGUES} == {one.value for one in Language} - {"en"}


@pytest.mark.parametrize("path", CATALOGUES, ids=lambda path: path.stem)
def test_it_holds_what_gnu_gettext_reads_in_it(path: Path, tmp_path: Path):
    compiled = tmp_path / "compiled.mo"
    subprocess.run(["msgfmt", "--check-format", "-o", compiled, path], check=True)
    theirs = gettext.GNUTranslations(BytesIO(compiled.read_bytes()))
    assert catalogue(Language(path.stem))._catalog == theirs._catalog


@pytest.mark.parametrize("path", CATALOGUES, ids=lambda path: path.stem)
def test_what_is_put_into_a_pattern_is_in_its_translation_too(path: Path):
    def parts(pattern: str) -> set[str]:
        return set(re.findall(r"\{(\w+)\}", pattern))

    for original, translated in read(path.read_text(encoding="utf-8")).items():
        if original:
            one = original.split("\0")[0]
            assert all(parts(form) == parts(one) for form in translated.split("\0")), original
            assert translated, original


@pytest.mark.parametrize("path", CATALOGUES, ids=lambda path: path.stem)
def test_every_text_of_it_is_one_that_the_app_says(path: Path):
    rooms = [CHECKOUT / "mobile", CHECKOUT / "logic", CHECKOUT / "checklists"]
    files = [
        file for room in rooms for end in ("py", "kv", "toml") for file in room.rglob(f"*.{end}")
    ]
    sources = "\n".join(file.read_text(encoding="utf-8") for file in files).casefold()
    sources = sources.replace("\\'", "'")
    originals = [one for text in read(path.read_text(encoding="utf-8")) for one in text.split("\0")]
    # A mark's words begin with a capital only where they are shown (logic.words.names.capitalised).
    assert [one for one in originals if one and one.casefold() not in sources] == []


def test_a_number_takes_the_form_of_its_language():
    pattern = "{count} step done", "{count} steps done"
    assert [counted(*pattern, count) for count in (0, 1, 2)] == [
        "0 steps done", "1 step done", "2 steps done",
    ]  # fmt: skip
    speak(Language.GERMAN)
    assert [counted(*pattern, count) for count in (0, 1, 2)] == [
        "0 Schritte erledigt", "1 Schritt erledigt", "2 Schritte erledigt",
    ]  # fmt: skip


def test_what_a_catalogue_lacks_stays_english():
    speak(Language.GERMAN)
    assert text("Nobody has translated this") == "Nobody has translated this"
    assert said("Nobody has said {this}", this="that") == "Nobody has said that"
    assert text("") == "", "the empty text is the catalogue's own head"
    assert text("Next") == "Weiter"


def test_a_broken_line_is_named():
    with pytest.raises(ValueError, match="line 2 is none of a catalogue's: msgstr Weiter"):
        read('msgid "Next"\nmsgstr Weiter\n')


def test_texts_over_several_lines_are_joined():
    assert read('msgid "a"\n" b"\nmsgstr "c\\n"\n"d"\n') == {"a b": "c\nd"}
    assert language.read("# only a remark\n") == {}
