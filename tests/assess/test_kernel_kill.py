"""A real notebook kernel, killed while it saves answers: what was said to be kept is there."""

import os
import random
import textwrap
import time

import pytest

from fuelkit.assess.sheet import read_sheet

jupyter_client = pytest.importorskip("jupyter_client")

KILLS = int(os.environ.get("FUELKIT_KERNEL_KILLS", "2"))
"""How often a kernel is killed here; 200 takes about four minutes."""

_CODE = textwrap.dedent(
    """
    from fuelkit.assess.answer_file import AnswerFile
    file = AnswerFile({folder!r}, "exercise-cruise", "A07", "f" * 16)
    start = len(file.sheet.answers)
    for number in range(start, start + 400):
        file.draft(f"b{{number}}", {{"p": "draft"}})
        file.commit(f"b{{number}}", {{"p": f"answer {{number}}"}})
        print(number, flush=True)
    """
)


def _kept_before_kill(folder, wait):
    """Let a kernel commit answers, kill it, and return the numbers it said it had kept."""
    manager, client = jupyter_client.manager.start_new_kernel(kernel_name="python3")
    said = ""
    try:
        client.execute(_CODE.format(folder=str(folder)))
        end = None
        while end is None or time.monotonic() < end:
            try:
                message = client.get_iopub_msg(timeout=0.02 if end else 20)
            except Exception as empty:
                if type(empty).__name__ != "Empty":
                    raise
                continue
            if message["msg_type"] == "stream":
                said += message["content"]["text"]
                end = end or time.monotonic() + wait
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)
    return [int(line) for line in said.split()[:-1]]


def test_no_committed_answer_is_lost_when_the_kernel_is_killed(tmp_path):
    """The sheet can be read after every kill, with every answer that the kernel had reported."""
    chance = random.Random(11)
    for round_ in range(KILLS):
        folder = tmp_path / str(round_ // 20)
        said = _kept_before_kill(folder, chance.uniform(0.0, 0.3))
        sheet = read_sheet(folder / "exercise-cruise.A07.json")
        for number in said:
            assert sheet.answers[f"b{number}"]["given"] == {"p": f"answer {number}"}
