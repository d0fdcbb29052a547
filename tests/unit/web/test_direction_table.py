"""The direction table shows what was changed and what is asked, and never a result."""

from __future__ import annotations

import pytest

from quizapp.web.instruments.directions import RESULTS, direction_table
from quizapp.web.instruments.render import render_figure


def test_one_line_is_changed_and_one_is_asked() -> None:
    table = direction_table({"compliance_direction": -1.0}, 2)
    assert [(row.name, row.words) for row in table.causes if row.mark != "="] == [("Compliance", "down")]
    assert [row.name for row in table.results if row.mark == "?"] == ["Rate"]


@pytest.mark.parametrize("asked", range(1, len(RESULTS) + 1))
def test_no_result_is_shown(asked: int) -> None:
    marks = {row.mark for row in direction_table({"flow_direction": 1.0}, asked).results}
    assert marks == {"?", "·"}


@pytest.mark.parametrize(("ways", "asked"), [({}, 0), ({}, 7), ({}, 1.5), ({"peak_direction": 2.0}, 1)])
def test_what_no_table_can_show_is_refused(ways: dict[str, float], asked: float) -> None:
    with pytest.raises(ValueError, match=r"asked is|a direction is"):
        direction_table(ways, asked)


def test_it_is_read_as_a_table() -> None:
    drawn = render_figure(
        {"instrument": "direction_table", "asked": 5, "peak_direction": 1, "alt": "The peak goes up."}
    )
    assert drawn.count("<table") == 2
    assert "The peak goes up." in drawn
    assert drawn.count('<th scope="row">') == 12
