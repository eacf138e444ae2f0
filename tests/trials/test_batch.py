"""Many cases: one that is wrong stops no other, what is done is kept, any executor will do."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from recommender import cli
from recommender.faults import InputError
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.recommend import recommend
from recommender.trials import batch
from recommender.trials.batch import Journal, answer_many, processes
from recommender.trials.jobs import Job, read_jobs
from recommender.views.tables import lines_csv

TABLE = """name,load.mass,rate.items,station.load.dwell,station.unload.dwell
light,2 kg,20/min,1 s,1 s
wrong,two kilos,20/min,1 s,1 s
heavy,9000 kg,20/min,1 s,1 s
"""


@pytest.fixture(scope="module")
def few(catalogue: Catalogue, altered: Callable[..., Catalogue]) -> Catalogue:
    """A catalogue that is soon looked through."""
    return altered(catalogue, carrier=catalogue.carrier[:2], bend=catalogue.bend[:1])


@pytest.fixture
def jobs(tmp_path: Path) -> list[Job]:
    table = tmp_path / "cases.csv"
    table.write_text(TABLE, encoding="utf-8")
    return read_jobs(table)


def without_time(lines: list[Any]) -> list[Any]:
    return [replace(line, seconds=0.0) for line in lines]


def test_lines_are_what_an_answer_says(jobs: list[Job], few: Catalogue) -> None:
    light, wrong, heavy = answer_many(jobs, few)
    answer = recommend(make_case(dict(jobs[0].data), "light"), few, in_brief=True)
    assert answer.choice is not None
    assert (light.name, light.status, light.option) == ("light", "recommended", answer.recommended)
    assert light.price == f"{answer.choice.price:.2f}"
    assert light.carriers == answer.choice.carriers
    assert wrong.status == "bad input"
    assert "load.mass" in wrong.message
    assert heavy.status == "none"


def dask_executor() -> Any:
    distributed = pytest.importorskip("distributed")
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, worker_dashboard_address=None
    )
    return cluster, distributed.Client(cluster)


def test_a_local_cluster_gives_the_same(jobs: list[Job], few: Catalogue) -> None:
    expected = without_time(answer_many(jobs, few))
    cluster, client = dask_executor()
    with cluster, client:
        assert without_time(answer_many(jobs, few, executor=client.get_executor())) == expected


def test_processes_give_the_same(jobs: list[Job], few: Catalogue) -> None:
    expected = without_time(answer_many(jobs, few))
    with processes(2) as pool:
        assert without_time(answer_many(jobs, few, executor=pool)) == expected


def test_a_worker_that_fails_costs_its_case_alone(
    jobs: list[Job], few: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    def answer_one(job: Job, *_: Any) -> Any:
        if job.name == "light":
            raise RuntimeError("gone")
        return batch.Line(job.name, "none")

    monkeypatch.setattr(batch, "answer_one", answer_one)
    pool: Executor
    with ThreadPoolExecutor(1) as pool:
        lines = answer_many(jobs, few, executor=pool)
    assert [line.status for line in lines] == ["failed", "none", "none"]
    assert "gone" in lines[0].message


def test_what_is_done_is_kept_for_the_same_case_alone(
    jobs: list[Job], few: Catalogue, tmp_path: Path
) -> None:
    journal = Journal(tmp_path / "answers.csv")
    first = answer_many(jobs, few, keep=journal.keep)
    with journal.path.open("a", encoding="utf-8") as file:
        file.write('{"name": "cut off in the mid')
    fresh: list[Any] = []
    changed = [jobs[0], jobs[1], replace(jobs[2], data={**jobs[2].data, "title": "other"})]
    again = answer_many(changed, few, known=journal.read(), keep=fresh.append)
    assert again[:2] == first[:2]
    assert [line.name for line in fresh] == ["heavy"]
    # Another time limit, or another catalogue, is another question.
    fresh.clear()
    answer_many(jobs, few, known=journal.read(), keep=fresh.append, seconds=7.0)
    assert len(fresh) == 3


def test_a_table_without_keys_is_refused(tmp_path: Path) -> None:
    table = tmp_path / "cases.csv"
    for text in ("", "load.mass,load.mass\n1 kg,2 kg\n", ",a\n1,2\n"):
        table.write_text(text, encoding="utf-8")
        with pytest.raises(InputError, match="first line must hold keys"):
            read_jobs(table)
    table.write_text("load.mass\n", encoding="utf-8")
    with pytest.raises(InputError, match="holds no case"):
        read_jobs(table)


def test_a_base_is_changed_and_not_touched(tmp_path: Path) -> None:
    base = tmp_path / "base.toml"
    base.write_text(
        'load.mass = "3 kg"\nrate.items = "20/min"\n[[station]]\nname = "load"\ndwell = "1 s"\n',
        encoding="utf-8",
    )
    table = tmp_path / "cases.csv"
    table.write_text("load.mass,station.load.dwell\n4 kg,\n,2 s\n", encoding="utf-8")
    one, two = read_jobs(table, base)
    assert (one.name, one.data["load"]["mass"]) == ("line 2", "4 kg")
    assert (two.data["load"]["mass"], two.data["station"][0]["dwell"]) == ("3 kg", "2 s")


def test_cells_begin_no_formula() -> None:
    assert "'=1+1" in lines_csv([batch.Line("=1+1", "none")])


def test_the_command_tells_what_it_could_not_answer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "cases.csv").write_text("name,load.mass\na,x\nb,y\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    words = "recommender batch cases.csv --processes 1 -o out.jsonl"
    monkeypatch.setattr(sys, "argv", words.split())
    with pytest.raises(SystemExit) as ended:
        cli.run()
    assert ended.value.code == 2
    assert "a: " in capsys.readouterr().err
    lines = [json.loads(line) for line in Path("out.jsonl").read_text().splitlines()]
    assert [line["status"] for line in lines] == ["bad input", "bad input"]
    assert not Path("out.jsonl.part").exists()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="looks for processes as POSIX has them")
def test_an_interrupted_run_leaves_no_process_and_is_taken_up_again(tmp_path: Path) -> None:
    rows = ["name,load.mass,rate.items", "bad,x,1/min"]
    rows += [f"n{k},{9000 + k} kg,20/min" for k in range(8)]
    (tmp_path / "cases.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    command = [sys.executable, "-m", "recommender", "batch", "cases.csv", "-o", "out.csv"]
    command += ["--processes", "2"]
    root = Path(__file__).parents[2]
    running = {**os.environ, "PYTHONPATH": str(root)}
    part, out = tmp_path / "out.csv.part", tmp_path / "out.csv"
    with subprocess.Popen(command, cwd=tmp_path, env=running, start_new_session=True) as process:
        until = time.monotonic() + 120.0
        while not part.exists() and time.monotonic() < until and process.poll() is None:
            time.sleep(0.05)
        process.send_signal(signal.SIGTERM)
        assert process.wait(30.0) == 143
        # Its session is its own: all that is left of it would be found there.
        for _ in range(200):
            if not _alive(process.pid):
                break
            time.sleep(0.05)
        assert not _alive(process.pid)
    assert part.exists()
    assert not out.exists()
    done = Journal(out).read()
    assert len(done) >= 1
    again = subprocess.run(command, cwd=tmp_path, env=running, capture_output=True, check=False)
    assert again.returncode == 2
    assert f"{len(done)} of them from the run before" in again.stderr.decode()
    assert len(out.read_text().splitlines()) == len(rows)
    assert not part.exists()


def _alive(group: int) -> bool:
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return False
    return True
