"""Processes that answer: what they say, that they can be ended, and that none is left behind."""

import os
import signal
import socket
import subprocess
import sys
import time
from importlib.util import find_spec
from queue import Queue

import pytest

from recommender.inputs.case import make_case
from recommender.page.workers import Workers
from recommender.recommend import recommend
from recommender.results.answer import PriceList

LIGHT = {"load": {"mass": "3 kg"}, "rate": {"items": "20/min"}}


@pytest.fixture(scope="module")
def few(catalogue, altered):
    """A catalogue of one carrier and one bend, which is soon searched."""
    return altered(catalogue, carrier=catalogue.carrier[:1], bend=catalogue.bend[:1])


def heard(queue: Queue) -> list:
    found = []
    while not found or (found[-1] is not None and not isinstance(found[-1], str)):
        found.append(queue.get(timeout=120))
    return found


def test_an_answer_comes_in_steps_and_is_that_of_the_command(few):
    workers, said = Workers(few), Queue()
    try:
        workers.start(make_case(LIGHT, "x"), said.put)
        choice, brief, full, calculated, end = heard(said)
    finally:
        workers.close()
    known = recommend(make_case(LIGHT, "x"), few)
    assert end is None
    assert full == known
    assert choice.proof == brief.proof == known.proof
    assert choice.choice.price == known.choice.price
    assert not brief.extent.explained and brief.recommended == known.recommended
    assert calculated.calculation is not None


def test_a_question_that_comes_later_ends_the_one_before(catalogue, few):
    workers, first, second = Workers(few), Queue(), Queue()
    try:
        workers.start(make_case(LIGHT, "x"), first.put)
        workers.start(make_case({**LIGHT, "title": "later"}, "x"), second.put)
        assert heard(second)[0].case["title"] == "later"
        assert first.empty()
        # The one that took over answers again without being replaced.
        workers.start(make_case(LIGHT, "x"), first.put)
        assert heard(first)[-1] is None
    finally:
        workers.close()


def test_an_answer_says_with_which_prices(few):
    prices = PriceList("mine.csv", (), ("x",), (), ())
    workers, said = Workers(few, prices=prices), Queue()
    try:
        workers.start(make_case(LIGHT, "x"), said.put)
        assert [answer.prices for answer in heard(said)[:-1]] == [prices] * 4
    finally:
        workers.close()


def test_a_process_that_dies_is_told_and_replaced(few):
    workers, said = Workers(few), Queue()
    try:
        workers.start(make_case(LIGHT, "x"), said.put)
        os.kill(workers._active._process.pid, signal.SIGKILL)
        assert "has ended" in heard(said)[-1]
        workers.start(make_case(LIGHT, "x"), said.put)
        assert heard(said)[-1] is None
    finally:
        workers.close()


@pytest.mark.skipif(find_spec("uvicorn") is None, reason="uvicorn is not installed")
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_the_page_ends_when_it_is_told_to_and_leaves_no_process(how):
    command = [sys.executable, "-m", "recommender", "page", "--quiet"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as page:
        address = page.stdout.readline()
        assert address.startswith("http://127.0.0.1:")
        time.sleep(1.0)
        children = children_of(page.pid)
        assert children
        page.send_signal(how)
        assert page.wait(10) == 128 + how
    until = time.monotonic() + 20.0
    while any(map(alive, children)) and time.monotonic() < until:
        time.sleep(0.1)
    assert not any(map(alive, children))


def children_of(pid: int) -> list[int]:
    listed = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(pid)], capture_output=True, text=True, check=False
    )
    return [int(line) for line in listed.stdout.split()]


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    listed = subprocess.run(
        ["ps", "-o", "stat=", "-p", str(pid)], capture_output=True, text=True, check=False
    )
    return bool(listed.stdout.strip()) and not listed.stdout.startswith("Z")


@pytest.mark.skipif(find_spec("uvicorn") is None, reason="uvicorn is not installed")
def test_a_port_that_is_taken_is_refused():
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        command = [sys.executable, "-m", "recommender", "page", "--port", port]
        page = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert page.returncode == 2 and page.stdout == ""
    assert f"--port {port}: cannot be had" in page.stderr
