"""A time-stamp authority for tests: ``openssl ts`` behind a small HTTP server of this machine."""

import subprocess
import threading
import time
from contextlib import contextmanager, suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

CONFIG = """
[tsa]
serial = {folder}/serial
signer_cert = {folder}/tsa.pem
signer_key = {folder}/tsa.key
{chain}
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = {digests}
accuracy = secs:1
ordering = yes
tsa_name = yes
ess_cert_id_chain = no
"""


def openssl(*arguments):
    return subprocess.run(["openssl", *map(str, arguments)], check=True, capture_output=True)


def make_authority(folder):
    """Make an authority's keys and certificates in a folder; ``ca.pem`` is what others need."""
    folder.mkdir()
    curve = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes")
    openssl(
        *("req", "-x509", *curve, "-keyout", folder / "ca.key", "-out", folder / "ca.pem"),
        *("-days", "3650", "-subj", "/CN=Fernhollow Test Authority"),
        *("-addext", "basicConstraints=critical,CA:TRUE"),
    )
    openssl(
        *("req", *curve, "-keyout", folder / "tsa.key", "-out", folder / "tsa.csr"),
        *("-subj", "/CN=Fernhollow Test Time-Stamps"),
    )
    (folder / "usage").write_text("extendedKeyUsage = critical,timeStamping\n", encoding="ascii")
    openssl(
        *("x509", "-req", "-in", folder / "tsa.csr", "-CA", folder / "ca.pem"),
        *("-CAkey", folder / "ca.key", "-CAcreateserial", "-days", "3650"),
        *("-out", folder / "tsa.pem", "-extfile", folder / "usage"),
    )
    (folder / "serial").write_text("01\n", encoding="ascii")
    chain = f"certs = {folder}/ca.pem"
    for name, digests, more in (
        ("tsa.cnf", "sha256", ""),
        ("chain.cnf", "sha256", chain),
        ("strict.cnf", "sha512", ""),
    ):
        config = CONFIG.format(folder=folder, digests=digests, chain=more)
        (folder / name).write_text(config, encoding="ascii")
    return folder


def reply(folder, question, config="tsa.cnf"):
    (folder / "query.tsq").write_bytes(question)
    openssl(
        *("ts", "-reply", "-config", folder / config, "-section", "tsa"),
        *("-queryfile", folder / "query.tsq", "-out", folder / "answer.tsr"),
    )
    return (folder / "answer.tsr").read_bytes()


def other_question(folder, text):
    """Return a question with another nonce, about another text."""
    (folder / "other.txt").write_bytes(text)
    openssl("ts", "-query", "-data", folder / "other.txt", "-sha256", "-cert", "-out", folder / "q")
    return (folder / "q").read_bytes()


@contextmanager
def served(folder):
    """Serve the authority; the path says how it answers. Yields its address."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self):
            question = self.rfile.read(int(self.headers["Content-Length"]))
            kind, status = self.path.strip("/"), 200
            if kind == "slow":
                time.sleep(1.5)
            if kind == "broken":
                status, content = 503, b"out of order"
            elif kind == "page":
                content = b"<html>Welcome</html>"
            elif kind == "empty":
                content = b""
            elif kind == "other-hash":  # the nonce that was asked, of another text
                place = question.index(b"\x04\x20") + 2  # 32 octets, X.690, 8.7
                content = reply(folder, question[:place] + bytes(32) + question[place + 32 :])
            elif kind == "endless":
                content = bytes(1_000_001)
            elif kind == "with-chain":
                content = reply(folder, question, "chain.cnf")
            elif kind == "refuses":
                content = reply(folder, question, "strict.cnf")
            elif kind == "another":
                content = reply(folder, other_question(folder, b"another text"))
            else:
                content = reply(folder, question)
            self.send_response(status)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            with suppress(OSError):  # whoever asked has gone
                self.wfile.write(content)

        def log_message(self, *_):
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
