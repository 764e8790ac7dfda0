"""How much is known of a segment: every cell of the table, in words."""

from __future__ import annotations

import pytest

from bridge.lights.standing import (
    BELIEVED,
    LEFT_ALONE,
    TO_BE_SHOWN,
    TRANSITIONS,
    Incident,
    Standing,
    after,
)

EVERYWHERE = [(standing, incident) for standing in Standing for incident in Incident]


@pytest.mark.parametrize(("standing", "incident"), EVERYWHERE)
def test_every_cell(standing: Standing, incident: Incident) -> None:
    """The five rules of the table, said a second time."""
    then = after(standing, incident)
    if incident is Incident.TOLD:
        left = standing in LEFT_ALONE
        again = standing in {Standing.DISAGREES, Standing.RETOLD}
        assert then is (standing if left else Standing.RETOLD if again else Standing.TOLD)
    elif incident is Incident.GIVEN_BACK:
        assert then is (standing if standing in LEFT_ALONE else Standing.HANDED_BACK)
    elif incident is Incident.LOST:
        assert then is Standing.NOT_KNOWN
    elif incident is Incident.AGREES:
        silent = {Standing.NOT_KNOWN, Standing.HANDED_BACK}
        assert then is (standing if standing in silent else Standing.CONFIRMED)
    elif incident is Incident.CORRECTED:
        told = {Standing.TOLD, Standing.CONFIRMED}
        assert then is (Standing.DRIFTED if standing in told else standing)
    elif incident is Incident.GIVEN_UP:
        assert then is (Standing.DISAGREES if standing in BELIEVED else standing)
    elif incident is Incident.LEFT:
        assert then is (Standing.YIELDED if standing is Standing.CONFIRMED else standing)
    else:
        taken_again = LEFT_ALONE | {Standing.DISAGREES}
        assert then is (Standing.NOT_KNOWN if standing in taken_again else standing)


def test_a_segment_is_believed_shown_anew_or_left_alone() -> None:
    """One of the three, wherever it stands."""
    parts = [*BELIEVED, *TO_BE_SHOWN, *LEFT_ALONE]
    assert sorted(each.value for each in parts) == sorted(each.value for each in Standing)


def test_nothing_in_the_table_changes_nothing() -> None:
    """A row that leads where it began would only be read for more than it is."""
    assert all(after is not before for (before, _), after in TRANSITIONS.items())
