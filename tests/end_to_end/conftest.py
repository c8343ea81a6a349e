"""A JACK server of the test session's own, and pianos in processes of their own."""

import json
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from companion.midi.listener import Listener
from companion.midi.ports import PortProbe
from companion.midi.systems import systems_of_this_machine

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_SECONDS = 20.0


@pytest.fixture(scope="session")
def jack_server():
    """Name of a JACK server with the dummy driver, private to this session."""
    if shutil.which("jackd") is None or shutil.which("jack_wait") is None:
        pytest.skip("jackd is not installed: apt-get install jackd2")
    if "jack" not in {system.key for system in systems_of_this_machine()}:
        pytest.skip("this build of python-rtmidi has no JACK")
    name = f"companion-test-{os.getpid()}"
    before = {key: os.environ.get(key) for key in ("JACK_DEFAULT_SERVER", "JACK_NO_START_SERVER")}
    os.environ["JACK_DEFAULT_SERVER"] = name  # read by libjack in this process and its children
    os.environ["JACK_NO_START_SERVER"] = "1"
    server = start_jack(name)
    if server.poll() is not None:
        pytest.skip("jackd with the dummy driver does not start on this machine")
    yield name
    server.terminate()
    server.wait(10)
    for key, value in before.items():
        if value is None:
            os.environ.pop(key, None)
        else:
            os.environ[key] = value


def start_jack(name, *, synchronous=True):
    """Start a server of that name and wait until it is there (or has given up)."""
    # Synchronous (-S): otherwise the server drops what a client on a busy machine does not fetch
    # within 1.3 ms. Measured with 3,000 notes at 500/s: 16-24 messages lost without it, 0 with it.
    # But a synchronous server that follows one of the same name waits 10 s for each client.
    mode = ["-S"] if synchronous else []
    server = subprocess.Popen(
        ["jackd", "-n", name, "-r", *mode, "-d", "dummy", "-r", "48000", "-p", "64"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    subprocess.run(
        ["jack_wait", "-s", name, "-w", "-t", "15"],
        check=False,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    return server


class Piano:
    """The test's hand on a piano process."""

    def __init__(self, name):
        self.process = subprocess.Popen(
            [sys.executable, str(Path(__file__).with_name("piano.py")), name],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
        )
        assert self.process.stdout.readline() == "ready\n"

    def begin(self, command):
        """Give a command and do not wait until it is done."""
        self.process.stdin.write(command + "\n")
        self.process.stdin.flush()

    def sent(self):
        """Wait until the command is done; the moments of sending."""
        return json.loads(self.process.stdout.readline())

    def do(self, command):
        self.begin(command)
        return self.sent()

    def switch_off(self):
        """Close the port in order; a killed client keeps a synchronous server waiting for 5 s."""
        try:
            self.process.communicate("quit\n", timeout=5)
        except (subprocess.TimeoutExpired, BrokenPipeError):
            self.unplug()

    def unplug(self):
        """Gone without a word, as when a cable is pulled."""
        self.process.kill()
        self.process.wait(10)
        self.process.stdin.close()
        self.process.stdout.close()


@pytest.fixture
def plug_in(jack_server):
    """Make pianos; those that are left at the end are switched off."""
    pianos = []

    def make(name="Demo piano"):
        pianos.append(Piano(name))
        return pianos[-1]

    yield make
    for piano in pianos:
        if piano.process.poll() is None:
            piano.switch_off()


@pytest.fixture
def listener(jack_server):
    listener = Listener(PortProbe())
    yield listener
    listener.close()


@pytest.fixture
def listen(request):
    """Drain every 2 ms until something is true of the messages so far, as the window would."""

    def until(condition, listener=None):
        listener = listener or request.getfixturevalue("listener")
        messages, give_up = [], time.perf_counter() + PATIENCE_SECONDS
        while not condition(messages):
            assert time.perf_counter() < give_up, f"{len(messages)} messages, {listener.state}"
            messages += listener.drain()
            time.sleep(0.002)
        return messages

    return until
