"""pip's troubles become sentences, and its lines a count."""

import io

import pytest

from fuelkit.command.environment import LEARNER, prepare
from fuelkit.command.faults import CommandError, disk_fault, install_fault, wrapped
from fuelkit.command.progress import Progress

# What pip 23.2 printed, shortened in the middle.
_LINES = """Looking in indexes: https://index.invalid/simple
WARNING: Location 'file:///elsewhere/packet/' is ignored: it is neither a file nor a directory.
Collecting jupyter-lsp>=2.0.0 (from jupyterlab<4.7,>=4.6->-r requirements.txt (line 1))
  Downloading jupyter_lsp-2.3.1-py3-none-any.whl (17.3 MB)
Processing /elsewhere/numpy-2.4.6-cp311-cp311-manylinux_2_28_x86_64.whl (from -r r.txt (line 5))
Collecting packet
  Using cached packet-1.0-py3-none-any.whl (700 kB)
Installing collected packages: jupyter-lsp, numpy, packet
""".splitlines()


class _Terminal(io.StringIO):
    def isatty(self):
        return True


def test_a_terminal_shows_how_far_it_is_on_one_line():
    """Packages and megabytes while they come, then how many of all are in place."""
    screen = _Terminal()
    progress = Progress(stream=screen)
    for line in _LINES:
        progress.read(line)
    progress.installed(2)
    progress.finish()

    shown = [text.strip() for text in screen.getvalue().split("\r")]
    assert "Fetching: 1 packages, 17 MB (jupyter-lsp)" in shown
    assert "Fetching: 2 packages, 17 MB (numpy)" in shown
    assert "Fetching: 3 packages, 18 MB (packet)" in shown
    assert shown[-2:] == ["Installing: 2 of 3 packages (66 %)", "Installed 3 packages"]
    assert "\n" not in screen.getvalue()[:-1]
    assert "ignored" not in screen.getvalue()


def test_a_shorter_text_leaves_nothing_of_the_longer_one():
    """Each text on the line covers the one before."""
    screen = _Terminal()
    progress = Progress(stream=screen)
    for line in _LINES:
        progress.read(line)
    progress.finish()

    *_, before, last = screen.getvalue().rstrip("\n").split("\r")
    assert len(last) >= len(before.rstrip())


def test_a_file_gets_a_line_now_and_then():
    """What cannot be overwritten is not written at each step."""
    file = io.StringIO()
    progress = Progress(stream=file)
    for number in range(45):
        progress.read(f"Collecting packet{number}")
    for line in _LINES[-1:]:
        progress.read(line)
    progress.finish()

    assert [line.strip() for line in file.getvalue().splitlines()] == [
        "Fetching: 20 packages (packet19)",
        "Fetching: 40 packages (packet39)",
        "Installed 3 packages",
    ]


def test_waiting_for_the_network_is_said_once():
    """Pip tries five times; the user is told at the first."""
    file = io.StringIO()
    progress = Progress(stream=file)
    for _ in range(5):
        progress.read("WARNING: Retrying (Retry(total=4)) after connection broken by 'X'")

    assert file.getvalue().count("No answer from the network yet; trying again") == 1


def test_a_network_that_is_away_is_told(bare_course, monkeypatch):
    """Pip is sent to a port where nobody listens."""
    monkeypatch.delenv("PIP_NO_INDEX")
    monkeypatch.delenv("PIP_FIND_LINKS")
    monkeypatch.setenv("PIP_RETRIES", "1")
    code, output = bare_course.run(
        "open", "--no-browser", PIP_NO_INDEX="0", PIP_FIND_LINKS="", PIP_RETRIES="1",
        PIP_INDEX_URL="http://127.0.0.1:9/simple",
    )  # fmt: skip

    assert code == 1
    assert "Traceback" not in output
    assert "The packages could not be fetched: the network is away" in output
    assert "Check the connection" in output
    assert "install.log" in output


def test_a_package_that_does_not_fit_this_python_is_named(course):
    """There is one, for another Python only."""
    (course.root / "requirements.txt").write_text("oldpacket==1.0\n")

    with pytest.raises(CommandError, match=r"no version for Python 3\.\d+ .*\(oldpacket\)"):
        prepare(course.environment, LEARNER)


@pytest.mark.parametrize(
    ("output", "words"),
    [
        ("ERROR: [Errno 28] No space left on device", "The disk is full"),
        ("ERROR: [Errno 13] Permission denied: '/x'", "cannot be written to"),
        ("OSError: [Errno 30] Read-only file system: 'x'", "cannot be written to"),
        ("socket.gaierror: [Errno -3] Temporary failure in name resolution", "network is away"),
        ("WARNING: ... getaddrinfo failed\nERROR: No matching distribution found for x", "network"),
        ("pip._vendor.urllib3.exceptions.ReadTimeoutError: ... Read timed out.", "network is away"),
        ("ERROR: No matching distribution found for numpy<3,>=2.4", r"\(numpy\)"),
        ("error: metadata-generation-failed", "no version for Python 3.11"),
        ("\nERROR: the pump is stuck\n", "The last message was: ERROR: the pump is stuck"),
        ("", "The last message was: nothing"),
    ],
)
def test_each_trouble_of_pip_has_its_sentence(output, words):
    """The sign in the output decides; what is not known is passed on."""
    with pytest.raises(CommandError, match=words):
        raise install_fault(output, python="3.11")


def test_a_rare_refusal_of_the_system_is_passed_on():
    """What has no sentence of its own is said in the system's words."""
    assert "Is a directory" in str(disk_fault(IsADirectoryError(21, "Is a directory")))


def test_long_sentences_are_broken_into_lines_but_no_word_is():
    """A path stays whole, so that it can be copied."""
    path = "/a-very/" + "long-" * 30 + "path"
    lines = wrapped(f"{'word ' * 40}{path}").splitlines()

    assert path in lines
    assert all(len(line) <= 90 for line in lines if line != path)
