"""The page on trust: its commands, run line by line with openssl and sha256sum."""

import re
import subprocess
from pathlib import Path

import pytest
from pypdf import PdfReader

from logic.records import seal
from logic.records.chain import _HEADER as EVENT
from logic.records.keys import own_key
from logic.records.paper.report import HASHED, write_pdf
from logic.records.store.store import Store
from logic.records.trusted_keys import _HEADER as KEY
from tests.logic.records.scenes import signed_van

PAGE = Path(seal.__file__).with_name("trust.md")


@pytest.fixture
def printed(tmp_path):
    """A print's attachments as a reader saves them, and the key that a customer was given."""
    with Store.open(tmp_path / "store") as store:
        signed_van(store)
        [sealed] = store.sealed_records()
        write_pdf(sealed, store.photo_path, tmp_path / "record.pdf")
        (tmp_path / "expected-key.txt").write_text(own_key(store.folder)[0].public + "\n")
    for name, [content] in PdfReader(tmp_path / "record.pdf").attachments.items():
        (tmp_path / name).write_bytes(content)
    return tmp_path, sealed


def commands():
    [script] = re.findall(r"```sh\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    # The tests save the attachments with pypdf: one program less to install.
    return [line for line in script.splitlines() if not line.startswith("pdfdetach")]


def run(folder):
    script = "set -e\n" + "\n".join(commands())
    return subprocess.run(
        ["sh", "-c", script], cwd=folder, capture_output=True, text=True, check=False
    )


@pytest.mark.outside
def test_the_commands_of_the_page_check_a_record_without_our_program(printed):
    folder, sealed = printed
    done = run(folder)
    assert (done.returncode, done.stderr) == (0, "")
    assert sealed.sha256 in done.stdout
    assert "Signature Verified Successfully" in done.stdout


@pytest.mark.outside
@pytest.mark.parametrize("what", ["text", "key", "signature"])
def test_they_find_what_was_changed(printed, what):
    folder, sealed = printed
    if what == "text":
        text = (folder / HASHED).read_bytes()
        (folder / HASHED).write_bytes(text.replace(b"12.6", b"12.7"))
    elif what == "key":
        (folder / "expected-key.txt").write_text("0" * 64 + "\n")
    else:
        path, old = folder / "voltwalk-record.json", sealed.signature.signature
        path.write_text(
            path.read_text().replace(old, old[:-2] + ("00" if old[-2] != "0" else "11"))
        )
    assert run(folder).returncode != 0


def test_the_page_names_what_is_signed_as_the_code_does():
    text = PAGE.read_text(encoding="utf-8")
    for heading in (EVENT, KEY, seal.signed_text("")):
        assert heading.split()[0].decode() in text
