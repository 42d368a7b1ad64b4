"""JupyterLab opens as the learner has it: a notebook runs, and nothing is asked."""

import nbformat
import pytest

_SOURCE = "import os, fuelkit\nprint(6 * 7, fuelkit.__name__, os.path.basename(os.getcwd()))"


@pytest.fixture(scope="module")
def notebook(lab):
    """Write a notebook with one cell into the lab's folder and give its place there."""
    content = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(_SOURCE)])
    content.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
    place = lab.root / "trial" / "one_cell.ipynb"
    place.parent.mkdir(exist_ok=True)
    nbformat.write(content, place)
    return "trial/one_cell.ipynb"


def test_a_notebook_runs_and_finds_the_kit(lab, page, run_all, notebook):
    """Run All computes in the notebook's own folder, with the kit at hand."""
    page.goto(lab.address(notebook))
    run_all(page)

    assert page.locator(".jp-OutputArea-output").inner_text().strip() == "42 fuelkit trial"


def test_nothing_asks_the_learner_anything(lab, page, wait_for_idle, notebook):
    """No dialog, no notice: neither for news nor for updates."""
    page.goto(lab.address(notebook))
    wait_for_idle(page)
    page.wait_for_timeout(3000)

    assert page.locator(".jp-Dialog").count() == 0
    assert page.locator(".Toastify__toast").count() == 0


def test_the_page_has_the_whole_width_at_first(first_lab, page):
    """The side bar is folded, so that a drawing is large; its buttons are there."""
    page.goto(first_lab.address().replace("&reset", ""))
    page.locator(".jp-SideBar.jp-mod-left .lm-TabBar-tab").nth(1).wait_for()

    assert page.locator("#filebrowser").is_hidden()


def test_the_lab_lets_nobody_in_without_the_key(lab, page):
    """The address without its token leads to the log-in page."""
    page.goto(lab.address().split("?")[0])

    assert "/login" in page.url
