"""The same rows whoever did the work: this process, others, or a dask cluster."""

import sys
import warnings

import pytest

from sim import cli
from sim.errors import InputError
from sim.study.runs import worker
from tests.kept_files import COMPARISON

QUESTION = ["cottage", "--years", "1", "--replications", "4", "--policy", "nothing done"]
QUESTION += ["--policy", "by the calendar"]


def compare(out, *words):
    return cli.main(["compare", *QUESTION, "--out", str(out), *words])


@pytest.fixture(scope="module")
def serial(tmp_path_factory):
    out = tmp_path_factory.mktemp("serial")
    assert compare(out, "--workers", "1") == 0
    return {name: (out / name).read_bytes() for name in COMPARISON}


def same(out, serial):
    return [name for name in COMPARISON if (out / name).read_bytes() != serial[name]] == []


def test_a_dask_cluster_of_two_processes(serial, tmp_path):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the package's own
        from distributed import LocalCluster  # noqa: PLC0415

        with LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
        ) as cluster:
            assert compare(tmp_path, "--scheduler", cluster.scheduler_address) == 0
    assert same(tmp_path, serial)


@pytest.mark.parametrize(
    ("address", "said"),
    [("nonsense", "wanted an address such as tcp://host:8786"), ("tcp://127.0.0.1:1", "cannot be reached")],
)
def test_a_scheduler_that_is_not_there_is_one_line(tmp_path, capsys, monkeypatch, address, said):
    monkeypatch.setattr("sim.study.runs.cluster._CONNECT_S", 1.0)
    assert compare(tmp_path, "--scheduler", address) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_a_missing_package_is_named(tmp_path, capsys, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert compare(tmp_path, "--scheduler", "tcp://127.0.0.1:1") == 2
    assert "install cisterntwin[cluster]" in capsys.readouterr().err


def test_a_worker_of_another_version_refuses():
    with pytest.raises(InputError, match=f"wanted {'0' * 16}"):
        worker.job_of("0" * 16, b"not looked at")
