"""A cluster behind TLS: the keys are those of dask's own settings, and without them nobody is spoken to."""

import os
import shutil
import subprocess
import sys

import pytest

from tests.whole.test_lost_scheduler import QUESTION, contents, end, free_port, wait_for

pytest.importorskip("distributed")
pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(shutil.which("openssl") is None, reason="makes a certificate with openssl"),
]


def started(*words, **environment):
    return subprocess.Popen(
        [sys.executable, "-m", *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env=os.environ | environment,
    )  # fmt: skip


@pytest.fixture(scope="module")
def keys(tmp_path_factory):
    """Make a certificate that vouches for itself; return it as the settings of dask."""
    folder = tmp_path_factory.mktemp("keys")
    key, certificate = folder / "key.pem", folder / "cert.pem"
    words = [
        "openssl",
        "req",
        "-x509",
        "-newkey",
        "rsa:2048",
        "-nodes",
        "-days",
        "1",
        "-subj",
        "/CN=localhost",
    ]
    subprocess.run([*words, "-keyout", key, "-out", certificate], check=True, capture_output=True)
    found = {"DASK_DISTRIBUTED__COMM__TLS__CA_FILE": str(certificate)}
    for who in ("SCHEDULER", "WORKER", "CLIENT"):
        found[f"DASK_DISTRIBUTED__COMM__TLS__{who}__KEY"] = str(key)
        found[f"DASK_DISTRIBUTED__COMM__TLS__{who}__CERT"] = str(certificate)
    return found


@pytest.mark.filterwarnings("ignore")  # the package's own
def test_a_cluster_behind_tls_gives_the_same_rows_and_speaks_to_nobody_else(keys, tmp_path):
    address = f"tls://127.0.0.1:{free_port()}"
    everyone = [
        started("distributed.cli.dask_scheduler", "--host", address, "--no-dashboard", **keys),
        started(
            "distributed.cli.dask_worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard", **keys
        ),
    ]
    asked = ["sim.cli", *QUESTION, "--scheduler", address]
    try:
        done = []

        def works():
            done[:] = end(started(*asked, "--out", str(tmp_path / "tls"), **keys))
            return done[0] == 0

        wait_for(works)  # until scheduler and worker are there
        code, out, err = end(started(*asked, "--out", str(tmp_path / "none")))
        assert (code, out, err.count("\n")) == (2, "", 1), err
        assert "wanted dask's settings distributed.comm.tls" in err
        missing = dict.fromkeys(keys, "no/such.pem")
        code, out, err = end(started(*asked, "--out", str(tmp_path / "none"), **missing))
        assert (code, out, err.count("\n")) == (2, "", 1), err
    finally:
        for process in everyone:
            process.kill()
            process.communicate()
    code, _, err = end(started("sim.cli", *QUESTION, "--workers", "1", "--out", str(tmp_path / "here")))
    assert code == 0, err
    assert contents(tmp_path / "tls") == contents(tmp_path / "here")
